// Who this page is for the program: its role, whether it is paired, and whether a newer page waits.
import { get_state, when_unpaired } from '../api/client';
import { listen } from '../api/events';
import { forget_answers } from '../api/kept';
import type { State } from '../api/types';

export class Session {
  state = $state.raw<State>();
  unpaired = $state(false);
  silent = $state(false);
  /** a newer page, ready to take over */
  newer = $state.raw<ServiceWorker>();
  office = $derived(this.state?.role === 'office');

  constructor() {
    when_unpaired(() => {
      if (!this.unpaired) void forget_answers();
      this.unpaired = true;
    });
  }

  /** A device that is taken out loses its stream of events first, and learns by asking why. */
  follow(): () => void {
    return listen({ link: (here) => void (!here && !this.silent && this.ask()) });
  }
  async ask(): Promise<void> {
    try {
      this.state = await get_state();
      this.unpaired = this.silent = false;
    } catch {
      this.silent = !this.unpaired;
    }
  }

  /** Lets the page open without a network, where the browser allows it: at a secure address. */
  async keep_page(): Promise<void> {
    if (!globalThis.isSecureContext || !('serviceWorker' in navigator)) return;
    try {
      const kept = await navigator.serviceWorker.register('./worker.js');
      const look = (worker: ServiceWorker | null): void => {
        if (!worker) return;
        const ready = (): void => {
          if (worker.state === 'installed' && navigator.serviceWorker.controller) this.newer = worker;
        };
        worker.addEventListener('statechange', ready);
        ready();
      };
      look(kept.waiting ?? kept.installing);
      kept.addEventListener('updatefound', () => look(kept.installing));
    } catch {
      // no worker: the page needs the program to open, all else works
    }
  }
  take_newer(): void {
    navigator.serviceWorker.addEventListener('controllerchange', () => location.reload());
    this.newer?.postMessage('take over');
  }
}
