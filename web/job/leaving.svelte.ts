// Before a piece leaves: the sheet of each piece, what was found, the papers of its materials. What is
// found is an entry of a journal, kept here until the program has it; what the shop's limits make of
// it comes back with it.
import { Refusal, get_inspections } from '../api/client';
import { listen } from '../api/events';
import type { Certificate, InspectedPiece, Inspection, Inspections } from '../api/types';
import { Journal } from './outbox.svelte';

const heard = ['inspection', 'certificate', 'time', 'document'];

export class Leaving {
  sheet = $state.raw<Inspections>();
  readonly inspections: Journal;
  readonly certificates: Journal;
  private asking = false;
  private again = false;
  private stop: () => void = () => {};

  constructor(readonly id: string) {
    this.inspections = new Journal('inspection', id);
    this.certificates = new Journal('certificate', id);
  }
  async open(): Promise<void> {
    this.stop = listen({
      change: (change) => void (heard.includes(change.topic) && this.read()),
      link: (here) => void (here && this.read()),
    });
    await Promise.all([this.inspections.open(), this.certificates.open(), this.read()]);
  }
  close(): void {
    this.stop();
    this.inspections.close();
    this.certificates.close();
  }
  /** One question is under way at a time; what came meanwhile is asked next. */
  async read(): Promise<void> {
    this.again = true;
    if (this.asking) return;
    this.asking = true;
    while (this.again) {
      this.again = false;
      try {
        this.sheet = await get_inspections(this.id);
      } catch (wrong) {
        if (!(wrong instanceof Refusal)) throw wrong; // what is shown stays; the next change asks again
      }
    }
    this.asking = false;
  }

  piece(label: string): InspectedPiece | undefined {
    return this.sheet?.pieces.find((one) => one.label === label);
  }
  passed = $derived(new Set(this.sheet?.pieces.filter((one) => one.passed).map((one) => one.label)));
  /** noted here and not judged yet */
  unjudged(label: string): boolean {
    return this.inspections.waiting.some((one) => one.subject === label);
  }
  found(label: string, what: Inspection): void {
    this.inspections.add(label, { ...what, at: new Date().toISOString() });
  }
  certify(certificate: Certificate): void {
    this.certificates.add(certificate.piece, { ...certificate });
  }
}
