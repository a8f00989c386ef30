// Outlines that are no rectangles: a notch from above, and where a label stands in it.
import { describe, expect, it } from 'vitest';
import type { HangPiece } from '../api/types';
import { edge_distance, lies_in, outline_of, roomiest } from './outline';
import type { Point } from './room';

const notched: Point[] = [[0, 0], [0.9, 0], [0.9, 0.7], [0.56, 0.7], [0.56, 0.38], [0.4, 0.38], [0.4, 0.7], [0, 0.7]];

describe('a piece with an outline', () => {
  it('has its corners from its own lower left, wherever it hangs', () => {
    const hung = { left_m: 2, bottom_m: 0.5, outline_m: [[2, 0.5], [3, 0.5], [2.5, 1.25]] } as HangPiece;
    expect(outline_of(hung)).toEqual([[0, 0], [1, 0], [0.5, 0.75]]);
    expect(outline_of({ left_m: 2, bottom_m: 0.5 } as HangPiece)).toEqual([]);
    expect(outline_of(undefined)).toEqual([]);
  });
  it('covers nothing in its notch', () => {
    expect(lies_in(notched, [0.48, 0.5])).toBe(false);
    expect(lies_in(notched, [0.48, 0.2])).toBe(true);
    expect(lies_in(notched, [0.2, 0.5])).toBe(true);
    expect(lies_in(notched, [0.95, 0.2])).toBe(false);
    expect(edge_distance(notched, [0.48, 0.3])).toBeCloseTo(0.08, 9);
  });
  it('bears its label where there is room for it', () => {
    const at = roomiest(notched);
    expect(lies_in(notched, at)).toBe(true);
    expect(edge_distance(notched, at)).toBeGreaterThan(0.16);
    expect(roomiest([[0, 0], [1, 0], [1, 1], [0, 1]])).toEqual([0.5, 0.5]);
  });
});
