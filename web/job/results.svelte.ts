// What the stages found, for the newest version of a job; an older result stays on the screen,
// marked, until the new one is there.
import { Refusal, get_stage } from '../api/client';
import { listen } from '../api/events';
import type {
  BuildResult, Complaint, FindingsResult, HangResult, PriceResult, ProofResult, SurveyResult, TreatmentResult,
} from '../api/types';

export interface StageResults {
  survey: SurveyResult;
  findings: FindingsResult;
  treatment: TreatmentResult;
  build: BuildResult;
  price: PriceResult;
  hang: HangResult;
  proof: ProofResult;
}
export type StageName = keyof StageResults;
export const stage_names: StageName[] = ['survey', 'findings', 'treatment', 'build', 'price', 'hang', 'proof'];
/** what there is of an order, which has no room */
export const order_stages: StageName[] = ['survey', 'build', 'price'];
/** in the order in which they are wanted: the quick ones first */
const asking_order: StageName[] = ['survey', 'hang', 'build', 'price', 'treatment', 'findings', 'proof'];

export class Results {
  stages = $state.raw<Partial<StageResults>>({});
  /** of each result that is there */
  versions = $state.raw<Partial<Record<StageName, number>>>({});
  busy = $state.raw<StageName[]>([]);
  faults = $state.raw<Complaint[]>([]);
  /** nothing answers, or what was asked is old news: it is asked again in a moment */
  silent = $state(false);
  private asked = '';
  private timer: ReturnType<typeof setTimeout> | undefined;
  /** what each result that is there answers */
  private readonly questions: Partial<Record<StageName, string>> = {};
  private stop = new AbortController();

  /** how far what is being worked out has come, 0 to 1, by stage */
  shares = $state.raw<Partial<Record<StageName, number>>>({});
  private stop_listening: () => void = () => {};

  constructor(readonly id: string) {}

  open(): void {
    this.stop_listening = listen({
      progress: (told) => {
        if (told.job === this.id) this.shares = { ...this.shares, [told.stage]: told.share };
      },
    });
  }

  /** Asks for the wanted stages of a version, and forgets what was asked before. A new price book, by
   * its own version, is reason enough to ask again; what is there already is not asked for twice. */
  async follow(version: number, shop_version: number, wanted: StageName[] = stage_names): Promise<void> {
    const question = `${version}.${shop_version}`;
    const lacking = asking_order.filter((one) => wanted.includes(one) && this.questions[one] !== question);
    const asked = `${question} ${lacking.join(' ')}`;
    if (asked === this.asked || version === 0) return;
    this.asked = asked;
    clearTimeout(this.timer);
    this.stop.abort();
    const stop = (this.stop = new AbortController());
    this.busy = lacking;
    this.shares = {};
    this.faults = [];
    this.silent = false;
    for (const stage of lacking) {
      try {
        const result = await get_stage<StageResults[StageName]>(this.id, stage, version, stop.signal);
        if (stop.signal.aborted) return;
        this.questions[stage] = question;
        this.stages = { ...this.stages, [stage]: result };
        this.versions = { ...this.versions, [stage]: version };
      } catch (wrong) {
        if (stop.signal.aborted) return;
        this.busy = [];
        if (!(wrong instanceof Refusal)) throw wrong;
        this.asked = '';
        if (wrong.status === 0 || wrong.status === 409 || wrong.status === 499 || wrong.status === 503) {
          this.silent = true;
          this.timer = setTimeout(() => void this.follow(version, shop_version, wanted), 3000);
          return;
        }
        this.faults = wrong.errors.length > 0 ? wrong.errors : [{ where: '', what: wrong.message, got: undefined, remedy: 'the page asks again with the next change' }];
        return;
      }
      this.busy = this.busy.filter((one) => one !== stage);
    }
  }
  close(): void {
    this.stop_listening();
    clearTimeout(this.timer);
    this.stop.abort();
  }
  stale(stage: StageName, version: number): boolean {
    return this.versions[stage] !== undefined && this.versions[stage] !== version;
  }
}
