// What the page begins a product with, the program takes: every kind, from both demo shops.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse, stringify } from 'smol-toml';
import { describe, expect, it } from 'vitest';
import type { Tree } from './edits';
import { lacking, new_product, product_kinds } from './products';

const root = join(new URL('.', import.meta.url).pathname, '../..');
const program = process.env.ROOMWRIGHT ?? join(root, 'build/check/roomwright');
const shops = { shop_metric: 'mm', shop_inch: 'in' } as const;
const read = (name: string): Tree => JSON.parse(JSON.stringify(parse(readFileSync(join(root, `examples/${name}.toml`), 'utf8')))) as Tree;

describe('a new product', () => {
  it('is not offered where the shop lacks what it is made of', () => {
    expect(lacking('wall_panel', { timber: { a: {} }, boards: {} })).toBe('the price book has no boards and no cloth');
    expect(lacking('diffuser', { sheets: { a: {} } })).toBe('');
    expect(lacking('wall_panel', { timber: { a: {} }, boards: { a: {} }, cloth: { back: { face: false } } })).toBe('the price book has no cloth');
  });
  it('takes no cloth for its face that is for backs alone', () => {
    for (const shop of Object.keys(shops)) {
      const book = read(shop);
      for (const [kind] of product_kinds) {
        const cloth = new_product(kind, kind, book, 'mm').cloth;
        if (cloth !== undefined) expect((book.cloth as Record<string, Tree>)[String(cloth)]!.face).not.toBe(false);
      }
    }
  });
  it.runIf(existsSync(program)).each(Object.entries(shops))('of every kind is taken by the program, from %s', (shop, units) => {
    const folder = mkdtempSync(join(tmpdir(), 'roomwright-products-'));
    const book = read(shop);
    const kinds = product_kinds.map((one) => one[0]).filter((kind) => lacking(kind, book) === '');
    expect(kinds.length).toBeGreaterThan(2);
    const job: Tree = {
      schema: 1, title: 'Every kind', date: '2026-11-27', use: 'mixing', shop: `${shop}.toml`, region: { units },
      room: { size: ['5 m', '4 m', '2.5 m'] }, surfaces: { default: 'plasterboard_two_layers' },
      loudspeakers: [{ label: 'left', at: ['1 m', '1 m', '1.2 m'] }], seats: [{ label: 'seat', at: ['2 m', '2 m', '1.2 m'] }],
      products: kinds.map((kind) => new_product(kind, kind, book, units)),
      pieces: [],
    };
    writeFileSync(join(folder, 'job.toml'), stringify(job));
    writeFileSync(join(folder, `${shop}.toml`), stringify(book));
    let told = '';
    try {
      execFileSync(program, ['check', join(folder, 'job.toml')], { stdio: ['ignore', 'pipe', 'pipe'] });
    } catch (wrong) {
      told = String((wrong as { stderr: Buffer }).stderr);
    }
    expect(told).toBe('');
  });
});
