// The outline of a piece that is no rectangle, from its own lower left, so that it moves with the
// piece; and where in an outline there is room for words.
import type { HangPiece } from '../api/types';
import type { Point } from './room';

/** Corners in metres from the piece's lower left; a piece without an outline: none. */
export const outline_of = (piece: HangPiece | undefined): Point[] =>
  (piece?.outline_m ?? []).map(([x = 0, y = 0]) => [x - piece!.left_m, y - piece!.bottom_m]);

const sides = (outline: Point[]): Array<[Point, Point]> => outline.map((from, k) => [from, outline[(k + 1) % outline.length]!]);

/** A ray to the right crosses an odd number of sides. */
export const lies_in = (outline: Point[], [x, y]: Point): boolean =>
  sides(outline).filter(([a, b]) => a[1] > y !== b[1] > y && x < a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0])).length % 2 === 1;

/** To the nearest side. */
export function edge_distance(outline: Point[], [x, y]: Point): number {
  return Math.min(
    ...sides(outline).map(([a, b]) => {
      const along = [b[0] - a[0], b[1] - a[1]] as const;
      const square = along[0] ** 2 + along[1] ** 2;
      const t = square === 0 ? 0 : Math.min(1, Math.max(0, ((x - a[0]) * along[0] + (y - a[1]) * along[1]) / square));
      return Math.hypot(x - a[0] - t * along[0], y - a[1] - t * along[1]);
    }),
  );
}

/** Where words stand best: the middle, unless a place farther from every side is to be had. */
export function roomiest(outline: Point[]): Point {
  const [xs, ys] = [outline.map(([x]) => x), outline.map(([, y]) => y)];
  const [low_x, low_y] = [Math.min(...xs), Math.min(...ys)];
  const [width, height] = [Math.max(...xs) - low_x, Math.max(...ys) - low_y];
  let best: Point = [low_x + width / 2, low_y + height / 2];
  let most = lies_in(outline, best) ? edge_distance(outline, best) : 0;
  const steps = 24;
  for (let i = 1; i < steps; ++i)
    for (let k = 1; k < steps; ++k) {
      const at: Point = [low_x + (width * i) / steps, low_y + (height * k) / steps];
      const room = lies_in(outline, at) ? edge_distance(outline, at) : 0;
      if (room > most * 1.05) [best, most] = [at, room];
    }
  return best;
}
