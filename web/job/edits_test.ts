// Edits and their inverses, on any tree; and two people's edits meeting.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Edit } from '../api/types';
import { apply, invert, place_text, put, read_place, rebase, value_at, type Json, type Place, type Tree } from './edits';

const leaf = fc.oneof(fc.integer(), fc.string(), fc.boolean());
const { tree: any_tree } = fc.letrec<{ tree: Json; value: Json }>((tie) => ({
  value: fc.oneof(
    { depthSize: 'small' },
    leaf,
    fc.array(tie('value'), { maxLength: 4 }),
    tie('tree'),
  ),
  tree: fc.dictionary(fc.oneof(fc.constantFrom('a', 'b', 'room'), fc.string({ minLength: 1 })), tie('value'), { maxKeys: 4 })
    .map((made) => ({ ...made })),
}));

function places_of(tree: Json, front: Place = []): Place[] {
  if (tree === null || typeof tree !== 'object') return [front];
  const below = Array.isArray(tree)
    ? tree.flatMap((one, i) => places_of(one, [...front, i]))
    : Object.keys(tree).filter((key) => key !== '__proto__').flatMap((key) => places_of(tree[key]!, [...front, key]));
  return [front, ...below];
}

/** An edit that can be made on the tree, by two numbers that choose. */
function some_edit(tree: Tree, which: number, how: number, value: Json): Edit {
  const places = places_of(tree).filter((place) => place.length > 0);
  if (places.length === 0) return { at: 'fresh', to: value };
  const place = places[which % places.length]!;
  const there = value_at(tree, place)!;
  const at = place_text(place);
  if (how % 3 === 0) return { at, from: there, to: value };
  if (how % 3 === 1) return { at, from: there };
  if (typeof place[place.length - 1] === 'number') return { at, to: value };
  return { at: place_text([...place.slice(0, -1), 'quite new']), to: value };
}

const choices = fc.array(fc.tuple(fc.nat(), fc.nat(), leaf), { minLength: 1, maxLength: 6 });
function edits_for(tree: Tree, picks: Array<[number, number, Json]>): Edit[] {
  const out: Edit[] = [];
  let now = tree;
  for (const [which, how, value] of picks) {
    const edit = some_edit(now, which, how, value);
    if (value_at(now, edit.at) !== undefined && edit.from === undefined && typeof read_place(edit.at).at(-1) === 'string') continue;
    out.push(edit);
    now = apply(now, [edit]);
  }
  return out;
}

describe('edits', () => {
  it('and their inverses leave any tree as it was', () => {
    fc.assert(fc.property(any_tree, choices, (tree, picks) => {
      const edits = edits_for(tree as Tree, picks);
      expect(apply(apply(tree as Tree, edits), invert(edits))).toEqual(tree);
    }), { numRuns: 300 });
  });
  it('name places of any keys', () => {
    const step = fc.oneof(fc.string({ minLength: 1 }), fc.nat(1000));
    fc.assert(fc.property(fc.string({ minLength: 1 }), fc.array(step, { maxLength: 4 }), (first, rest) => {
      expect(read_place(place_text([first, ...rest]))).toEqual([first, ...rest]);
    }));
  });
  it('leave the tree that they were made on alone', () => {
    const tree: Tree = { pieces: [{ label: 'W1', from: [900, 700] }] };
    const after = apply(tree, [{ at: 'pieces[0].from', from: [900, 700], to: [950, 700] }]);
    expect(tree).toEqual({ pieces: [{ label: 'W1', from: [900, 700] }] });
    expect(value_at(after, 'pieces[0].from')).toEqual([950, 700]);
  });
  it('refuse a value that is not the one named', () => {
    expect(() => apply({ height: 2 }, [{ at: 'height', from: 3, to: 4 }])).toThrow('height');
    expect(() => apply({ height: 2 }, [{ at: 'room.height', from: 3, to: 4 }])).toThrow('not there');
  });
  it('are none where a value already stands', () => {
    expect(put({ a: [1, { b: 2 }] }, 'a[1]', { b: 2 })).toEqual([]);
    expect(put({ a: 1 }, 'c', 2)).toEqual([{ at: 'c', to: 2 }]);
  });
  it('make the tables that a place needs', () => {
    const edits = put({ a: 1 }, 'times.each.cut', 2);
    expect(edits).toEqual([{ at: 'times', to: { each: { cut: 2 } } }]);
    expect(apply({ a: 1 }, edits)).toEqual({ a: 1, times: { each: { cut: 2 } } });
    expect(put({ times: {} }, 'times.each.cut', 2)).toEqual([{ at: 'times.each', to: { cut: 2 } }]);
    expect(put({ a: 1 }, 'times.each.cut', undefined)).toEqual([]);
  });
});

describe('rebase', () => {
  const list: Tree = { pieces: [{ label: 'a', x: 0 }, { label: 'b', x: 0 }, { label: 'c', x: 0 }], room: { height: 5 } };
  it('moves an edit along with the list', () => {
    const mine: Edit[] = [{ at: 'pieces[2].x', from: 0, to: 9 }];
    const theirs: Edit[] = [{ at: 'pieces[0]', from: { label: 'a', x: 0 } }];
    expect(rebase(mine, theirs)).toEqual({ edits: [{ at: 'pieces[1].x', from: 0, to: 9 }], conflicts: [] });
  });
  it('of different places gives one tree in either order', () => {
    const mine: Edit[] = [{ at: 'pieces[1]', to: { label: 'm' } }, { at: 'pieces[1].label', from: 'm', to: 'n' }];
    const theirs: Edit[] = [{ at: 'pieces[3]', to: { label: 't' } }, { at: 'room.height', from: 5, to: 6 }];
    const one = apply(apply(list, theirs), rebase(mine, theirs).edits);
    const two = apply(apply(list, mine), rebase(theirs, mine).edits);
    expect(one).toEqual(two);
  });
  it('tells both values where one place was changed twice', () => {
    const { conflicts } = rebase([{ at: 'room.height', from: 5, to: 7 }], [{ at: 'room.height', from: 5, to: 6 }]);
    expect(conflicts).toEqual([{ at: 'room.height', was: 5, now: 6, mine: 7 }]);
  });
  it('finds a place and what contains it at odds', () => {
    const { conflicts } = rebase([{ at: 'pieces[1].x', from: 0, to: 3 }], [{ at: 'pieces[1]', from: { label: 'b', x: 0 } }]);
    expect(conflicts).toHaveLength(1);
    expect(conflicts[0]).not.toHaveProperty('now');
  });
  it('makes the same change once', () => {
    const same_edit: Edit[] = [{ at: 'room.height', from: 5, to: 6 }];
    expect(rebase(same_edit, same_edit)).toEqual({ edits: [], conflicts: [] });
  });
});
