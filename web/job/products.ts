// A new product for a job, from what the shop has: a start that can be built, to be changed from
// there. Sizes are left out where a whole board asks for them.
import { document_length, type LengthUnit } from '../units/length';
import { value_at, type Json, type Tree } from './edits';

export const product_kinds: Array<[string, string, string]> = [
  ['wall_panel', 'wall panel', 'takes up reflections and ringing above about 200 Hz'],
  ['straddling_trap', 'straddling corner trap', 'across a corner, air behind: takes up bass'],
  ['solid_trap', 'solid corner trap', 'a corner filled with board: takes up more bass'],
  ['ceiling_cloud', 'ceiling cloud', 'hung below the ceiling, over the seat'],
  ['tuned_trap', 'tuned trap', 'a box with holes, for one narrow band of bass'],
  ['diffuser', 'diffuser', 'wells of different depth: scatters what it sends back'],
];

const keys = (shop: Tree, table: string): string[] => {
  const there = value_at(shop, table);
  return there && typeof there === 'object' && !Array.isArray(there) ? Object.keys(there) : [];
};
const size_of = (shop: Tree, table: string, key: string, of: string): number => {
  const there = (value_at(shop, [table, key, of]) ?? 0) as Json;
  return typeof there === 'number' ? there : 0;
};

/** Whether the price book lets a cloth be seen: `face = false` is for backs alone. */
export const may_be_seen = (shop: Tree, cloth: string): boolean => value_at(shop, ['cloth', cloth, 'face']) !== false;

/** What the shop lacks for a kind, in words; empty: nothing. */
export function lacking(kind: string, shop: Tree): string {
  const wants = { wall_panel: ['timber', 'boards', 'cloth'], ceiling_cloud: ['timber', 'boards', 'cloth'], straddling_trap: ['timber', 'boards', 'cloth'], solid_trap: ['timber', 'boards', 'cloth', 'sheets'], tuned_trap: ['boards', 'sheets'], diffuser: ['sheets'] }[kind] ?? [];
  const missing = wants.filter((table) => keys(shop, table).filter((key) => table !== 'cloth' || may_be_seen(shop, key)).length === 0);
  return missing.length > 0 ? `the price book has no ${missing.join(' and no ')}` : '';
}

export function new_product(kind: string, key: string, shop: Tree, unit: LengthUnit): Tree {
  const mm = (millimetres: number): Json => document_length(Math.round(millimetres * 1e6), unit);
  const inch_or = (millimetres: number, inches: number): Json => (unit === 'in' || unit === 'ft' ? document_length(inches * 25_400_000, unit) : mm(millimetres));
  const sorted = (table: string, of: string): string[] => keys(shop, table).toSorted((a, b) => size_of(shop, table, a, of) - size_of(shop, table, b, of));
  const board = keys(shop, 'boards')[0]!;
  const thickness = size_of(shop, 'boards', board, 'thickness');
  const timbers = sorted('timber', 'depth');
  const deepest = timbers.at(-1);
  const layers = deepest && 2 * thickness <= size_of(shop, 'timber', deepest, 'depth') ? 2 : 1;
  const frame = timbers.find((one) => size_of(shop, 'timber', one, 'depth') >= thickness) ?? deepest;
  const cloths = sorted('cloth', 'price_per_m').filter((one) => may_be_seen(shop, one));
  const cloth = cloths[Math.floor((cloths.length - 1) / 2)]; // felts cost most, and what costs least may look it
  const sheets = sorted('sheets', 'thickness');
  const sheet = sheets[Math.floor((sheets.length - 1) / 2)];
  const name = product_kinds.find((one) => one[0] === kind)?.[1] ?? kind;
  const out: Tree = { key, name, kind };
  if (kind === 'wall_panel' || kind === 'ceiling_cloud')
    Object.assign(out, { timber: frame, board, cloth, gap: kind === 'wall_panel' ? inch_or(50, 2) : inch_or(150, 6) });
  if (kind === 'straddling_trap')
    Object.assign(out, { timber: deepest, board, cloth, board_layers: layers, width: inch_or(620, 24), height: inch_or(1200, 48) });
  if (kind === 'solid_trap')
    Object.assign(out, { timber: timbers[0], board, cloth, sheet, width: inch_or(590, 23), height: inch_or(1200, 48) });
  if (kind === 'tuned_trap')
    Object.assign(out, {
      sheet: sheets.at(-1), board, width: inch_or(600, 24), height: inch_or(1200, 48),
      tuned: { front: 'perforated', sheet, hole: inch_or(9, 0.375), pitch: inch_or(90, 3.5), cavity: inch_or(120, 5), fill_at: 'at_back' },
    });
  if (kind === 'diffuser')
    Object.assign(out, { sheet, height: inch_or(600, 24), wells: { sequence: 'quadratic_residue', prime: 7, design_hz: 720, well: inch_or(68, 2.625) } });
  return out;
}
