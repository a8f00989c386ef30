// Maps of levels: their shades cover the map, walls are seen as one faces them, lines lie where the
// level is theirs.
import { describe, expect, it } from 'vitest';
import { labels, level_at, line_of, shade_of, shades, to_page, type LevelMap } from './level_map';

/** 0 dB where u is 0, falling by 10 dB a metre; 3 m by 2 m */
const slope = (surface: number): LevelMap => ({
  name: surface < 0 ? 'plane' : `wall${surface - 2}`, surface, outline_m: [[0, 0], [3, 0], [3, 2], [0, 2]], from_m: [0, 0], to_m: [3, 2], across: 31, up: 21,
  level_db: Array.from({ length: 31 * 21 }, (_, k) => -(k % 31)), in_a_piece: [], mean_db: -9, share: 1, most: { at_m: [0, 0], level_db: 0, kind: 'corner', words: '' },
});
const frame = { x: 0, y: 0, scale: 50 };
const area = (path: string): number => [...path.matchAll(/h([\d.]+)v([\d.]+)h-/g)].reduce((sum, [, w, h]) => sum + Number(w) * Number(h), 0);

describe('a map of levels', () => {
  it('has shades that cover all of it, each as wide as its levels are', () => {
    const paths = shades(slope(-1), frame);
    expect(paths.reduce((sum, one) => sum + area(one), 0)).toBeCloseTo(150 * 100, 0);
    expect(area(paths[0]!) / 100).toBeGreaterThan(13);
    expect(area(paths[0]!) / 100).toBeLessThan(18);
    expect(paths[6]).toBe('');
    expect([0, -3, -3.1, -24, -24.1].map(shade_of)).toEqual([0, 0, 1, 4, 5]);
  });
  it('shows a wall as one faces it: u runs from the right', () => {
    expect(to_page(slope(2), frame, [0, 0])).toEqual([150, 100]);
    expect(to_page(slope(-1), frame, [0, 0])).toEqual([0, 100]);
    expect(shades(slope(2), frame)[0]!.startsWith('M1')).toBe(true); // dark at the right-hand end
  });
  it('draws the line of a level where it is met, and tells its level there', () => {
    const xs = [...line_of(slope(-1), frame, -12).matchAll(/[ML]([\d.]+) /g)].map(([, x]) => Number(x));
    expect(xs.length).toBeGreaterThan(20);
    for (const x of xs) expect(x).toBeCloseTo(60, 1);
    expect(labels(slope(-1), frame).some((one) => one.level === -12 && Math.abs(one.x - 60) < 0.1)).toBe(true);
  });
  it('tells no level where most of a cell lies in a piece', () => {
    const map = slope(-1);
    map.level_db = map.level_db.map((one, k) => (k % 31 > 15 ? null : one));
    expect(level_at(map, 0.9, 0.5)).toBeUndefined();
    expect(level_at(map, 0.1, 0.5)).toBeCloseTo(-3, 9);
    expect(area(shades(map, frame)[6]!) / 100).toBeGreaterThan(60);
  });
});
