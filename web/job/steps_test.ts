// Steps of the bench: pieces are looked at after they are made; an order has its frames from the sheet.
import { describe, expect, it } from 'vitest';
import type { BuildResult, HangResult, InspectedPiece } from '../api/types';
import { bench_steps } from './steps';

const build = { sticks: [], cloths: [], sheets: [] } as unknown as BuildResult;
const piece = (label: string): InspectedPiece => ({
  label, passed: false, complete: false, open: [], faults: [], back_to: '', note: '', who: '', when: '', inspected: 0, certificates: [],
  limits: { product: 'wall panel', width_m: 0.6, height_m: 0.8, mass_kg: 5, diagonal_m: 1, square_within_m: 0.003, flat_within_m: 0.003, least_kg: 4.5, most_kg: 5.5 },
});
const millimetres = { metric: true, denominator: 16 };

describe('the steps of the bench', () => {
  it('end with a look at each piece, which no tick does', () => {
    const hang = { pieces: [{ label: 'W1', product: 'wall panel', width_m: 0.6, height_m: 0.8, place: 'wall0', two_people: false }] } as unknown as HangResult;
    const steps = bench_steps(build, hang, millimetres, [piece('W1')]);
    expect(steps.map((one) => [one.key, one.looked_at ?? false])).toEqual([['frame.W1', false], ['leave.W1', true]]);
    expect(steps[1]!.lines.join(' ')).toContain('differ by 3.0 mm at most');
  });
  it('of an order are told by its pieces, which hang nowhere', () => {
    const steps = bench_steps(build, undefined, millimetres, [piece('A1'), piece('A2')]);
    expect(steps.map((one) => one.key)).toEqual(['frame.A1', 'frame.A2', 'leave.A1', 'leave.A2']);
  });
});
