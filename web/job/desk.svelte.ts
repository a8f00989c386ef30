// One document, held once. Invariants: (1) `tree` is `confirmed` with the edits that are on their
// way and those that wait; (2) what waits is kept in the browser until the program has answered, so
// that nothing is lost while the network is gone; (3) one write is on its way at a time, and it is
// sent again with the same token until it is answered; (4) a refused write is never dropped without
// being shown.
import { Refusal, fresh_token, get_document, post_edits, post_undo } from '../api/client';
import { listen } from '../api/events';
import type { Complaint, Conflict, DocumentHead, Edit, Saved } from '../api/types';
import { apply, invert, put, rebase, value_at, type Json, type Tree } from './edits';

interface Write {
  token: string;
  base: number;
  note: string;
  edits: Edit[];
  steps: number;
}
interface Done {
  edits: Edit[];
  /** that the step led to, where it went alone and the document has not moved on */
  version: number;
}
export interface Refused {
  conflicts: Conflict[];
  saved: Saved;
  mine: Edit[];
}

const kept_key = (id: string): string => `roomwright.waiting.${id}`;

export class Desk {
  head = $state.raw<DocumentHead>();
  version = $state(0);
  confirmed = $state.raw<Tree>();
  waiting = $state.raw<Edit[]>([]);
  under_way = $state.raw<Write>();
  /** edits of a drag that has not ended */
  preview = $state.raw<Edit[]>([]);
  refused = $state.raw<Refused>();
  faults = $state.raw<Complaint[]>([]);
  linked = $state(true);
  done = $state.raw<Done[]>([]);
  undone = $state.raw<Done[]>([]);

  tree: Tree = $derived.by(() => {
    if (!this.confirmed) return {};
    return apply(this.confirmed, [...(this.under_way?.edits ?? []), ...this.waiting]);
  });
  /** with the drag's edits */
  shown: Tree = $derived(this.preview.length > 0 ? apply(this.tree, this.preview) : this.tree);
  saved = $derived(!this.under_way && this.waiting.length === 0);
  can_undo = $derived(this.done.length > 0 || (this.head?.can_undo ?? false));
  can_redo = $derived(this.undone.length > 0 || (this.head?.can_redo ?? false));

  private steps_waiting = 0;
  private note = '';
  private timer: ReturnType<typeof setTimeout> | undefined;
  private busy = false;
  /** the stream of events is broken: what others write is not heard */
  private away = false;
  private stop: () => void = () => {};

  constructor(readonly id: string) {}

  async open(): Promise<void> {
    const document = await get_document(this.id);
    this.take(document.head, document.version, document.tree as Tree);
    await this.bring_back();
    this.stop = listen({
      change: (change) => {
        if (change.topic === 'document' && change.id === this.id && change.version > this.version) void this.catch_up();
      },
      link: (here) => {
        if (here && this.away) void this.flush().then(() => this.catch_up());
        this.away = !here;
      },
    });
    const brought_back = !this.saved;
    void this.flush().then(() => (brought_back ? this.catch_up() : undefined));
  }
  close(): void {
    clearTimeout(this.timer);
    this.stop();
  }

  /** What another tab or a lost connection left unsent. Where others have written since, the document
   * is taken as it was then, and the program merges. */
  private async bring_back(): Promise<void> {
    const text = localStorage.getItem(kept_key(this.id));
    if (!text) return;
    const kept = JSON.parse(text) as { under_way?: Write; waiting: Edit[]; base?: number };
    try {
      const base = kept.under_way?.base ?? kept.base ?? this.version;
      if (base !== this.version) {
        const then = await get_document(this.id, base);
        this.take(then.head, base, then.tree as Tree);
      }
      apply(this.confirmed!, [...(kept.under_way?.edits ?? []), ...kept.waiting]);
      this.under_way = kept.under_way;
      this.waiting = kept.waiting;
      this.steps_waiting = kept.waiting.length;
    } catch (wrong) {
      const edits = [...(kept.under_way?.edits ?? []), ...kept.waiting];
      this.faults = edits.map((edit) => ({
        where: edit.at,
        what: 'was changed here while the network was gone, and could not be sent',
        got: edit.to,
        remedy: `make the change again where it is still wanted (${(wrong as Error).message})`,
      }));
      localStorage.removeItem(kept_key(this.id));
      await this.catch_up();
    }
  }

  private take(head: DocumentHead, version: number, tree: Tree): void {
    this.head = head;
    this.version = version;
    this.confirmed = tree;
  }
  private keep(): void {
    try {
      if (this.saved) localStorage.removeItem(kept_key(this.id));
      else localStorage.setItem(kept_key(this.id), JSON.stringify({ under_way: this.under_way, waiting: this.waiting, base: this.version }));
    } catch {
      // a browser without storage: what waits lives as long as the page
    }
  }

  /** Makes edits: seen at once, sent soon. One call is one step of undo. */
  commit(edits: Edit[], note = ''): void {
    this.preview = [];
    if (edits.length === 0) return;
    apply(this.tree, edits); // throws where one cannot be made
    this.done = [...this.done, { edits, version: 0 }];
    this.undone = [];
    this.add(edits, note);
  }
  /** Puts one value at one place. */
  set(at: string, to: Json | undefined, note = ''): void {
    this.commit(put(this.tree, at, to), note);
  }
  get(at: string): Json | undefined {
    return value_at(this.shown, at);
  }

  private add(edits: Edit[], note: string): void {
    this.waiting = [...this.waiting, ...edits];
    this.steps_waiting += 1;
    this.note = note;
    this.keep();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.flush(), 30);
  }

  async undo(): Promise<void> {
    const top = this.done.at(-1);
    if (!top) return void (await this.step_back('undo'));
    this.done = this.done.slice(0, -1);
    const edits = invert(top.edits);
    if (this.saved && top.version !== 0 && top.version === this.version && (await this.step_back('undo'))) {
      this.undone = [...this.undone, { edits: top.edits, version: 0 }];
      return;
    }
    try {
      apply(this.tree, edits);
    } catch {
      this.faults = [{ where: edits[0]!.at, what: 'was changed by someone else since; it cannot be undone here', got: undefined, remedy: 'look at the history' }];
      return;
    }
    this.undone = [...this.undone, { edits: top.edits, version: 0 }];
    this.add(edits, 'undo');
  }
  async redo(): Promise<void> {
    const top = this.undone.at(-1);
    if (!top) return void (await this.step_back('redo'));
    this.undone = this.undone.slice(0, -1);
    this.done = [...this.done, { edits: top.edits, version: 0 }];
    this.add(top.edits, 'redo');
  }
  private async step_back(way: 'undo' | 'redo'): Promise<boolean> {
    try {
      await post_undo(this.id, way, { base: this.version, token: fresh_token() });
      await this.catch_up();
      return true;
    } catch (wrong) {
      if (wrong instanceof Refusal && wrong.status === 409) await this.catch_up();
      return false;
    }
  }

  /** Others have written, and nothing of ours is on its way. */
  private async catch_up(): Promise<void> {
    if (!this.saved || this.busy) return;
    try {
      const document = await get_document(this.id);
      if (this.saved && document.version >= this.version)
        this.take(document.head, document.version, document.tree as Tree);
    } catch {
      // the next change will ask again
    }
  }

  /** Sends what waits, until nothing does. */
  async flush(): Promise<void> {
    if (this.busy || this.refused) return;
    this.busy = true;
    clearTimeout(this.timer);
    while (this.under_way || this.waiting.length > 0) {
      if (!this.under_way) {
        this.under_way = {
          token: fresh_token(), base: this.version, note: this.note, edits: this.waiting, steps: this.steps_waiting,
        };
        this.waiting = [];
        this.steps_waiting = 0;
        this.keep();
      }
      if (!(await this.send(this.under_way))) break;
    }
    this.busy = false;
    this.keep();
  }

  private async send(write: Write): Promise<boolean> {
    try {
      const { base, edits, note, token } = write;
      await this.written(write, await post_edits(this.id, { base, edits, note, token }));
      this.linked = true;
      return true;
    } catch (wrong) {
      if (!(wrong instanceof Refusal)) throw wrong;
      return this.not_written(write, wrong);
    }
  }

  private async written(write: Write, saved: Saved): Promise<void> {
    if (!saved.merged) {
      const tree = apply(this.confirmed!, write.edits);
      this.under_way = undefined;
      this.take({ ...this.head!, version: saved.version, can_undo: true, can_redo: false }, saved.version, tree);
      const top = this.done.at(-1);
      if (write.steps === 1 && this.waiting.length === 0 && top && top.version === 0)
        this.done = [...this.done.slice(0, -1), { ...top, version: saved.version }];
      return;
    }
    const document = await get_document(this.id, saved.version);
    const theirs = saved.since.flatMap((step) => step.edits);
    const met = rebase(this.waiting, rebase(theirs, write.edits).edits);
    this.under_way = undefined;
    this.take(document.head, document.version, document.tree as Tree);
    this.done = [];
    this.undone = [];
    if (met.conflicts.length > 0) {
      this.refused = { conflicts: met.conflicts, saved, mine: this.waiting };
      this.waiting = [];
    } else this.waiting = met.edits;
  }

  private async not_written(write: Write, refusal: Refusal): Promise<boolean> {
    if (refusal.status === 0 || refusal.status >= 500) {
      this.linked = false;
      this.timer = setTimeout(() => void this.flush(), 3000);
      return false;
    }
    this.linked = true;
    const mine = [...write.edits, ...this.waiting];
    const document = await get_document(this.id);
    this.under_way = undefined;
    this.waiting = [];
    this.done = [];
    this.undone = [];
    this.take(document.head, document.version, document.tree as Tree);
    if (refusal.status === 409) {
      const saved = refusal.answer as Saved;
      this.refused = { conflicts: saved.conflicts, saved, mine };
    } else this.faults = refusal.errors;
    return false;
  }

  /** Ends a conflict: for each, whether mine is put in the place of theirs. */
  settle(keep_mine: boolean[]): void {
    const refused = this.refused;
    this.refused = undefined;
    if (!refused) return;
    const at_odds = new Set(refused.conflicts.map((one) => one.at));
    const theirs = refused.saved.since.flatMap((step) => step.edits);
    let edits = rebase(refused.mine.filter((edit) => !at_odds.has(edit.at)), theirs).edits;
    refused.conflicts.forEach((one, i) => {
      if (keep_mine[i]) edits = [...edits, ...put(this.tree, one.at, one.mine as Json | undefined)];
    });
    const makeable: Edit[] = [];
    for (const edit of edits) {
      try {
        apply(this.tree, [...makeable, edit]);
        makeable.push(edit);
      } catch {
        this.faults = [...this.faults, { where: edit.at, what: 'could not be changed any more', got: edit.to, remedy: 'make the change again where it is still wanted' }];
      }
    }
    this.commit(makeable, 'after a conflict');
    void this.flush();
  }
}
