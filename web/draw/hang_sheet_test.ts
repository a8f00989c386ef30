// The sheet that needs no server: everything in it, nothing from elsewhere, no text that acts.
import { JSDOM } from 'jsdom';
import { describe, expect, it } from 'vitest';
import type { HangResult } from '../api/types';
import { hang_sheet } from './hang_sheet';
import { room_of } from './room';

const tree = {
  title: 'A <b>bold</b> "room"', region: { units: 'mm' }, room: { size: [5000, 4000, 2500] },
  features: [{ label: 'door', kind: 'door', on: 'wall0', from: [300, 0], to: [1100, 2000] }],
};
const piece = {
  label: 'W1', product: 'side panel', kind: 'wall panel', place: 'wall0', left_m: 1.5, bottom_m: 0.6, width_m: 0.66, height_m: 1.254,
  stand_off_m: 0.06, mass_kg: 5.7, two_people: true, fixing_points_m: [[1.665, 1.794]], load_n: 56, safety_factor: 6, asked_factor: 5, ok: true, verdict: '',
};
const hang: HangResult = {
  pieces: [piece, { ...piece, label: 'T1', place: 'corner 2', left_m: 0 }, { ...piece, label: 'C1', place: 'ceiling' }],
  way_in: [], total_kg: 17.1, cautions: ['Look for cables & pipes.'], statements: [],
};
const made = hang_sheet(tree, room_of(tree)!, hang, 'demo.3');

describe('the hang sheet', () => {
  it('asks nothing of any server', () => {
    expect(made).not.toMatch(/https?:|src=|href=|url\(|@import/);
    expect(made).toContain("default-src 'none'");
  });
  it('draws each wall that holds a piece, and the ceiling', () => {
    const { document } = new JSDOM(made).window;
    expect([...document.querySelectorAll('figcaption')].map((one) => one.textContent!.split(',')[0])).toEqual(['wall 0', 'wall 2', 'wall 1', 'ceiling']);
    expect(document.querySelectorAll('rect.piece')).toHaveLength(4);
    expect(document.title).toBe('Hang sheet: A <b>bold</b> "room"');
    expect(document.querySelector('h1 b')).toBeNull();
    expect(document.querySelector('.caution')!.textContent).toBe('Caution. Look for cables & pipes.');
  });
  it('draws a piece by its outline, its notch too', () => {
    const notched = { ...piece, label: 'N1', outline_m: [[1.5, 0.6], [2.16, 0.6], [2.16, 1.854], [1.9, 1.854], [1.9, 1], [1.7, 1], [1.7, 1.854], [1.5, 1.854]] };
    const { document } = new JSDOM(hang_sheet(tree, room_of(tree)!, { ...hang, pieces: [notched] }, 'demo.4')).window;
    expect(document.querySelectorAll('rect.piece')).toHaveLength(0);
    expect(document.querySelector('polygon.piece')!.getAttribute('points')!.split(' ')).toHaveLength(8);
    expect(document.querySelector('polygon.piece')!.getAttribute('points')).toContain('190.0,');
  });
  it('keeps its ticks when it is opened again', () => {
    const sitting = (): JSDOM => new JSDOM(made, { runScripts: 'dangerously', url: 'https://sheet.invalid/' });
    const first = sitting();
    const box = first.window.document.querySelector<HTMLInputElement>('input[data-piece="W1"]')!;
    box.click();
    expect(first.window.document.querySelector('#count')!.textContent).toContain('1 of 3');
    const kept = first.window.localStorage.getItem('roomwright.sheet.demo.3')!;
    const second = new JSDOM(made, { runScripts: 'dangerously', url: 'https://sheet.invalid/', beforeParse: (window) => window.localStorage.setItem('roomwright.sheet.demo.3', kept) });
    expect(second.window.document.querySelector<HTMLInputElement>('input[data-piece="W1"]')!.checked).toBe(true);
  });
});
