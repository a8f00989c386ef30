// Journal entries on their way: ticks and times from the bench and the site. Each entry has a token
// and is kept in the browser until the program has answered; sent twice, it is written once. Two
// people's entries never replace each other: the state of a step is what its newest entry says.
import { Refusal, append_entries, fresh_token, get_entries } from '../api/client';
import { listen } from '../api/events';
import type { Entry, NewEntry } from '../api/types';

export class Journal {
  entries = $state.raw<Entry[]>([]);
  waiting = $state.raw<NewEntry[]>([]);
  linked = $state(true);
  /** why the newest one that was refused was; what is refused is not sent again */
  refused = $state('');
  private busy = false;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private stop: () => void = () => {};
  private readonly key: string;

  constructor(readonly name: string, readonly document: string) {
    this.key = `roomwright.outbox.${name}.${document}`;
  }

  async open(): Promise<void> {
    this.waiting = JSON.parse(localStorage.getItem(this.key) ?? '[]') as NewEntry[];
    this.stop = listen({
      change: (change) => void (change.topic === this.name && this.read_on()),
      link: (here) => void (here && this.flush()),
    });
    await this.read_on();
    void this.flush();
  }
  close(): void {
    clearTimeout(this.timer);
    this.stop();
  }

  add(subject: string, body: Record<string, unknown>): void {
    this.waiting = [...this.waiting, { subject, document: this.document, body, token: fresh_token() }];
    this.refused = '';
    this.keep();
    void this.flush();
  }
  private keep(): void {
    try {
      localStorage.setItem(this.key, JSON.stringify(this.waiting));
    } catch {
      // a browser without storage: what waits lives as long as the page
    }
  }
  private async read_on(): Promise<void> {
    try {
      const after = this.entries.at(-1)?.number ?? 0;
      const more = await get_entries(this.name, after, this.document);
      const known = new Set(this.entries.map((one) => one.number));
      this.entries = [...this.entries, ...more.filter((one) => !known.has(one.number))];
      this.linked = true;
    } catch {
      this.linked = false;
    }
  }
  async flush(): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    let alone = false;
    while (this.waiting.length > 0) {
      const batch = alone ? this.waiting.slice(0, 1) : this.waiting;
      try {
        await append_entries(this.name, { expected: null, entries: batch });
        const sent = new Set(batch.map((one) => one.token));
        await this.read_on();
        this.waiting = this.waiting.filter((one) => !sent.has(one.token));
        this.keep();
        this.linked = true;
      } catch (wrong) {
        if (!(wrong instanceof Refusal)) throw wrong;
        if (wrong.status === 400 || wrong.status === 404 || wrong.status === 422) {
          // one of them cannot be: which one it is shows when they are sent one by one
          if (alone || batch.length === 1) {
            this.refused = wrong.errors.map((one) => `${one.where.replace(/^.*\.body\.?/, '')} ${one.what}${one.remedy ? `; ${one.remedy}` : ''}.`).join(' ') || wrong.message;
            this.waiting = this.waiting.filter((one) => one.token !== batch[0]!.token);
            this.keep();
          }
          alone = this.waiting.length > 1;
          continue;
        }
        this.linked = false;
        this.timer = setTimeout(() => void this.flush(), 3000);
        break;
      }
    }
    this.busy = false;
  }
}
