// Walls as one faces them, where pieces come to rest, and axes.
import { describe, expect, it } from 'vitest';
import { as_plan, scaled, squared } from './picture';
import { corner_reach, lengthened, on_wall, room_of, unrolled } from './room';
import { apart, logarithmic, round_steps } from './scales';
import { nearest_rest, rests_across, rests_up, wall_across } from './snap';

const l_room = room_of({
  region: { units: 'mm' },
  room: { plan: [[0, 0], [5860, 0], [5860, 3140], [5310, 3140], [5310, 3920], [0, 3920]], height: 2480 },
})!;

describe('a room', () => {
  it('has its walls as one faces them: the left-hand end is the later corner', () => {
    const wall5 = l_room.walls[5]!;
    expect(on_wall(wall5, 1.745)).toEqual([0, 1.745]);
    expect(on_wall(wall5, 1.745, 0.1)[0]).toBeCloseTo(0.1, 9);
    const wall0 = l_room.walls[0]!;
    expect(on_wall(wall0, 0, 0.2)[0]).toBeCloseTo(5.86, 9);
    expect(on_wall(wall0, 0, 0.2)[1]).toBeCloseTo(0.2, 9);
  });
  it('unrolls so that the right-hand end of each wall is the left-hand end of the next', () => {
    const walls = unrolled(l_room);
    expect(walls).toHaveLength(6);
    walls.forEach((wall, k) => expect(wall.from).toEqual(walls[(k + 1) % 6]!.to));
  });
  it('of a stated size has four walls and one height', () => {
    const box = room_of({ region: { units: 'in' }, room: { size: [100, '10\'', 98] } })!;
    expect(box.walls.map((wall) => Number(wall.length_m.toFixed(4)))).toEqual([2.54, 3.048, 2.54, 3.048]);
    expect(box.highest_m).toBeCloseTo(98 * 0.0254, 9);
  });
  it('has the slope of its ceiling at every wall', () => {
    const sloped = room_of({
      region: { units: 'm' }, room: { plan: [[0, 0], [4, 0], [4, 3], [0, 3]], ceiling: [[0, 0, 2], [4, 0, 3], [0, 3, 2]] },
    })!;
    expect(sloped.height_at(2, 1)).toBeCloseTo(2.5, 9);
    expect(sloped.walls[0]!.left_m).toBeCloseTo(3, 9);
    expect(sloped.walls[0]!.right_m).toBeCloseTo(2, 9);
  });
  it('is wider by what the tape adds to one wall, and stays closed and square', () => {
    const wider = lengthened(l_room.corners, 0, 0.1);
    expect(wider[1]).toEqual([5.96, 0]);
    expect(wider[2]).toEqual([5.96, 3.14]);
    expect(wider[3]).toEqual([5.31, 3.14]);
  });
  it('is reached along both walls by a piece across a square corner as its width over root two', () => {
    expect(corner_reach(l_room, 0, 0.62)).toBeCloseTo(0.62 / Math.SQRT2, 9);
  });
});

describe('a piece that is dragged', () => {
  const other = { label: 'S1', left: 1, bottom: 0.6, width: 0.6, height: 1.2 };
  it('rests on the centre line, beside its neighbour, or where the mirror of a piece is', () => {
    const rests = rests_across(0.6, 4, [other], [{ ...other, label: 'S3', left: 0.5 }], 0.02);
    expect(nearest_rest(1.69, rests, 0.03)).toMatchObject({ at: 1.7, why: 'on the centre line' });
    expect(nearest_rest(1.625, rests, 0.03)).toMatchObject({ why: 'beside S1' });
    expect(nearest_rest(2.91, rests, 0.03)?.why).toBe('mirror of S3');
    expect(nearest_rest(2.5, rests, 0.03)).toBeUndefined();
  });
  it('keeps as far from corners, floor and neighbours as the shop’s rule says', () => {
    const across = rests_across(0.6, 4, [other], [], 0.02);
    expect(nearest_rest(0.01, across, 0.03)).toMatchObject({ at: 0.02, why: 'clear of the left-hand corner' });
    expect(nearest_rest(3.4, across, 0.03)?.at).toBeCloseTo(3.38, 9);
    expect(across.every((one) => one.at >= 0.02 - 1e-9 || one.why.startsWith('in line') || one.why.startsWith('flush') || one.why.startsWith('beside'))).toBe(true);
    expect(nearest_rest(0, rests_up(1.2, 2.5, [], [], 0.02), 0.03)?.at).toBeCloseTo(0.02, 9);
  });
  it('rests level with its neighbour and centred on the ears', () => {
    const rests = rests_up(1.2, 2.5, [other], [1.15], 0.02);
    expect(nearest_rest(0.61, rests, 0.03)?.why).toBe('level with S1');
    expect(nearest_rest(0.555, rests, 0.03)?.why).toBe('centred on the ears');
  });
  it('is mirrored by the wall across the room', () => {
    expect(wall_across(l_room, l_room.walls[0]!)?.name).toBe('wall4');
  });
});

describe('axes', () => {
  it('have round steps within their range', () => {
    expect(round_steps(-13, 24, 5)).toEqual([-10, 0, 10, 20]);
    expect(round_steps(0, 1, 5)).toEqual([0, 0.2, 0.4, 0.6, 0.8, 1]);
  });
  it('put an octave at equal steps', () => {
    const x = logarithmic(20, 320, 0, 400);
    expect([x(20), x(40), x(320)].map((one) => Math.round(one))).toEqual([0, 100, 400]);
  });
  it('keep labels apart', () => {
    expect(apart([10, 12, 50], 14)).toEqual([10, 24, 50]);
  });
});

describe('a room that is drawn', () => {
  it('becomes a plan that runs anticlockwise from its lower left-hand corner', () => {
    const { corners, moved } = as_plan([[1, 4], [5, 4], [5, 1], [1, 1]]);
    expect(corners).toEqual([[0, 0], [4, 0], [4, 3], [0, 3]]);
    expect(moved).toEqual([-1, -1]);
  });
  it('is square to its walls where the hand is nearly so, and on the grid', () => {
    expect(squared([1, 1], [4.02, 1.1], 0.05)).toEqual([4, 1]);
    expect(squared([1, 1], [1.2, 3], 0.05).map((m) => Number(m.toFixed(6)))).toEqual([1, 3]);
    expect(squared([1, 1], [2, 2], 0.5)).toEqual([2, 2]);
  });
  it('lies on a picture whose two points are as far apart as the tape says', () => {
    const picture = { address: '', wide_px: 100, high_px: 50, left_m: 0, low_m: 0, m_per_px: 0.1 };
    const then = scaled(picture, [2, 1], [6, 4], 2.5);
    expect(then.m_per_px).toBeCloseTo(0.05, 12);
    const moved = (x: number, y: number): [number, number] => [then.left_m + (x / 0.1) * then.m_per_px, then.low_m + (y / 0.1) * then.m_per_px];
    expect(moved(2, 1)[0]).toBeCloseTo(2, 12);
    expect(Math.hypot(moved(6, 4)[0] - moved(2, 1)[0], moved(6, 4)[1] - moved(2, 1)[1])).toBeCloseTo(2.5, 12);
  });
});
