// Axes: from values to places on a picture, and what is written beside them.

export interface Scale {
  (value: number): number;
  from: number;
  to: number;
}
export function linear(from: number, to: number, start: number, end: number): Scale {
  const scale = ((value: number) => start + ((value - from) / (to - from)) * (end - start)) as Scale;
  scale.from = from;
  scale.to = to;
  return scale;
}
export function logarithmic(from: number, to: number, start: number, end: number): Scale {
  const scale = ((value: number) => start + (Math.log(value / from) / Math.log(to / from)) * (end - start)) as Scale;
  scale.from = from;
  scale.to = to;
  return scale;
}

/** Round steps over a range, at most so many. */
export function round_steps(from: number, to: number, most: number): number[] {
  if (!(to > from)) return [from];
  const raw = (to - from) / most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= raw * 0.999)!;
  const out: number[] = [];
  for (let k = Math.ceil(from / step - 1e-9); k * step <= to + step * 1e-9; ++k) out.push(Number((k * step).toPrecision(12)));
  return out;
}

/** preferred centres of octaves within a range */
export const octave_centres = [16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000];
export const third_octave_centres = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000,
];
export const short_hz = (hz: number): string => (hz >= 1000 ? `${hz / 1000} k` : String(hz));

/** A line through points; gaps where a value is missing. */
export function line_path(points: Array<[number, number] | null>): string {
  let out = '';
  let pen = 'M';
  for (const point of points) {
    if (!point) {
      pen = 'M';
      continue;
    }
    out += `${pen}${point[0].toFixed(1)} ${point[1].toFixed(1)}`;
    pen = 'L';
  }
  return out;
}
export function band_path(upper: Array<[number, number]>, lower: Array<[number, number]>): string {
  return `${line_path(upper)}${line_path(lower.toReversed()).replace('M', 'L')}Z`;
}

/** Moves labels apart so that none stand closer than `least`; in the order given. */
export function apart(wanted: number[], least: number): number[] {
  const order = wanted.map((y, i) => ({ y, i })).sort((a, b) => a.y - b.y);
  for (let k = 1; k < order.length; ++k) order[k]!.y = Math.max(order[k]!.y, order[k - 1]!.y + least);
  const out = [...wanted];
  for (const { y, i } of order) out[i] = y;
  return out;
}
