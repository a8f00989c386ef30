// One open job: its document, the shop's, what the stages found, what is on trial, the bench's
// ticks and times, and what is selected in every picture at once.
import { Refusal, get_library } from '../api/client';
import type { Library } from '../api/types';
import { place_text, value_at } from './edits';
import { Desk } from './desk.svelte';
import { Files } from './files.svelte';
import { Leaving } from './leaving.svelte';
import { Journal } from './outbox.svelte';
import { Results } from './results.svelte';
import { ticked } from './ticks';
import { Trial } from './trial.svelte';

export type Selection =
  | { kind: 'piece' | 'loudspeaker' | 'seat' | 'feature' | 'furniture' | 'corner'; index: number }
  | { kind: 'surface'; name: string }
  | { kind: 'finding'; topic: string; index: number }
  | undefined;

export class OpenJob {
  readonly desk: Desk;
  readonly results: Results;
  readonly trial: Trial;
  readonly ticks: Journal;
  readonly times: Journal;
  readonly notes: Journal;
  readonly files: Files;
  readonly leaving: Leaving;
  shop = $state.raw<Desk>();
  library = $state.raw<Library>({ materials: [], uses: [], books: [] });
  selected = $state.raw<Selection>();
  missing = $state('');
  /** the document and the shop's are there */
  ready = $state(false);
  ticked = $derived.by(() => ticked(this.ticks.entries, this.ticks.waiting));

  constructor(readonly id: string) {
    this.desk = new Desk(id);
    this.results = new Results(id);
    this.trial = new Trial(id);
    this.ticks = new Journal('ticks', id);
    this.times = new Journal('time', id);
    this.notes = new Journal('notes', id);
    this.files = new Files(id);
    this.leaving = new Leaving(id);
  }

  async open(): Promise<void> {
    this.results.open();
    try {
      await this.desk.open();
      const name = this.desk.confirmed?.shop;
      if (typeof name === 'string') {
        const shop = new Desk(name);
        try {
          await shop.open();
          this.shop = shop;
        } catch (wrong) {
          if (!(wrong instanceof Refusal) || (wrong.status !== 403 && wrong.status !== 404)) throw wrong; // a bench device sees no price book
        }
      }
      this.ready = true;
      this.library = await get_library();
    } catch (wrong) {
      if (!(wrong instanceof Refusal)) throw wrong;
      this.missing = wrong.message;
    }
    await Promise.all([this.ticks.open(), this.times.open(), this.notes.open(), this.files.open(), this.leaving.open()]);
  }
  close(): void {
    [this.desk, this.shop, this.results, this.ticks, this.times, this.notes, this.files, this.leaving].forEach((one) => one?.close());
    this.trial.end();
  }

  /** What the shop calls a thing, by its table and key. */
  name_of(table: string, key: string): string {
    const name = value_at(this.shop?.shown ?? {}, place_text([table, key, 'name']));
    return typeof name === 'string' ? name : key.replaceAll('_', ' ');
  }

  /** A step of the work is done: it is ticked, or its piece has passed. */
  done(step: { key: string; piece: string; looked_at?: boolean }): boolean {
    return step.looked_at ? this.leaving.passed.has(step.piece) : this.ticked.has(step.key);
  }
  tick(step: string, done: boolean, piece = ''): void {
    this.ticks.add(piece, { step, done, at: new Date().toISOString() });
  }
}
