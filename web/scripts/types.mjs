// Writes api/types.ts from api/openapi.json: one TypeScript type for each schema of the contract.
// Usage: node scripts/types.mjs [--check]   (--check: says whether the file is up to date)
import { readFileSync, writeFileSync } from 'node:fs';

const here = new URL('../api/', import.meta.url);
const contract = JSON.parse(readFileSync(new URL('openapi.json', here), 'utf8'));

const key_text = (key) => (/^[A-Za-z_]\w*$/.test(key) ? key : JSON.stringify(key));
const plain = { string: 'string', number: 'number', integer: 'number', boolean: 'boolean', null: 'null' };

function type_of(schema, indent) {
  if (schema.$ref) return schema.$ref.split('/').pop();
  if (schema.enum) return schema.enum.map((one) => JSON.stringify(one)).join(' | ');
  if (schema.anyOf) return schema.anyOf.map((one) => type_of(one, indent)).join(' | ');
  if (Array.isArray(schema.type)) return schema.type.map((one) => plain[one]).join(' | ');
  if (schema.type === 'array') return `Array<${type_of(schema.items, indent)}>`;
  if (schema.type === 'object') return object_type(schema, indent);
  return plain[schema.type] ?? 'unknown';
}

function object_type(schema, indent) {
  if (!schema.properties) {
    const more = schema.additionalProperties;
    return `Record<string, ${more && more !== true ? type_of(more, indent) : 'unknown'}>`;
  }
  const required = new Set(schema.required ?? []);
  const rows = Object.entries(schema.properties).map(([key, value]) => {
    const note = value.description ? `${indent}  /** ${value.description} */\n` : '';
    return `${note}${indent}  ${key_text(key)}${required.has(key) ? '' : '?'}: ${type_of(value, indent + '  ')};\n`;
  });
  return `{\n${rows.join('')}${indent}}`;
}

let out = '// Made from openapi.json by scripts/types.mjs; change that and run `npm run types`.\n';
for (const [name, schema] of Object.entries(contract.components.schemas)) {
  out += schema.description ? `\n/** ${schema.description} */` : '';
  out += `\nexport type ${name} = ${type_of(schema, '')};\n`;
}
const file = new URL('types.ts', here);
if (process.argv.includes('--check')) {
  if (readFileSync(file, 'utf8') !== out) {
    console.error('api/types.ts is older than api/openapi.json: run `npm run types`');
    process.exit(1);
  }
} else writeFileSync(file, out);
