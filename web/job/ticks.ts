// What a journal's ticks say.
import type { Entry, NewEntry, Tick } from '../api/types';

/** Which steps are ticked: by the newest entry of each, by the clocks of those who ticked; what
 * waits here is counted in. */
export function ticked(entries: Entry[], waiting: NewEntry[]): Set<string> {
  const newest = new Map<string, Tick>();
  for (const { body } of [...entries, ...waiting]) {
    const tick = body as unknown as Tick;
    const before = newest.get(tick.step);
    if (!before || tick.at >= before.at) newest.set(tick.step, tick);
  }
  return new Set([...newest.values()].filter((one) => one.done).map((one) => one.step));
}
