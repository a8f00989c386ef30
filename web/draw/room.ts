// The room of a document as points and walls in metres, for drawing: plan corners, heights, and each
// wall as one faces it from inside. What the sound does stands in the stages' results, never here.
import { value_at, type Json, type Tree } from '../job/edits';
import { document_nm, units_of, type LengthUnit, type Units } from '../units/length';

export type Point = [number, number];
export interface Wall {
  name: string;
  /** plan ends in the document's order: corner k and k + 1 */
  from: Point;
  to: Point;
  length_m: number;
  /** height at the left-hand and at the right-hand end, as one faces it */
  left_m: number;
  right_m: number;
}
export interface Room {
  unit: LengthUnit;
  units: Units;
  corners: Point[];
  walls: Wall[];
  box: boolean;
  height_at: (x: number, y: number) => number;
  highest_m: number;
}

export const list_at = (tree: Tree, key: string): Array<{ [key: string]: Json }> => {
  const list = tree[key];
  return Array.isArray(list) ? (list.filter((one) => one !== null && typeof one === 'object') as Array<{ [key: string]: Json }>) : [];
};
export const word_at = (from: { [key: string]: Json } | undefined, key: string): string =>
  typeof from?.[key] === 'string' ? (from[key] as string) : '';

/** a shop's document is named like its file */
export const shop_name = (id: string): string => id.replace(/\.(toml|json)$/, '').replaceAll('_', ' ');

export function unit_of(tree: Tree): LengthUnit {
  const unit = value_at(tree, 'region.units') ?? tree.units; // a job's, or a shop's
  return unit === 'cm' || unit === 'm' || unit === 'in' || unit === 'ft' ? unit : 'mm';
}
/** metres of a list of lengths; what cannot be read is 0 */
export function metres(value: Json | undefined, unit: LengthUnit): number[] {
  return Array.isArray(value) ? value.map((one) => (document_nm(one, unit) ?? 0) / 1e9) : [];
}
export const metre = (value: Json | undefined, unit: LengthUnit): number => (document_nm(value, unit) ?? 0) / 1e9;

function ceiling_plane(points: number[][]): ((x: number, y: number) => number) | undefined {
  const [a, b, c] = points;
  if (!a || !b || !c || [a, b, c].some((one) => one.length !== 3)) return undefined;
  const u = [b[0]! - a[0]!, b[1]! - a[1]!, b[2]! - a[2]!] as const;
  const v = [c[0]! - a[0]!, c[1]! - a[1]!, c[2]! - a[2]!] as const;
  const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]] as const;
  if (Math.abs(n[2]) < 1e-9) return undefined;
  return (x, y) => a[2]! - (n[0] * (x - a[0]!) + n[1] * (y - a[1]!)) / n[2];
}

export function room_of(tree: Tree): Room | undefined {
  const unit = unit_of(tree);
  const denominator = value_at(tree, 'region.denominator');
  const units = units_of(unit, typeof denominator === 'number' ? denominator : 16);
  const size = metres(value_at(tree, 'room.size'), unit);
  const plan = value_at(tree, 'room.plan');
  const box = size.length === 3;
  const corners: Point[] = box
    ? [[0, 0], [size[0]!, 0], [size[0]!, size[1]!], [0, size[1]!]]
    : (Array.isArray(plan) ? plan : []).map((one) => metres(one, unit)).filter((one) => one.length === 2).map(([x, y]) => [x!, y!]);
  if (corners.length < 3) return undefined;
  const level = box ? size[2]! : metre(value_at(tree, 'room.height'), unit);
  const points = value_at(tree, 'room.ceiling');
  const sloped = Array.isArray(points) ? ceiling_plane(points.map((one) => metres(one, unit))) : undefined;
  const height_at = sloped ?? (() => level);
  const walls = corners.map((from, k): Wall => {
    const to = corners[(k + 1) % corners.length]!;
    return {
      name: `wall${k}`, from, to, length_m: Math.hypot(to[0] - from[0], to[1] - from[1]),
      left_m: height_at(...to), right_m: height_at(...from),
    };
  });
  return { unit, units, corners, walls, box, height_at, highest_m: Math.max(...corners.map(([x, y]) => height_at(x, y))) };
}

/** The walls in the order in which they stand when the room is unrolled: each one's right-hand end
 * is the left-hand end of the next. */
export const unrolled = (room: Room): Wall[] => [room.walls[0]!, ...room.walls.slice(1).reverse()];

/** The plan point that lies so far from the left-hand end of a wall, and out of it into the room. */
export function on_wall(wall: Wall, left_m: number, out_m = 0): Point {
  const along: Point = [(wall.from[0] - wall.to[0]) / wall.length_m, (wall.from[1] - wall.to[1]) / wall.length_m];
  // the room lies on the right of one who walks from the left-hand end, seen from above
  const into: Point = [along[1], -along[0]];
  return [wall.to[0] + along[0] * left_m + into[0] * out_m, wall.to[1] + along[1] * left_m + into[1] * out_m];
}

/** How far a piece that straddles a corner reaches along both walls: its face's width by the
 * angle of the corner. */
export function corner_reach(room: Room, corner: number, width_m: number): number {
  const n = room.corners.length;
  const at = room.corners[corner]!;
  const toward = (other: Point): number => Math.atan2(other[1] - at[1], other[0] - at[0]);
  let angle = toward(room.corners[(corner + n - 1) % n]!) - toward(room.corners[(corner + 1) % n]!);
  while (angle < 0) angle += 2 * Math.PI;
  return width_m / 2 / Math.max(0.2, Math.sin(Math.min(angle, Math.PI) / 2));
}

/** Pushes wall k so that the wall before it becomes longer by so much: what a tape correction means
 * for a plan. Corners k and k + 1 move together along the wall before. */
export function lengthened(corners: Point[], wall: number, by_m: number): Point[] {
  const n = corners.length;
  const from = corners[wall]!;
  const to = corners[(wall + 1) % n]!;
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const step: Point = [((to[0] - from[0]) / length) * by_m, ((to[1] - from[1]) / length) * by_m];
  return corners.map((corner, k) =>
    k === (wall + 1) % n || k === (wall + 2) % n ? [corner[0] + step[0], corner[1] + step[1]] : corner,
  );
}
