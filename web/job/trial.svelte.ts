// What would be, while a finger is down. One question is under way at a time; the newest that came
// meanwhile is asked next, the others are never asked. The decay comes at once, the response once the
// program has picked the piece up: while it still does, a newer question takes the place of the one
// that waits, so that the decay goes on following the hand.
import { draft, fresh_token } from '../api/client';
import type { Bass, DecayRow, Edit, PieceRow, Statement } from '../api/types';

interface Question {
  base: number;
  edits: Edit[];
  /** its answer is shown; else it only tells the program which piece is likely to be moved */
  shown: boolean;
}
/** how long a response may take before a newer question goes first */
const patience_ms = 150;

export class Trial {
  decay = $state.raw<DecayRow[]>();
  bass = $state.raw<Bass>();
  pieces = $state.raw<PieceRow[]>();
  statements = $state.raw<Statement[]>();
  /** why the response is a quicker and less exact one, or is not there yet */
  note = $state('');
  running = $state(false);
  private readonly page = fresh_token();
  private number = 0;
  private next: Question | undefined;
  private told_decay: number | undefined;
  private under_way: Question | undefined;
  private stop = new AbortController();
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(readonly id: string) {}

  ask(base: number, edits: Edit[]): void {
    this.next = { base, edits, shown: true };
    if (!this.running) void this.run();
    else this.hurry();
  }
  /** A piece was selected: the program may get ready to hear it moved. */
  expect(base: number, edits: Edit[]): void {
    if (this.running) return;
    this.next = { base, edits, shown: false };
    void this.run();
  }
  /** The drag has ended: figures that were on trial go. */
  end(): void {
    this.next = undefined;
    clearTimeout(this.timer);
    this.stop.abort();
    this.decay = this.bass = this.pieces = this.statements = undefined;
    this.note = '';
  }

  /** Lets a newer question go first where the one under way has told its decay and waits for more. */
  private hurry(): void {
    if (!this.next || this.timer !== undefined) return;
    if (this.under_way && !this.under_way.shown) return this.stop.abort();
    if (this.told_decay === undefined) return;
    const since = performance.now() - this.told_decay;
    const { stop } = this;
    this.timer = setTimeout(() => {
      this.timer = undefined;
      if (this.next) stop.abort();
    }, Math.max(0, patience_ms - since));
  }

  private async run(): Promise<void> {
    this.running = true;
    while (this.next) {
      const question = this.next;
      const { base, edits, shown } = question;
      this.next = undefined;
      this.under_way = question;
      this.told_decay = undefined;
      const stop = (this.stop = new AbortController());
      const number = ++this.number;
      try {
        await draft(this.id, { page: this.page, number, base, edits }, (part) => {
          if (stop.signal.aborted || !shown || part.number !== this.number) return;
          this.decay = part.decay ?? this.decay;
          // a field that was left out of this run says nothing: the curve of the last save stays
          if (part.bass && part.bass.levels.length > 0) this.bass = part.bass;
          this.pieces = part.pieces ?? this.pieces;
          this.statements = part.statements ?? this.statements;
          if (part.part === 'response') this.note = part.note ?? '';
          if (part.decay) {
            this.told_decay = performance.now();
            this.hurry();
          }
        }, stop.signal);
      } catch {
        // ended, or nothing answers: the figures of the last save stay
      }
      clearTimeout(this.timer);
      this.timer = undefined;
    }
    this.under_way = undefined;
    this.running = false;
  }
}
