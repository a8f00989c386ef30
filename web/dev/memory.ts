// Documents and journals of the stand-in, in memory: what src/app/store keeps on disk. For
// development and tests only.
import type { Change, DocumentHead, Edit, EditsRequest, Entry, NewEntry, Saved, Step } from '../api/types';
import { apply, invert, rebase, type Tree } from '../job/edits';

export class Refused extends Error {
  constructor(readonly status: number, readonly body: unknown) {
    super(String(status));
  }
}
export const complain = (status: number, where: string, what: string, remedy = ''): Refused =>
  new Refused(status, { errors: [{ where, what, got: null, remedy }] });
export const now = (): string => new Date().toISOString().replace(/\.\d+Z/, 'Z');

export interface Kept {
  kind: string;
  /** trees[k] is version k + 1 */
  trees: Tree[];
  steps: Step[];
  undoable: number[];
  redoable: number[];
  tokens: Map<string, Saved>;
}

export class Memory {
  readonly documents = new Map<string, Kept>();
  readonly changes: Change[] = [];
  private readonly journals = new Map<string, { entries: Entry[]; tokens: Set<string> }>();
  sequence = 0;

  constructor(private readonly told: (change: Change) => void = () => {}) {}

  tell(topic: string, id: string, version: number): number {
    const change = { sequence: ++this.sequence, topic, id, version };
    this.changes.push(change);
    this.told(change);
    return this.sequence;
  }

  document(id: string): Kept {
    const found = this.documents.get(id);
    if (!found) throw complain(404, id, 'is not a document here', 'look at the list of jobs');
    return found;
  }

  create(id: string, kind: string, tree: Tree, note: string): Saved {
    const step: Step = {
      version: 1, sequence: 0, kind: 'created', of: 0, who: 'office', when: now(), note, edits: [], layout_kept: true,
    };
    this.documents.set(id, { kind, trees: [tree], steps: [step], undoable: [], redoable: [], tokens: new Map() });
    step.sequence = this.tell('document', id, 1);
    return { version: 1, sequence: step.sequence, merged: false, layout_kept: true, conflicts: [], since: [] };
  }

  head(id: string): DocumentHead {
    const { kind, steps, undoable, redoable } = this.document(id);
    const newest = steps.at(-1)!;
    return {
      id, kind, version: newest.version, removed: false, erased: false, can_undo: undoable.length > 0,
      can_redo: redoable.length > 0, who: newest.who, when: newest.when,
    };
  }

  private step(id: string, edits: Edit[], kind: Step['kind'], of: number, who: string, note: string, base: number): Saved {
    const one = this.document(id);
    const since = one.steps.filter((step) => step.version > base);
    const theirs = since.flatMap((step) => step.edits);
    const met = theirs.length > 0 ? rebase(edits, theirs) : { edits, conflicts: [] };
    const version = one.trees.length;
    if (met.conflicts.length > 0)
      throw new Refused(409, { version, sequence: 0, merged: false, layout_kept: true, conflicts: met.conflicts, since });
    let tree: Tree;
    try {
      tree = apply(one.trees.at(-1)!, met.edits);
    } catch (wrong) {
      throw complain(422, edits[0]?.at ?? '', (wrong as Error).message, 'read the document again');
    }
    one.trees.push(tree);
    const made: Step = {
      version: version + 1, sequence: 0, kind, of, who, when: now(), note, edits: met.edits, layout_kept: true,
    };
    one.steps.push(made);
    made.sequence = this.tell('document', id, made.version);
    return { version: made.version, sequence: made.sequence, merged: theirs.length > 0, layout_kept: true, conflicts: [], since };
  }

  edit(id: string, request: EditsRequest, who: string): Saved {
    const one = this.document(id);
    const before = one.tokens.get(request.token);
    if (before) return before;
    const saved = this.step(id, request.edits, 'edited', 0, who, request.note ?? '', request.base);
    one.undoable.push(saved.version);
    one.redoable = [];
    one.tokens.set(request.token, saved);
    return saved;
  }

  step_back(id: string, way: 'undo' | 'redo', base: number, who: string): Saved {
    const one = this.document(id);
    if (base !== one.trees.length)
      throw new Refused(409, {
        version: one.trees.length, sequence: 0, merged: false, layout_kept: true, conflicts: [],
        since: one.steps.filter((step) => step.version > base),
      });
    const of = (way === 'undo' ? one.undoable : one.redoable).pop();
    if (of === undefined) throw complain(422, id, `has nothing to ${way}`);
    const { edits } = one.steps[of - 1]!;
    const saved = this.step(id, way === 'undo' ? invert(edits) : edits, way === 'undo' ? 'undone' : 'redone', of, who, '', base);
    (way === 'undo' ? one.redoable : one.undoable).push(way === 'undo' ? of : saved.version);
    return saved;
  }

  entries(name: string, after: number, document: string): Entry[] {
    return (this.journals.get(name)?.entries ?? []).filter((one) => one.number > after && (!document || one.document === document));
  }
  append(name: string, expected: number | null, entries: NewEntry[], who: string): { refused: boolean; last: number; sequence: number } {
    const journal = this.journals.get(name) ?? { entries: [], tokens: new Set<string>() };
    this.journals.set(name, journal);
    const last = journal.entries.length;
    if (expected !== null && expected !== last) throw new Refused(409, { refused: true, last, sequence: 0 });
    for (const { subject, document, body, token } of entries) {
      if (journal.tokens.has(token)) continue;
      journal.tokens.add(token);
      const number = journal.entries.length + 1;
      journal.entries.push({ number, subject, document, body, who, when: now(), sequence: this.tell(name, subject, 0) });
    }
    return { refused: false, last: journal.entries.length, sequence: this.sequence };
  }
}
