// Entries on their way: what the program refuses for good is told and does not hold up the rest.
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { AppendRequest, Entry } from '../api/types';
import { Journal } from './outbox.svelte';

let kept: Entry[] = [];
let asked: string[][] = [];
let here = true;

function answer(path: string, options?: RequestInit): Response {
  if (!here) throw new TypeError('no network');
  if (options?.method !== 'POST') return Response.json(kept.filter((one) => one.number > Number(/after=(\d+)/.exec(path)![1])));
  const { entries } = JSON.parse(String(options.body)) as AppendRequest;
  asked.push(entries.map((one) => one.subject));
  const wrong = entries.findIndex((one) => one.subject === 'bad');
  if (wrong >= 0) return Response.json({ errors: [{ where: `entries[${wrong}].body.diagonal_a_m`, what: 'is not near the drawn 1000 mm', got: null, remedy: 'measure again' }] }, { status: 422 });
  for (const one of entries) kept.push({ number: kept.length + 1, subject: one.subject, document: one.document, body: one.body, who: 'bench', when: '', sequence: kept.length + 1 });
  return Response.json({ refused: false, last: kept.length, sequence: kept.length });
}

describe('a journal', () => {
  beforeEach(() => {
    kept = [];
    asked = [];
    here = true;
    const stored = new Map<string, string>();
    vi.stubGlobal('localStorage', { getItem: (key: string) => stored.get(key) ?? null, setItem: (key: string, value: string) => stored.set(key, value) });
    vi.stubGlobal('fetch', async (path: string, options?: RequestInit) => answer(path, options));
  });
  afterEach(() => vi.unstubAllGlobals());
  const settled = async (journal: Journal): Promise<void> => vi.waitFor(() => expect(journal.waiting.length).toBe(0));

  it('sends what waited together, and what is refused alone is told and let go', async () => {
    const journal = new Journal('inspection', 'job');
    here = false;
    for (const subject of ['A1', 'bad', 'A2']) journal.add(subject, {});
    await vi.waitFor(() => expect(journal.linked).toBe(false));
    here = true;
    await journal.flush();
    await settled(journal);
    expect(kept.map((one) => one.subject)).toEqual(['A1', 'A2']);
    expect(asked[0]).toEqual(['A1', 'bad', 'A2']);
    expect(journal.refused).toBe('diagonal_a_m is not near the drawn 1000 mm; measure again.');
    journal.close();
  });
  it('keeps what nobody answered, and forgets an old refusal with the next entry', async () => {
    const journal = new Journal('inspection', 'job');
    journal.add('bad', {});
    await settled(journal);
    expect(journal.refused).not.toBe('');
    here = false;
    journal.add('A1', {});
    expect(journal.refused).toBe('');
    await vi.waitFor(() => expect(journal.linked).toBe(false));
    expect(journal.waiting.map((one) => one.subject)).toEqual(['A1']);
    journal.close();
  });
});
