// Edits: a change of a document as data with an inverse; the page's side of src/job/edits. An edit
// names a place in the tree, what stood there (`from`) and what shall stand there (`to`); a missing
// one means that nothing is there. Trees are never altered: what changes is made anew, the rest is
// shared.
import type { Conflict, Edit } from '../api/types';

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type Tree = { [key: string]: Json };
export type Place = Array<string | number>;

/** `pieces[3].from` → ['pieces', 3, 'from'] */
export function read_place(text: string): Place {
  const out: Place = [];
  const step = /\[(\d+)\]|(?:^|\.)(?:([A-Za-z0-9_-]+)|("(?:[^"\\]|\\.)*"))/y;
  while (step.lastIndex < text.length) {
    const found = step.exec(text);
    if (!found || (found[1] !== undefined && out.length === 0)) throw new Error(`no place: ${text}`);
    out.push(found[1] !== undefined ? Number(found[1]) : (found[2] ?? (JSON.parse(found[3]!) as string)));
  }
  if (out.length === 0) throw new Error('no place: it is empty');
  return out;
}

export function place_text(place: Place): string {
  let out = '';
  for (const step of place) {
    if (typeof step === 'number') out += `[${step}]`;
    else out += (out ? '.' : '') + (/^[A-Za-z0-9_-]+$/.test(step) ? step : JSON.stringify(step));
  }
  return out;
}

/** The value at a place; undefined where it is not there. */
export function value_at(tree: Json, place: Place | string): Json | undefined {
  let at: Json | undefined = tree;
  for (const step of typeof place === 'string' ? read_place(place) : place) {
    if (at === null || typeof at !== 'object') return undefined;
    if (typeof step === 'number') at = Array.isArray(at) ? at[step] : undefined;
    else at = !Array.isArray(at) && Object.hasOwn(at, step) ? at[step] : undefined;
    if (at === undefined) return undefined;
  }
  return at;
}

export function same(a: Json | undefined, b: Json | undefined): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (Array.isArray(a) || Array.isArray(b))
    return Array.isArray(a) && Array.isArray(b) && a.length === b.length && a.every((one, i) => same(one, b[i]));
  const keys = Object.keys(a);
  return keys.length === Object.keys(b).length && keys.every((key) => Object.hasOwn(b, key) && same(a[key], b[key]));
}

function refuse(edit: Edit, what: string): never {
  throw new Error(`${edit.at} ${what}`);
}

function changed(tree: Json, place: Place, edit: Edit): Json {
  const step = place[0]!;
  const from = edit.from as Json | undefined;
  const to = edit.to as Json | undefined;
  if (tree === null || typeof tree !== 'object') return refuse(edit, 'is not there');
  if (typeof step === 'number') {
    if (!Array.isArray(tree)) return refuse(edit, 'is not there');
    if (place.length > 1) {
      if (step >= tree.length) return refuse(edit, 'is not there');
      return tree.with(step, changed(tree[step]!, place.slice(1), edit));
    }
    if (from === undefined) {
      if (step > tree.length) return refuse(edit, 'is not there');
      return tree.toSpliced(step, 0, to!);
    }
    if (!same(tree[step], from)) return refuse(edit, 'is not what the edit says it was');
    return to === undefined ? tree.toSpliced(step, 1) : tree.with(step, to);
  }
  if (Array.isArray(tree)) return refuse(edit, 'is not there');
  const there = Object.hasOwn(tree, step) ? tree[step] : undefined;
  if (place.length > 1) {
    if (there === undefined) return refuse(edit, 'is not there');
    return { ...tree, [step]: changed(there, place.slice(1), edit) };
  }
  if (!same(there, from)) return refuse(edit, 'is not what the edit says it was');
  if (to !== undefined) return { ...tree, [step]: to };
  const rest = { ...tree };
  delete rest[step];
  return rest;
}

/** Makes the changes in order. Throws where one cannot be made; the tree is untouched in any case. */
export function apply(tree: Tree, edits: Edit[]): Tree {
  let out: Json = tree;
  for (const edit of edits) {
    if (edit.from === undefined && edit.to === undefined) refuse(edit, 'changes nothing');
    out = changed(out, read_place(edit.at), edit);
  }
  return out as Tree;
}

/** apply(apply(tree, edits), invert(edits)) is the tree again */
export function invert(edits: Edit[]): Edit[] {
  return edits.toReversed().map(({ at, from, to }) => {
    const back: Edit = { at };
    if (to !== undefined) back.from = to;
    if (from !== undefined) back.to = from;
    return back;
  });
}

/** The edit that puts a value at a place (undefined takes it away), or none where it stands there.
 * Tables that the place needs and that are not there are made. */
export function put(tree: Tree, at: string, to: Json | undefined): Edit[] {
  const from = value_at(tree, at);
  if (same(from, to)) return [];
  const place = read_place(at);
  let known = place.length - 1;
  while (known > 0 && value_at(tree, place.slice(0, known)) === undefined) --known;
  const tables = place.slice(known).every((step) => typeof step === 'string'); // a list's element is nobody's to invent
  if (from === undefined && to !== undefined && known < place.length - 1 && tables) {
    const made = place.slice(known + 1).reduceRight<Json>((inner, step) => ({ [step]: inner }), to);
    return [{ at: place_text(place.slice(0, known + 1)), to: made }];
  }
  const edit: Edit = { at };
  if (from !== undefined) edit.from = from;
  if (to !== undefined) edit.to = to;
  return [edit];
}

// ---- two people's edits meet ------------------------------------------------------------------

interface Moved {
  edit: Edit;
  place: Place;
  gone: boolean;
}
const last = (one: Moved): string | number => one.place[one.place.length - 1]!;
const puts_in = (one: Moved): boolean => typeof last(one) === 'number' && one.edit.from === undefined;
const takes_out = (one: Moved): boolean => typeof last(one) === 'number' && one.edit.to === undefined;
const starts_with = (place: Place, front: Place): boolean =>
  front.length <= place.length && front.every((step, i) => place[i] === step);

function covers(cover: Moved, other: Moved): boolean {
  if (puts_in(cover) || !starts_with(other.place, cover.place)) return false;
  return !puts_in(other) || other.place.length > cover.place.length;
}

/** Moves `one` along with the list that `over` made longer or shorter. */
function move_over(one: Moved, over: Moved, yields: boolean): void {
  if (over.gone || !(puts_in(over) || takes_out(over))) return;
  const level = over.place.length - 1;
  if (one.place.length <= level || !starts_with(one.place, over.place.slice(0, level))) return;
  const step = one.place[level]!;
  if (typeof step !== 'number') return;
  const at = last(over) as number;
  const point = puts_in(one) && one.place.length === level + 1;
  let moved = step;
  if (takes_out(over)) moved -= step > at ? 1 : 0;
  else if (step > at || (step === at && (!point || yields))) ++moved;
  one.place = one.place.with(level, moved);
}

function value_after(mine: Moved, theirs: Moved): Json | undefined {
  if (starts_with(mine.place, theirs.place)) {
    if (theirs.edit.to === undefined) return undefined;
    return value_at(theirs.edit.to as Json, mine.place.slice(theirs.place.length));
  }
  if (mine.edit.from === undefined) return undefined;
  const below = theirs.place.slice(mine.place.length);
  try {
    const wrapped = apply({ v: mine.edit.from as Json }, [{ ...theirs.edit, at: place_text(['v', ...below]) }]);
    return wrapped.v;
  } catch {
    return mine.edit.from as Json;
  }
}

/** Mine and theirs were both made on the same tree and theirs went first. */
export function rebase(mine: Edit[], theirs: Edit[]): { edits: Edit[]; conflicts: Conflict[] } {
  const place_all = (edits: Edit[]): Moved[] =>
    edits.map((edit) => ({ edit, place: read_place(edit.at), gone: false }));
  const my = place_all(mine);
  const other = place_all(theirs);
  const edits: Edit[] = [];
  const conflicts: Conflict[] = [];
  for (const one of my) {
    for (const their of other) {
      if (one.gone || their.gone) continue;
      if (covers(one, their) || covers(their, one)) {
        if (place_text(one.place) === place_text(their.place) && !puts_in(one) && same(one.edit.to as Json, their.edit.to as Json)) {
          one.gone = their.gone = true;
          break;
        }
        const conflict: Conflict = { at: one.edit.at };
        const now = value_after(one, their);
        if (one.edit.from !== undefined) conflict.was = one.edit.from;
        if (now !== undefined) conflict.now = now;
        if (one.edit.to !== undefined) conflict.mine = one.edit.to;
        conflicts.push(conflict);
        break;
      }
      const before = { ...one };
      move_over(one, their, true);
      move_over(their, before, false);
    }
    if (!one.gone) edits.push({ ...one.edit, at: place_text(one.place) });
  }
  return conflicts.length > 0 ? { edits: mine, conflicts } : { edits, conflicts };
}
