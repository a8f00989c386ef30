// A picture of a plan that lies under the drawing, at scale: where it lies in the room's own metres.
// Its scale is what two points of it and the length between them say.
export interface Tracing {
  address: string;
  /** of the picture, in its own pixels */
  wide_px: number;
  high_px: number;
  /** plan point of the picture's lower left-hand corner */
  left_m: number;
  low_m: number;
  m_per_px: number;
}

/** The picture scaled so that two of its points (as plan points) are so far apart; the first stays. */
export function scaled(picture: Tracing, a: [number, number], b: [number, number], apart_m: number): Tracing {
  const now = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (now < 1e-9) return picture;
  const by = apart_m / now;
  return {
    ...picture, m_per_px: picture.m_per_px * by, left_m: a[0] + (picture.left_m - a[0]) * by, low_m: a[1] + (picture.low_m - a[1]) * by,
  };
}

/** Corners as a document wants them: anticlockwise seen from above, the first moved to (0, 0) where
 * all else lies right of it and above, none twice in one place; and how far they were moved. */
export function as_plan(corners: Array<[number, number]>): { corners: Array<[number, number]>; moved: [number, number] } {
  const apart = corners.filter((one, k) => Math.hypot(one[0] - corners[(k + 1) % corners.length]![0], one[1] - corners[(k + 1) % corners.length]![1]) > 1e-6);
  const twice_area = apart.reduce((sum, [x, y], k) => sum + x * apart[(k + 1) % apart.length]![1] - apart[(k + 1) % apart.length]![0] * y, 0);
  const turned = twice_area < 0 ? apart.toReversed() : apart;
  const low_x = Math.min(...turned.map(([x]) => x));
  const low_y = Math.min(...turned.map(([, y]) => y));
  const from = turned.reduce((best, [x, y], k) => (x - low_x + y - low_y < turned[best]![0] - low_x + turned[best]![1] - low_y ? k : best), 0);
  return { corners: [...turned.slice(from), ...turned.slice(0, from)].map(([x, y]) => [x - low_x, y - low_y]), moved: [-low_x, -low_y] };
}

/** A point seen from the last corner: on the grid, and square to the walls where it is nearly so. */
export function squared(from: [number, number] | undefined, to: [number, number], grid_m: number): [number, number] {
  const round = (m: number): number => Math.round(m / grid_m) * grid_m;
  const at: [number, number] = [round(to[0]), round(to[1])];
  if (!from) return at;
  const across = Math.abs(to[0] - from[0]);
  const up = Math.abs(to[1] - from[1]);
  if (up < across * 0.12) at[1] = from[1];
  else if (across < up * 0.12) at[0] = from[0];
  return at;
}
