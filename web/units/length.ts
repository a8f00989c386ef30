// Lengths as people write them and as a shop reads them: the same spellings, mistakes and rounding
// as src/core/quantity, held to the same cases in tests/vectors/lengths.json. A length is a whole
// number of nanometres; 10 km of them fit a double exactly.

export type LengthUnit = 'm' | 'cm' | 'mm' | 'ft' | 'in';
export interface Units {
  metric: boolean;
  /** of inches: 2, 4, 8, 16, 32 or 64 */
  denominator: number;
}
export interface Fault {
  what: string;
  remedy: string;
}
export type LengthReading = { ok: true; nm: number } | ({ ok: false } & Fault);

export const nm_of: Record<LengthUnit, number> = {
  m: 1_000_000_000,
  cm: 10_000_000,
  mm: 1_000_000,
  ft: 304_800_000,
  in: 25_400_000,
};
const greatest_nm = 10_000_000_000_000;

const sign_table: Array<[string, string]> = [
  ['′', "'"], ['’', "'"], ['‘', "'"], ['″', '"'], ['”', '"'], ['“', '"'],
  ['½', ' 1/2'], ['¼', ' 1/4'], ['¾', ' 3/4'], ['⅛', ' 1/8'], ['⅜', ' 3/8'], ['⅝', ' 5/8'], ['⅞', ' 7/8'],
  ['\u00a0', ' '], ['\u202f', ' '], ['\u2009', ' '], ['−', '-'], ['⁄', '/'],
];

function plain_signs(text: string): string {
  let out = text;
  for (const [sign, plain] of sign_table) out = out.replaceAll(sign, plain);
  return out.replaceAll("''", '"');
}

class Unreadable extends Error {
  constructor(readonly fault: Fault) {
    super(fault.what);
  }
}
function fail(what: string, remedy: string): never {
  throw new Unreadable({ what, remedy });
}

const feet_rank = 2;
const known_units: Array<[string, LengthUnit, number]> = [
  ['mm', 'mm', 0], ['cm', 'cm', 0], ['metres', 'm', 0], ['m', 'm', 0], ['feet', 'ft', feet_rank],
  ['foot', 'ft', feet_rank], ['ft', 'ft', feet_rank], ['inches', 'in', 1], ['inch', 'in', 1], ['in', 'in', 1],
];

/** Reads one length from left to right. */
class LengthText {
  private at = 0;
  constructor(private readonly text: string, private readonly bare: LengthUnit) {}

  read(): number {
    this.skip_blanks();
    let negative = false;
    if (this.peek() === '-' || this.peek() === '+') {
      negative = this.text[this.at++] === '-';
      this.skip_blanks();
    }
    if (this.at >= this.text.length) fail('is empty', 'such as 4150 mm or 13\' 7 1/2"');
    let total = 0n;
    let rank = 9; // units must fall: feet, then inches
    while (this.at < this.text.length) {
      const [nm, own] = this.read_part(rank);
      total += nm;
      rank = own;
      this.skip_blanks();
      if (rank === feet_rank && this.peek() === '-') {
        ++this.at; // 13'-7": the dash only joins feet and inches
        this.skip_blanks();
      }
    }
    if (total > BigInt(greatest_nm)) fail('is beyond 10 km', 'check the unit');
    return total === 0n ? 0 : Number(negative ? -total : total);
  }

  private peek(): string {
    return this.text[this.at] ?? '';
  }
  private digit(): boolean {
    return this.peek() >= '0' && this.peek() <= '9';
  }
  private skip_blanks(): void {
    while (this.peek() === ' ' || this.peek() === '\t') ++this.at;
  }

  private whole(most_digits: number): bigint {
    const start = this.at;
    while (this.digit()) {
      if (this.at - start >= most_digits) fail('has too many digits', 'write it shorter');
      ++this.at;
    }
    if (this.at === start) fail('has no number where one is wanted', 'such as 163 1/2 in');
    return BigInt(this.text.slice(start, this.at));
  }

  /** whole | whole.decimals | whole blank a/b | a/b, as numerator and denominator */
  private number(): [bigint, bigint] {
    let whole = 0n;
    if (this.peek() !== '.') {
      whole = this.whole(12);
      if (this.peek() === '/') return this.fraction(0n, whole);
    }
    if (this.peek() === ',') fail('has a comma', 'write the decimal point as a point, without groups of thousands');
    if (this.peek() === '.') return this.decimals(whole);
    const before = this.at;
    this.skip_blanks();
    if (this.peek() === '-') {
      ++this.at; // 7-1/2
      this.skip_blanks();
    }
    if (this.digit()) {
      const start = this.at;
      while (this.digit()) ++this.at;
      if (this.peek() === '/' && this.at - start <= 4) return this.fraction(whole, BigInt(this.text.slice(start, this.at)));
    }
    this.at = before;
    return [whole, 1n];
  }

  private decimals(whole: bigint): [bigint, bigint] {
    const start = ++this.at;
    while (this.digit()) {
      if (this.at - start >= 12) fail('has too many digits', 'write at most 12 after the point');
      ++this.at;
    }
    if (this.at === start) fail('has no digit after the point', 'such as 4.15 m');
    const digits = this.text.slice(start, this.at);
    const scale = 10n ** BigInt(digits.length);
    return [whole * scale + BigInt(digits), scale];
  }

  private fraction(whole: bigint, top: bigint): [bigint, bigint] {
    ++this.at;
    const bottom = this.whole(4);
    if (bottom === 0n) fail('divides by zero', 'such as 12 1/4 in');
    if (top >= bottom && whole > 0n) fail('has a fraction that is not below 1', 'write the whole number apart');
    return [whole * bottom + top, bottom];
  }

  private unit(rank_before: number): [LengthUnit, number] | undefined {
    this.skip_blanks();
    if (this.peek() === "'") return ++this.at, ['ft', feet_rank];
    if (this.peek() === '"') return ++this.at, ['in', 1];
    for (const [word, unit, rank] of known_units) {
      if (!this.text.startsWith(word, this.at) || /[A-Za-z]/.test(this.text[this.at + word.length] ?? '')) continue;
      this.at += word.length;
      return [unit, rank];
    }
    if (this.at < this.text.length) return undefined;
    if (rank_before === 9) return [this.bare, 0];
    return rank_before === feet_rank ? ['in', 1] : undefined;
  }

  private read_part(rank: number): [bigint, number] {
    const [numerator, denominator] = this.number();
    const start = this.at;
    const unit = this.unit(rank);
    if (!unit)
      fail(
        `has an unknown unit or sign: ${this.text.slice(start, start + 12).trimStart()}`,
        'write m, cm, mm, ft, in, or feet \' and inches "',
      );
    if (unit[1] >= rank) fail('has its units out of order', 'feet first, then inches');
    return [(numerator * BigInt(nm_of[unit[0]]) * 2n + denominator) / (denominator * 2n), unit[1]];
  }
}

/** Reads `13' 7 1/2"`, `4.15 m`, `4150`, `7½"` …; a bare number takes the unit given. */
export function read_length(text: string, bare: LengthUnit): LengthReading {
  if (text.length > 60) return { ok: false, what: 'is too long for a length', remedy: 'such as 4150 mm or 13\' 7 1/2"' };
  try {
    return { ok: true, nm: new LengthText(plain_signs(text), bare).read() };
  } catch (wrong) {
    if (wrong instanceof Unreadable) return { ok: false, ...wrong.fault };
    throw wrong;
  }
}

/** Of a value in a document: a number in the document's unit, or a text with its own. */
export function document_nm(value: unknown, unit: LengthUnit): number | undefined {
  if (typeof value === 'number' && Number.isFinite(value)) return Math.round(value * nm_of[unit]);
  if (typeof value !== 'string') return undefined;
  const read = read_length(value, unit);
  return read.ok ? read.nm : undefined;
}

/** As a document writes it: a bare number where that is exact in few digits, else a text. */
export function document_length(nm: number, unit: LengthUnit): number | string {
  const bare = Number((nm / nm_of[unit]).toFixed(9));
  const exact = Math.round(bare * nm_of[unit]) === nm && String(bare).length <= 12;
  if (exact) return bare;
  const on_inch_grid = (unit === 'ft' || unit === 'in') && nm % 396_875 === 0;
  return on_inch_grid ? print_inches(nm, 64, true) : `${Number((nm / 1e6).toFixed(6))} mm`;
}

// ---- printing -------------------------------------------------------------------------------

/** value / step, halves away from zero */
function rounded_steps(nm: number, step: number): number {
  const half = Math.floor(step / 2);
  const steps = Math.floor((Math.abs(nm) + half) / step);
  return nm < 0 && steps !== 0 ? -steps : steps;
}

/** `14 3/8"`; with feet `13'-7 1/2"` */
export function print_inches(nm: number, denominator = 16, feet = false): string {
  const bottom_most = [1, 2, 4, 8, 16, 32, 64].includes(denominator) ? denominator : 16;
  const signed = rounded_steps(nm, 25_400_000 / bottom_most);
  let out = signed < 0 ? '-' : '';
  const steps = Math.abs(signed);
  let whole = Math.floor(steps / bottom_most);
  let top = steps % bottom_most;
  if (feet) {
    out += `${Math.floor(whole / 12)}'-`;
    whole %= 12;
  }
  let bottom = bottom_most;
  while (top !== 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  const show_whole = whole !== 0 || top === 0 || feet;
  if (show_whole) out += whole;
  if (top !== 0) out += `${show_whole ? ' ' : ''}${top}/${bottom}`;
  return `${out}"`;
}

export function print_mm(nm: number): string {
  return `${rounded_steps(nm, 1_000_000)} mm`;
}
export function print_mm_tenths(nm: number): string {
  const tenths = rounded_steps(nm, 100_000);
  return `${tenths < 0 ? '-' : ''}${Math.floor(Math.abs(tenths) / 10)}.${Math.abs(tenths) % 10} mm`;
}
/** whole millimetres or inches: what stands on a shop's sheet */
export function print_length(nm: number, units: Units): string {
  return units.metric ? print_mm(nm) : print_inches(nm, units.denominator);
}
/** the same for drawings, where the unit stands elsewhere */
export function print_dimension(nm: number, units: Units): string {
  return units.metric ? String(rounded_steps(nm, 1_000_000)) : print_inches(nm, units.denominator);
}
/** of results, which are in metres */
export function print_metres(metres: number, units: Units): string {
  return print_length(Math.round(metres * 1e9), units);
}
/** `4.15 m` or `13'-7 3/8"` */
export function print_room_length(metres: number, units: Units): string {
  return units.metric ? `${metres.toFixed(2)} m` : print_inches(Math.round(metres * 1e9), units.denominator, true);
}
export function print_area(square_metres: number, units: Units): string {
  return units.metric ? `${square_metres.toFixed(1)} m²` : `${(square_metres / 0.3048 ** 2).toFixed(0)} ft²`;
}
export function print_volume(cubic_metres: number, units: Units): string {
  return units.metric ? `${cubic_metres.toFixed(1)} m³` : `${(cubic_metres / 0.3048 ** 3).toFixed(0)} ft³`;
}
export function print_mass(kilograms: number, units: Units): string {
  return units.metric ? `${kilograms.toFixed(1)} kg` : `${(kilograms / 0.45359237).toFixed(1)} lb`;
}
export function print_hz(hz: number): string {
  return hz >= 1000 ? `${Number((hz / 1000).toFixed(2))} kHz` : `${Number(hz.toFixed(1))} Hz`;
}

/** The grid that hands move things by: whole millimetres, or the shop's fraction of an inch. */
export function grid_nm(units: Units): number {
  return units.metric ? 1_000_000 : 25_400_000 / units.denominator;
}
export function to_grid(nm: number, units: Units): number {
  return rounded_steps(nm, grid_nm(units)) * grid_nm(units);
}
export function units_of(unit: LengthUnit, denominator = 16): Units {
  return { metric: unit === 'm' || unit === 'cm' || unit === 'mm', denominator };
}
/** clearances and small differences of results, in tenths of a millimetre or 64ths */
export function print_fine_metres(metres: number, units: Units): string {
  const nm = Math.round(metres * 1e9);
  return units.metric ? print_mm_tenths(nm) : print_inches(nm, 64);
}
