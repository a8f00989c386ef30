// The one stream of events that a page holds: what was written, by whomever, and how far long work
// has come. The browser reconnects by itself and says what it heard last.
import type { Change, Progress } from './types';

export interface Listener {
  change?: (change: Change) => void;
  progress?: (progress: Progress) => void;
  link?: (here: boolean) => void;
}

const listeners = new Set<Listener>();
let source: EventSource | undefined;
let again: ReturnType<typeof setTimeout> | undefined;

function open_stream(): void {
  source?.close();
  source = new EventSource('/api/events');
  source.addEventListener('open', () => listeners.forEach((one) => one.link?.(true)));
  source.addEventListener('error', () => {
    listeners.forEach((one) => one.link?.(false));
    if (source?.readyState === EventSource.CLOSED) again = setTimeout(open_stream, 3000); // refused: the browser itself gives up
  });
  source.addEventListener('change', (event) => {
    const change = JSON.parse((event as MessageEvent<string>).data) as Change;
    listeners.forEach((one) => one.change?.(change));
  });
  source.addEventListener('progress', (event) => {
    const progress = JSON.parse((event as MessageEvent<string>).data) as Progress;
    listeners.forEach((one) => one.progress?.(progress));
  });
}

/** Listens until the answer is called. */
export function listen(listener: Listener): () => void {
  listeners.add(listener);
  if (!source) open_stream();
  return () => {
    listeners.delete(listener);
    if (listeners.size > 0) return;
    clearTimeout(again);
    source?.close();
    source = undefined;
  };
}
