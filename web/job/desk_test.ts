// A document held once, against a program that may be gone, and beside others who write.
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { DraftRequest, EditsRequest, NewEntry } from '../api/types';
import { Memory, Refused } from '../dev/memory';
import { Desk } from './desk.svelte';
import { Journal } from './outbox.svelte';
import { ticked } from './ticks';
import { Trial } from './trial.svelte';

let memory: Memory;
let gone = false;
/** the answer is lost after the write was made */
let lose_answers = 0;
let drafts: DraftRequest[] = [];
let draft_answers: Array<() => void> = [];

async function answer(path: string, options: RequestInit = {}): Promise<Response> {
  if (gone) throw new TypeError('no network');
  const url = new URL(path, 'http://here');
  const [, , area, id = '', part] = url.pathname.split('/');
  const body = options.body ? (JSON.parse(options.body as string) as Record<string, unknown>) : {};
  const made = (): unknown => {
    if (area === 'documents' && part === 'edits') return memory.edit(id, body as unknown as EditsRequest, 'office');
    if (area === 'documents' && part) return memory.step_back(id, part as 'undo' | 'redo', body.base as number, 'office');
    if (area === 'documents') {
      const version = Number(url.searchParams.get('version')) || memory.document(id).trees.length;
      return { head: memory.head(id), version, tree: memory.document(id).trees[version - 1], format: 'toml' };
    }
    if (options.method === 'POST') return memory.append(id, null, body.entries as NewEntry[], 'bench');
    return memory.entries(id, Number(url.searchParams.get('after')), '');
  };
  if (part === 'draft') {
    drafts.push(body as unknown as DraftRequest);
    await new Promise<void>((go) => draft_answers.push(go));
    const { number } = body as unknown as DraftRequest;
    return new Response(`${JSON.stringify({ number, part: 'decay', provisional: true, decay: [{ hz: number }] })}\n`);
  }
  try {
    const result = made();
    if (lose_answers > 0 && options.method === 'POST') {
      --lose_answers;
      throw new TypeError('the answer was lost');
    }
    return Response.json(result);
  } catch (wrong) {
    if (wrong instanceof Refused) return Response.json(wrong.body, { status: wrong.status });
    throw wrong;
  }
}

const storage = new Map<string, string>();
const sources: Array<Record<string, (event: unknown) => void>> = [];
beforeEach(() => {
  vi.useFakeTimers();
  memory = new Memory();
  memory.create('room', 'job', { room: { height: 2480 }, pieces: [{ label: 'W1', x: 1 }, { label: 'W2', x: 2 }] }, '');
  gone = false;
  lose_answers = 0;
  drafts = [];
  draft_answers = [];
  storage.clear();
  vi.stubGlobal('fetch', answer);
  vi.stubGlobal('localStorage', {
    getItem: (key: string) => storage.get(key) ?? null,
    setItem: (key: string, value: string) => void storage.set(key, value),
    removeItem: (key: string) => void storage.delete(key),
  });
  vi.stubGlobal('EventSource', class {
    constructor() {
      sources.push({});
    }
    addEventListener(name: string, call: (event: unknown) => void): void {
      sources.at(-1)![name] = call;
    }
    close(): void {}
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

async function opened(): Promise<Desk> {
  const desk = new Desk('room');
  await desk.open();
  return desk;
}
const settle = (): Promise<unknown> => vi.advanceTimersByTimeAsync(10_000);
const others = (at: string, from: unknown, to: unknown): unknown =>
  memory.edit('room', { base: memory.document('room').trees.length, edits: [{ at, from, to }], token: Math.random().toString() }, 'bench');
const newest = (): unknown => memory.document('room').trees.at(-1);

describe('a desk', () => {
  it('shows an edit at once and saves it soon', async () => {
    const desk = await opened();
    desk.set('room.height', 2430);
    expect(desk.get('room.height')).toBe(2430);
    expect(desk.saved).toBe(false);
    await settle();
    expect(desk.saved).toBe(true);
    expect(newest()).toMatchObject({ room: { height: 2430 } });
    desk.close();
  });

  it('keeps what was changed without a network and sends it later, once', async () => {
    const desk = await opened();
    gone = true;
    desk.set('room.height', 2430);
    await settle();
    desk.set('pieces[0].x', 7);
    await settle();
    expect(desk.linked).toBe(false);
    expect(storage.size).toBe(1);
    gone = false;
    await settle();
    expect(desk.saved).toBe(true);
    expect(storage.size).toBe(0);
    expect(newest()).toMatchObject({ room: { height: 2430 }, pieces: [{ x: 7 }, { x: 2 }] });
    desk.close();
  });

  it('finds what another sitting left unsent', async () => {
    const first = await opened();
    gone = true;
    first.set('room.height', 2430);
    await settle();
    first.close();
    gone = false;
    const second = await opened();
    await settle();
    expect(newest()).toMatchObject({ room: { height: 2430 } });
    expect(second.saved).toBe(true);
    second.close();
  });

  it('sends what another sitting left unsent although others have written since', async () => {
    const first = await opened();
    gone = true;
    first.set('pieces[1].x', 9);
    await settle();
    first.close();
    memory.edit('room', { base: 1, edits: [{ at: 'pieces[0]', to: { label: 'W0', x: 0 } }], token: 'theirs' }, 'bench');
    gone = false;
    const second = await opened();
    await settle();
    expect(second.faults).toEqual([]);
    expect(newest()).toMatchObject({ pieces: [{ label: 'W0' }, { label: 'W1', x: 1 }, { label: 'W2', x: 9 }] });
    expect(second.tree).toEqual(newest());
    second.close();
  });

  it('writes once where the answer was lost and the write is sent again', async () => {
    const desk = await opened();
    lose_answers = 1;
    desk.commit([{ at: 'pieces[0]', to: { label: 'W0', x: 0 } }]);
    await settle();
    await settle();
    expect(desk.saved).toBe(true);
    expect((newest() as { pieces: unknown[] }).pieces).toHaveLength(3);
    expect(desk.tree).toEqual(newest());
    desk.close();
  });

  it('merges with what another wrote elsewhere, and follows the moved list', async () => {
    const desk = await opened();
    gone = true;
    desk.set('pieces[1].x', 9);
    await settle();
    memory.edit('room', { base: 1, edits: [{ at: 'pieces[0]', to: { label: 'W0', x: 0 } }], token: 'theirs' }, 'bench');
    gone = false;
    await settle();
    expect(desk.tree).toEqual({ room: { height: 2480 }, pieces: [{ label: 'W0', x: 0 }, { label: 'W1', x: 1 }, { label: 'W2', x: 9 }] });
    expect(desk.tree).toEqual(newest());
    desk.close();
  });

  it('shows both values where another changed the same thing, and saves the chosen one with all the rest', async () => {
    const desk = await opened();
    gone = true;
    desk.set('room.height', 2430);
    desk.set('pieces[0].x', 5);
    await settle();
    others('room.height', 2480, 2440);
    gone = false;
    await settle();
    expect(desk.refused?.conflicts).toEqual([{ at: 'room.height', was: 2480, now: 2440, mine: 2430 }]);
    expect(desk.get('room.height')).toBe(2440);
    desk.settle([true]);
    await settle();
    expect(newest()).toMatchObject({ room: { height: 2430 }, pieces: [{ x: 5 }, { x: 2 }] });
    desk.close();
  });

  it('takes back and makes again, each as a step of the history', async () => {
    const desk = await opened();
    desk.set('room.height', 2430);
    await settle();
    await desk.undo();
    await settle();
    expect(newest()).toMatchObject({ room: { height: 2480 } });
    expect(memory.document('room').steps.map((one) => one.kind)).toEqual(['created', 'edited', 'undone']);
    await desk.redo();
    await settle();
    expect(newest()).toMatchObject({ room: { height: 2430 } });
    expect(desk.tree).toEqual(newest());
    desk.close();
  });

  it('takes back its own step when another has written since, not theirs', async () => {
    const desk = await opened();
    desk.set('room.height', 2430);
    await settle();
    others('pieces[0].x', 1, 8);
    sources.at(-1)!.change!({ data: JSON.stringify(memory.changes.at(-1)) });
    await settle();
    await desk.undo();
    await settle();
    expect(newest()).toMatchObject({ room: { height: 2480 }, pieces: [{ x: 8 }, { x: 2 }] });
    desk.close();
  });

  it('tells what the program will not take, and drops nothing silently', async () => {
    const desk = await opened();
    others('pieces[1]', { label: 'W2', x: 2 }, undefined);
    desk.set('pieces[1].x', 3);
    await settle();
    expect(desk.refused?.conflicts).toEqual([{ at: 'pieces[1].x', was: 2, mine: 3 }]);
    desk.settle([true]);
    expect(desk.faults[0]).toMatchObject({ where: 'pieces[1].x', got: 3 });
    desk.close();
  });
});

describe('ticks', () => {
  it('of two people at once are all kept, and the newest says whether a step is done', async () => {
    const mine = new Journal('ticks', 'room');
    const theirs = new Journal('ticks', 'room');
    await mine.open();
    await theirs.open();
    mine.add('W1', { step: 'saw.1', done: true, at: '2026-11-27T10:00:00Z' });
    theirs.add('W2', { step: 'saw.2', done: true, at: '2026-11-27T10:00:00Z' });
    theirs.add('W1', { step: 'saw.1', done: false, at: '2026-11-27T10:00:05Z' });
    await settle();
    expect(memory.entries('ticks', 0, '')).toHaveLength(3);
    expect([...ticked(memory.entries('ticks', 0, ''), [])]).toEqual(['saw.2']);
    mine.close();
    theirs.close();
  });

  it('made without a network are kept, counted as done, and sent once', async () => {
    const journal = new Journal('ticks', 'room');
    await journal.open();
    gone = true;
    journal.add('W1', { step: 'saw.1', done: true, at: '2026-11-27T10:00:00Z' });
    await settle();
    expect(ticked(journal.entries, journal.waiting).has('saw.1')).toBe(true);
    gone = false;
    lose_answers = 1;
    await settle();
    await settle();
    expect(memory.entries('ticks', 0, '')).toHaveLength(1);
    expect(journal.waiting).toHaveLength(0);
    journal.close();
  });
});

describe('a trial', () => {
  it('asks one question at a time, and next the newest', async () => {
    const trial = new Trial('room');
    trial.ask(1, [{ at: 'x', to: 1 }]);
    trial.ask(1, [{ at: 'x', to: 2 }]);
    trial.ask(1, [{ at: 'x', to: 3 }]);
    await settle();
    expect(drafts).toHaveLength(1);
    draft_answers.shift()!();
    await settle();
    expect(trial.decay).toEqual([{ hz: 1 }]);
    expect(drafts.map((one) => one.edits[0]!.to)).toEqual([1, 3]);
    trial.end();
    draft_answers.shift()!();
    await settle();
    expect(trial.decay).toBeUndefined();
    expect(trial.running).toBe(false);
  });

  it('lets a newer question go first while the response is waited for, so that the decay follows the hand', async () => {
    const asked: number[] = [];
    vi.stubGlobal('fetch', async (_: string, options: RequestInit) => {
      const { number, edits } = JSON.parse(options.body as string) as DraftRequest;
      asked.push(edits[0]!.to as number);
      const stream = new ReadableStream({
        start(control) {
          control.enqueue(new TextEncoder().encode(`${JSON.stringify({ number, part: 'decay', provisional: false, decay: [{ hz: number }] })}\n`));
          options.signal!.addEventListener('abort', () => control.error(new Error('left')));
        },
      });
      return new Response(stream);
    });
    const trial = new Trial('room');
    trial.ask(1, [{ at: 'x', to: 1 }]);
    await vi.advanceTimersByTimeAsync(20);
    expect(trial.decay).toEqual([{ hz: 1 }]);
    trial.ask(1, [{ at: 'x', to: 2 }]);
    trial.ask(1, [{ at: 'x', to: 3 }]);
    await vi.advanceTimersByTimeAsync(100);
    expect(asked).toEqual([1]); // the response may still come
    await vi.advanceTimersByTimeAsync(200);
    expect(asked).toEqual([1, 3]);
    expect(trial.decay).toEqual([{ hz: 2 }]);
    trial.end();
    await settle();
    expect(trial.running).toBe(false);
  });
  it('gets the program ready for a piece without showing anything, and yields to a hand', async () => {
    const trial = new Trial('room');
    trial.expect(1, [{ at: 'x', to: 1 }]);
    await settle();
    trial.ask(1, [{ at: 'x', to: 2 }]);
    draft_answers.shift()!();
    await settle();
    expect(drafts.map((one) => one.edits[0]!.to)).toEqual([1, 2]);
    draft_answers.shift()!();
    await settle();
    expect(trial.decay).toEqual([{ hz: 2 }]);
    trial.end();
  });
});
