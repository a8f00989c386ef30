// The contract against the program itself: each stage of the first demo job has every key that the
// contract promises, and none that it does not name.
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { HangResult } from './types';

interface Schema {
  $ref?: string;
  type?: string | string[];
  enum?: unknown[];
  anyOf?: Schema[];
  items?: Schema;
  required?: string[];
  properties?: Record<string, Schema>;
  additionalProperties?: boolean | Schema;
}
interface Operation {
  operationId: string;
  'x-roles': string[];
  responses: Record<string, unknown>;
}
const here = new URL('.', import.meta.url).pathname;
const contract = JSON.parse(readFileSync(join(here, 'openapi.json'), 'utf8')) as {
  paths: Record<string, Record<string, Operation>>;
  components: { schemas: Record<string, Schema> };
};
const root = join(here, '../..');
const program = process.env.ROOMWRIGHT ?? join(root, 'build/check/roomwright');

const kind_of = (value: unknown): string => (value === null ? 'null' : Array.isArray(value) ? 'array' : typeof value);

/** What is wrong with a value, by place. */
function faults(value: unknown, schema: Schema, at: string): string[] {
  if (schema.$ref) return faults(value, contract.components.schemas[schema.$ref.split('/').pop()!]!, at);
  if (schema.anyOf) return schema.anyOf.some((one) => faults(value, one, at).length === 0) ? [] : [`${at} is none of what it may be`];
  if (schema.enum) return schema.enum.includes(value) ? [] : [`${at} is ${JSON.stringify(value)}`];
  const kinds = schema.type === undefined ? [] : [schema.type].flat();
  const kind = kind_of(value);
  if (kinds.length > 0 && !kinds.includes(kind) && !(kind === 'number' && kinds.includes('integer') && Number.isInteger(value))) return [`${at} is ${kind}, not ${kinds.join(' or ')}`];
  if (Array.isArray(value)) return schema.items ? value.flatMap((one, k) => faults(one, schema.items!, `${at}[${k}]`)) : [];
  if (kind !== 'object') return [];
  const table = value as Record<string, unknown>;
  const missing = (schema.required ?? []).filter((key) => !(key in table)).map((key) => `${at}.${key} is missing`);
  const below = Object.entries(table).flatMap(([key, one]) => {
    const own = schema.properties?.[key];
    if (own) return faults(one, own, `${at}.${key}`);
    if (typeof schema.additionalProperties === 'object') return faults(one, schema.additionalProperties, `${at}.${key}`);
    return schema.additionalProperties === true ? [] : [`${at}.${key} is not in the contract`];
  });
  return [...missing, ...below];
}

/** What the program prints of a stage of a demo job. */
function said(job: string, stage: string): string {
  try {
    return execFileSync(program, [stage, '--json', join(root, `examples/${job}.toml`)], { maxBuffer: 64 << 20, stdio: ['ignore', 'pipe', 'ignore'] }).toString();
  } catch (wrong) {
    return String((wrong as { stdout: Buffer }).stdout); // a piece cannot hang as drawn: the sheet says so
  }
}

describe('the contract', () => {
  it('names for each operation one word, its roles and its refusals', () => {
    const operations = Object.values(contract.paths).flatMap((path) => Object.values(path));
    expect(new Set(operations.map((one) => one.operationId)).size).toBe(operations.length);
    for (const one of operations) {
      expect(one['x-roles'].every((role) => ['office', 'bench', 'site'].includes(role)), one.operationId).toBe(true);
      expect(Object.keys(one.responses), one.operationId).toEqual(expect.arrayContaining(['400', '401', '403']));
    }
  });
  it('refers to nothing that is not there', () => {
    const text = JSON.stringify(contract);
    for (const [, name] of text.matchAll(/#\/components\/schemas\/(\w+)/g)) expect(contract.components.schemas).toHaveProperty(name!);
  });
  it('tells a value that is not as promised', () => {
    const schema = contract.components.schemas.Statement!;
    const good = { weight: 1, topic: '', sentence: '', cause: '', next: '' };
    expect(faults(good, schema, 's')).toEqual([]);
    expect(faults({ ...good, weight: '1', more: 2, topic: undefined }, schema, 's')).toHaveLength(3);
  });
  const cases = [
    ...['survey', 'findings', 'treatment', 'build', 'price', 'hang', 'proof'].map((stage) => ['control_room', stage]),
  ];
  it.runIf(existsSync(program)).each(cases)('is what the program says: %s, %s', (job, stage) => {
    const name = `${stage![0]!.toUpperCase()}${stage!.slice(1)}Result`;
    expect(faults(JSON.parse(said(job!, stage!)), contract.components.schemas[name]!, stage!).slice(0, 8)).toEqual([]);
  });
  it.runIf(existsSync(program))('has the outline of a piece that is no rectangle, where it hangs, and of no other', () => {
    const result = JSON.parse(said('rehearsal_room', 'hang')) as HangResult;
    expect(faults(result, contract.components.schemas.HangResult!, 'hang')).toEqual([]);
    const outlined = result.pieces.filter((one) => one.outline_m);
    expect(outlined.map((one) => one.label).sort()).toEqual(['G1', 'N1']);
    const notched = outlined.find((one) => one.label === 'N1')!;
    // examples/rehearsal_room.toml: its outline, moved to [200, 900]
    const drawn = [[0, 0], [900, 0], [900, 700], [560, 700], [560, 380], [400, 380], [400, 700], [0, 700]];
    expect(notched.outline_m!.map(([x, y]) => [Math.round(x! * 1000), Math.round(y! * 1000)])).toEqual(drawn.map(([x, y]) => [x! + 200, y! + 900]));
  });
});
