// Steps of the bench: pieces are looked at after they are made; an order has its frames from the sheet.
import { describe, expect, it } from 'vitest';
import type { BuildResult, HangResult, InspectedPiece } from '../api/types';
import { bench_steps, counted, first_open } from './steps';

const build = { sticks: [], cloths: [], sheets: [], stations: [] } as unknown as BuildResult;
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
  describe('begin at each station with its set-up', () => {
    const row = (station: string): BuildResult['stations'][number] => ({ station, set_up_min: 12, work_min: 30, lines: [] });
    const sticks = [{ name: 'batten', section: 'batten', patterns: [1, 2].map((length_m) => ({ stock_length_m: 3, sticks: 1, in_hand: false, offcut_m: 1, keep_offcut: true, pieces: [['W1 rail']], marks: [{ from_m: 0, to_m: length_m, length_m }] })) }];
    const planned = { ...build, sticks, stations: ['saw', 'drill_screw', 'rout', 'face_cloth'].map(row) } as unknown as BuildResult;
    const steps = bench_steps(planned, undefined, millimetres, [piece('W1'), piece('W2')]);
    const keys = steps.map((one) => one.key);
    const first = (...done: string[]): string | undefined => steps[first_open(steps, (one) => done.includes(one.key))]?.key;

    it('by the key that the shop’s times know, in the order of the shop', () => {
      expect(keys).toEqual(['set_up.saw', 'saw.batten.3.1', 'saw.batten.3.2', 'set_up.drill_screw', 'set_up.rout', 'set_up.face_cloth', 'frame.W1', 'frame.W2', 'leave.W1', 'leave.W2']);
      expect(steps[0]).toMatchObject({ title: 'Set up the saw', station: 'saw', figure: '12 min is the standard' });
      expect(steps.filter((one) => one.set_up && one.station === 'bench').map((one) => one.key)).toEqual(['set_up.drill_screw', 'set_up.rout', 'set_up.face_cloth']);
    });
    it('none where nothing is done at a station', () => {
      expect(bench_steps({ ...planned, sticks: [] }, undefined, millimetres, []).map((one) => one.key)).toEqual([]);
    });
    it('the saw’s with the sheets where no stick is cut', () => {
      const sheets = [{ key: 'plywood', wool: false, sheets: [{ repeat: 1, pieces: [] }] }];
      expect(bench_steps({ ...planned, sticks: [], sheets } as unknown as BuildResult, undefined, millimetres).map((one) => one.key)).toEqual(['set_up.saw', 'sheet.plywood.']);
    });
    it('which is offered first, and holds nothing back', () => {
      expect(first()).toBe('set_up.saw');
      expect(first('set_up.saw')).toBe('saw.batten.3.1');
      expect(first('saw.batten.3.1')).toBe('saw.batten.3.2');
      expect(first('saw.batten.3.1', 'saw.batten.3.2')).toBe('set_up.drill_screw');
      expect(first('saw.batten.3.1', 'saw.batten.3.2', 'frame.W2')).toBe('frame.W1');
      expect(first(...keys.filter((key) => !key.startsWith('set_up')))).toBeUndefined();
      expect(counted(steps).some((one) => one.set_up)).toBe(false);
      expect(steps[first_open(steps, () => false, 'bench')]?.key).toBe('set_up.drill_screw');
    });
  });
});
