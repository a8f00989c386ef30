// Where the document puts each piece, by the size that the stages found; and where a piece that a hand
// moves comes to rest, on an elevation and in the room in 3-D alike.
import type { Edit } from '../api/types';
import { put, value_at, type Json } from '../job/edits';
import type { OpenJob } from '../job/job.svelte';
import { document_length, to_grid } from '../units/length';
import { outline_of } from './outline';
import { corner_reach, list_at, metre, metres, unit_of, word_at, type Point, type Room, type Wall } from './room';
import { nearest_rest, rests_across, rests_up, wall_across, type Neighbour, type Rest } from './snap';

export interface Placed extends Neighbour {
  index: number;
  /** in a corner it is moved by its corner and its lower edge instead */
  movable: boolean;
  faults: string[];
  on: string;
  /** corners from its lower left; none: its box */
  outline: Point[];
}

const faults_of = (job: OpenJob, label: string): string[] =>
  ((job.trial.pieces ?? job.results.stages.treatment?.pieces)?.find((one) => one.label === label)?.faults ?? []).map((one) => one.what);

/** A piece in a corner stands on both of its walls. */
export function placed(job: OpenJob, room: Room): Placed[] {
  const hung = new Map(job.results.stages.hang?.pieces.map((one) => [one.label, one]) ?? []);
  return list_at(job.desk.shown, 'pieces').flatMap((one, index): Placed[] => {
    const label = word_at(one, 'label');
    const sized = hung.get(label);
    const size = sized ? { width: sized.width_m, height: sized.height_m } : { width: 0.6, height: 0.6 };
    const faults = faults_of(job, label);
    if (typeof one.in_corner === 'number') {
      const k = one.in_corner;
      const n = room.walls.length;
      if (!room.corners[k]) return [];
      const reach = corner_reach(room, k, size.width);
      const base = { label, index, movable: false, faults, outline: [], bottom: metre(one.foot, room.unit), width: reach, height: size.height };
      const after = room.walls[k]!;
      return [{ ...base, on: after.name, left: after.length_m - reach }, { ...base, on: room.walls[(k + n - 1) % n]!.name, left: 0 }];
    }
    const [left = 0, bottom = 0] = metres(one.from, room.unit);
    return [{ label, index, movable: true, faults, on: word_at(one, 'on'), left, bottom, ...size, outline: outline_of(sized) }];
  });
}

export interface Face {
  low_x: number;
  low_y: number;
  width: number;
  height: number;
}
/** A wall as one faces it, or the ceiling as its plan (no wall). */
export function face_of(room: Room, wall: Wall | undefined): Face {
  if (wall) return { low_x: 0, low_y: 0, width: wall.length_m, height: Math.max(wall.left_m, wall.right_m) };
  const xs = room.corners.map(([x]) => x);
  const ys = room.corners.map(([, y]) => y);
  const [low_x, low_y] = [Math.min(...xs), Math.min(...ys)];
  return { low_x, low_y, width: Math.max(...xs) - low_x, height: Math.max(...ys) - low_y };
}

/** the shop's rule `keep_clear`, or its default (docs/shop/rules.md) */
function keep_clear_m(job: OpenJob, room: Room): number {
  const rule = value_at(job.shop?.shown ?? {}, 'rules.keep_clear');
  return rule === undefined ? (room.units.metric ? 0.02 : 0.01905) : metre(rule, unit_of(job.shop!.shown));
}

/** A place on a wall where nothing hangs yet, for one more piece of a product; the first wall's corner
 * where there is none. */
export function free_place(job: OpenJob, room: Room, product: string): { on: string; left: number; bottom: number } {
  const all = placed(job, room);
  const like = list_at(job.desk.shown, 'pieces').findIndex((one) => one.product === product);
  const size = all.find((one) => one.index === like) ?? { width: 0.7, height: 1.3 };
  const gap = keep_clear_m(job, room);
  const bottom = 0.6;
  for (const wall of room.walls) {
    const taken = [
      ...all.filter((one) => one.on === wall.name),
      ...list_at(job.desk.shown, 'features').filter((one) => one.on === wall.name).map((one) => {
        const [left = 0, low = 0] = metres(one.from, room.unit);
        const [right = 0, high = 0] = metres(one.to, room.unit);
        return { left, bottom: low, width: right - left, height: high - low };
      }),
    ];
    const free = (left: number): boolean =>
      taken.every((one) => one.left >= left + size.width + gap || one.left + one.width + gap <= left || one.bottom >= bottom + size.height + gap || one.bottom + one.height + gap <= bottom);
    for (let left = 0.5; left + size.width + gap <= wall.length_m; left += 0.1) if (free(left)) return { on: wall.name, left, bottom };
  }
  return { on: room.walls[0]!.name, left: 0.5, bottom };
}

export interface Resting {
  left: number;
  bottom: number;
  across: Rest | undefined;
  up: Rest | undefined;
}
/** Where a piece comes to rest that a hand holds at (left, bottom); reach_m: how near a rest draws it,
 * 0: it rests nowhere. Lines of the rests are on the face as the piece is. */
export function come_to_rest(job: OpenJob, room: Room, wall: Wall | undefined, piece: Placed, held: [number, number], all: Placed[], reach_m: number): Resting {
  const { low_x, low_y, width, height } = face_of(room, wall);
  const others = all.filter((one) => one.on === (wall?.name ?? 'ceiling') && one.index !== piece.index).map((one) => ({ ...one, left: one.left - low_x, bottom: one.bottom - low_y }));
  const facing = wall ? wall_across(room, wall) : undefined;
  const mirrors = facing ? all.filter((one) => one.on === facing.name && one.movable) : [];
  const ears = wall ? list_at(job.desk.shown, 'seats').map((one) => metres(one.at, room.unit)[2] ?? 0) : [];
  const gap = keep_clear_m(job, room);
  const left = Math.min(Math.max(held[0], low_x), low_x + width - piece.width);
  const bottom = Math.min(Math.max(held[1], low_y), low_y + height - piece.height);
  const across = nearest_rest(left - low_x, rests_across(piece.width, width, others, mirrors, gap), reach_m);
  const up = nearest_rest(bottom - low_y, rests_up(piece.height, height, others, ears, gap), reach_m);
  return { left: across ? across.at + low_x : left, bottom: up ? up.at + low_y : bottom, across, up };
}

/** The edit that hangs a piece there, on the grid that a tape can show. */
export function place_edit(job: OpenJob, room: Room, index: number, left: number, bottom: number): Edit[] {
  const write = (m: number): Json => document_length(to_grid(Math.round(m * 1e9), room.units), room.unit);
  return put(job.desk.tree, `pieces[${index}].from`, [write(left), write(bottom)]);
}
