// What would be, while a finger is down. One question is under way at a time; the newest that came
// meanwhile is asked next, the others are never asked.
import { draft, fresh_token } from '../api/client';
import type { Bass, DecayRow, Edit, PieceRow, Statement } from '../api/types';

interface Question {
  base: number;
  edits: Edit[];
}

export class Trial {
  decay = $state.raw<DecayRow[]>();
  bass = $state.raw<Bass>();
  pieces = $state.raw<PieceRow[]>();
  statements = $state.raw<Statement[]>();
  running = $state(false);
  private readonly page = fresh_token();
  private number = 0;
  private next: Question | undefined;
  private stop = new AbortController();

  constructor(readonly id: string) {}

  ask(base: number, edits: Edit[]): void {
    this.next = { base, edits };
    if (!this.running) void this.run();
  }
  /** The drag has ended: figures that were on trial go. */
  end(): void {
    this.next = undefined;
    this.stop.abort();
    this.decay = this.bass = this.pieces = this.statements = undefined;
  }

  private async run(): Promise<void> {
    this.running = true;
    while (this.next) {
      const { base, edits } = this.next;
      this.next = undefined;
      const stop = (this.stop = new AbortController());
      const number = ++this.number;
      try {
        await draft(this.id, { page: this.page, number, base, edits }, (part) => {
          if (stop.signal.aborted || part.number !== this.number) return;
          this.decay = part.decay ?? this.decay;
          // a field that was left out of this run says nothing: the curve of the last save stays
          if (part.bass && part.bass.levels.length > 0) this.bass = part.bass;
          this.pieces = part.pieces ?? this.pieces;
          this.statements = part.statements ?? this.statements;
        }, stop.signal);
      } catch {
        // ended, or nothing answers: the figures of the last save stay
      }
    }
    this.running = false;
  }
}
