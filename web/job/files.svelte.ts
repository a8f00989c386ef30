// Photos and other files of one document. A photo taken without a network is kept in the browser's
// own store, shown from there, and sent when the network is back; each has a token, so that one whose
// answer was lost is stored once.
import { Refusal, fresh_token, get_files, put_file, remove_file } from '../api/client';
import { listen } from '../api/events';
import { in_store } from '../api/kept';
import type { FileNote, StoredFile } from '../api/types';

export interface WaitingFile {
  token: string;
  note: FileNote;
  bytes: Blob;
}

export class Files {
  stored = $state.raw<StoredFile[]>([]);
  waiting = $state.raw<WaitingFile[]>([]);
  /** why the newest one was refused; empty: it was not */
  refused = $state('');
  private busy = false;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private stop: () => void = () => {};

  constructor(readonly document: string) {}

  async open(): Promise<void> {
    this.stop = listen({
      change: (change) => void (change.topic === 'file' && this.read()),
      link: (here) => void (here && this.flush()),
    });
    const all = ((await in_store('files', 'readonly', (store) => store.getAll())) ?? []) as WaitingFile[];
    const known = new Set(this.waiting.map((one) => one.token));
    this.waiting = [...all.filter((one) => one.note.document === this.document && !known.has(one.token)), ...this.waiting];
    await this.read();
    void this.flush();
  }
  close(): void {
    clearTimeout(this.timer);
    this.stop();
  }

  add(bytes: Blob, note: Omit<FileNote, 'document'>): void {
    const one = { token: fresh_token(), note: { ...note, document: this.document }, bytes };
    this.waiting = [...this.waiting, one];
    void in_store('files', 'readwrite', (store) => store.put(one));
    void this.flush();
  }
  async remove(id: number): Promise<void> {
    await remove_file(id);
    await this.read();
  }
  private async read(): Promise<void> {
    try {
      this.stored = (await get_files(this.document)).filter((one) => !one.removed);
    } catch {
      // what is kept is shown; the next change asks again
    }
  }
  async flush(): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    clearTimeout(this.timer);
    while (this.waiting.length > 0) {
      const one = this.waiting[0]!;
      try {
        await put_file(one.note, one.bytes, one.token);
        this.refused = '';
      } catch (wrong) {
        if (!(wrong instanceof Refusal)) throw wrong;
        if (wrong.status === 0 || wrong.status >= 500 || wrong.status === 401) {
          this.timer = setTimeout(() => void this.flush(), 5000);
          break;
        }
        this.refused = `${one.note.name} was not taken: ${wrong.message}.`;
      }
      await in_store('files', 'readwrite', (store) => store.delete(one.token));
      this.waiting = this.waiting.filter((other) => other.token !== one.token);
      await this.read();
    }
    this.busy = false;
  }
}
