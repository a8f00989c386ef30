// Where a piece that is dragged comes to rest: as near to the floor, the wall's ends and a neighbour as
// the shop's rule allows, on centre lines, at a neighbour's height, or as the mirror of a piece across. One rest in each
// direction, the nearest; each tells in words why.
import type { Room, Wall } from './room';

export interface Rectangle {
  left: number;
  bottom: number;
  width: number;
  height: number;
}
export interface Rest {
  at: number;
  why: string;
  /** where the line is drawn, along the same direction */
  line: number;
}
export interface Neighbour extends Rectangle {
  label: string;
}

const consider = (rests: Rest[], line: number, why: string, offset: number): void => {
  rests.push({ at: line - offset, why, line });
};

/** Every rest across a wall for a piece of that width; gap: what the shop keeps clear. */
export function rests_across(width: number, wall_length: number, others: Neighbour[], mirrors: Neighbour[], gap: number): Rest[] {
  const rests: Rest[] = [];
  consider(rests, gap, 'clear of the left-hand corner', 0);
  consider(rests, wall_length - gap, 'clear of the right-hand corner', width);
  consider(rests, wall_length / 2, 'on the centre line', width / 2);
  for (const one of others) {
    const right = one.left + one.width;
    consider(rests, right + gap, `beside ${one.label}`, 0);
    consider(rests, one.left - gap, `beside ${one.label}`, width);
    consider(rests, one.left + one.width / 2, `in line with ${one.label}`, width / 2);
    consider(rests, one.left, `flush with ${one.label}`, 0);
    consider(rests, right, `flush with ${one.label}`, width);
  }
  for (const one of mirrors)
    consider(rests, wall_length - one.left - one.width / 2, `mirror of ${one.label}`, width / 2);
  return rests;
}

/** Every rest up a wall for a piece of that height. */
export function rests_up(height: number, wall_height: number, others: Neighbour[], ears: number[], gap: number): Rest[] {
  const rests: Rest[] = [];
  consider(rests, gap, 'clear of the floor', 0);
  consider(rests, wall_height - gap, 'clear of the ceiling', height);
  consider(rests, wall_height / 2, 'at half height', height / 2);
  for (const ear of ears) consider(rests, ear, 'centred on the ears', height / 2);
  for (const one of others) {
    consider(rests, one.bottom, `level with ${one.label}`, 0);
    consider(rests, one.bottom + one.height, `level with the top of ${one.label}`, height);
    consider(rests, one.bottom + one.height / 2, `centred on ${one.label}`, height / 2);
  }
  return rests;
}

/** The nearest rest within reach; of equals, the first. */
export function nearest_rest(at: number, rests: Rest[], reach: number): Rest | undefined {
  let best: Rest | undefined;
  for (const rest of rests)
    if (Math.abs(rest.at - at) <= reach && (!best || Math.abs(rest.at - at) < Math.abs(best.at - at) - 1e-9)) best = rest;
  return best;
}

/** The wall that faces another across the room, parallel to it, the longest of several. */
export function wall_across(room: Room, wall: Wall): Wall | undefined {
  const way = (one: Wall): [number, number] => [(one.to[0] - one.from[0]) / one.length_m, (one.to[1] - one.from[1]) / one.length_m];
  const [x, y] = way(wall);
  return room.walls
    .filter((one) => way(one)[0] * x + way(one)[1] * y < -0.999)
    .sort((a, b) => b.length_m - a.length_m)[0];
}
