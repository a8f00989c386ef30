// A map of levels as shapes: its shades as one path each, the lines between them with their levels.
// The levels come from the program; here they are only laid out.
export interface LevelMap {
  name: string;
  surface: number;
  outline_m: Array<[number, number]>;
  from_m: [number, number];
  to_m: [number, number];
  across: number;
  up: number;
  level_db: Array<number | null>;
  in_a_piece: number[];
  mean_db: number;
  share: number;
  most: { at_m: [number, number]; level_db: number; kind: string; words: string };
}

/** where the shades change, darkest first */
export const steps_db = [-3, -6, -12, -18, -24];
export const shade_words = ['0 to −3 dB', '−3 to −6', '−6 to −12', '−12 to −18', '−18 to −24', 'below −24 dB'];
/** 0 is the darkest */
export const shade_of = (level_db: number): number => {
  const at = steps_db.findIndex((step) => level_db >= step);
  return at < 0 ? steps_db.length : at;
};

/** Pixels of a map: u runs to the right or, as one faces a wall, to the left. */
export interface Frame {
  x: number;
  y: number;
  scale: number;
}
export const wide = (map: LevelMap): number => map.to_m[0] - map.from_m[0];
export const high = (map: LevelMap): number => map.to_m[1] - map.from_m[1];
export const to_page = (map: LevelMap, frame: Frame, [u, v]: [number, number]): [number, number] => [
  frame.x + (map.surface >= 2 ? map.to_m[0] - u : u - map.from_m[0]) * frame.scale,
  frame.y + (map.to_m[1] - v) * frame.scale,
];

/** Between the four points around a place, of those that are told; none where most are not. */
export function level_at(map: LevelMap, share_u: number, share_v: number): number | undefined {
  const x = Math.min(Math.max(share_u, 0), 1) * (map.across - 1);
  const y = Math.min(Math.max(share_v, 0), 1) * (map.up - 1);
  const i = Math.min(Math.floor(x), map.across - 2);
  const j = Math.min(Math.floor(y), map.up - 2);
  let sum = 0;
  let weight = 0;
  for (const b of [0, 1])
    for (const a of [0, 1]) {
      const level = map.level_db[(j + b) * map.across + i + a];
      const w = (a ? x - i : 1 - x + i) * (b ? y - j : 1 - y + j);
      if (level === null || level === undefined) continue;
      sum += w * level;
      weight += w;
    }
  return weight < 0.5 ? undefined : sum / weight;
}

/** A path for each shade, darkest first, then one for what lies inside a piece. */
export function shades(map: LevelMap, frame: Frame, strip = 2): string[] {
  const paths = Array.from({ length: steps_db.length + 2 }, () => '');
  const w = wide(map) * frame.scale;
  const h = high(map) * frame.scale;
  const mirrored = map.surface >= 2;
  for (let y = 0; y < h; y += strip) {
    const tall = Math.min(strip, h - y);
    let from = 0;
    let shade = -1;
    for (let x = 0; x <= w + strip; x += strip) {
      const u = (x + strip / 2) / w;
      const level = x < w ? level_at(map, mirrored ? 1 - u : u, 1 - (y + tall / 2) / h) : undefined;
      const now = x >= w ? -2 : level === undefined ? steps_db.length + 1 : shade_of(level);
      if (now === shade) continue;
      if (shade >= 0) paths[shade] += `M${(frame.x + from).toFixed(1)} ${(frame.y + y).toFixed(1)}h${(Math.min(x, w) - from).toFixed(1)}v${tall.toFixed(1)}h-${(Math.min(x, w) - from).toFixed(1)}z`;
      from = x;
      shade = now;
    }
  }
  return paths;
}

/** The line of one level, cell by cell. */
export function line_of(map: LevelMap, frame: Frame, level: number): string {
  let out = '';
  const place = (k: number): [number, number] => [
    map.from_m[0] + (wide(map) * (k % map.across)) / (map.across - 1),
    map.from_m[1] + (high(map) * Math.floor(k / map.across)) / (map.up - 1),
  ];
  for (let j = 0; j + 1 < map.up; ++j)
    for (let i = 0; i + 1 < map.across; ++i) {
      const first = j * map.across + i;
      const corners = [first, first + 1, first + map.across + 1, first + map.across];
      const levels = corners.map((k) => map.level_db[k] ?? null);
      if (levels.some((one) => one === null)) continue;
      const met: Array<[number, number]> = [];
      for (let c = 0; c < 4; ++c) {
        const a = levels[c]!;
        const b = levels[(c + 1) % 4]!;
        if (a >= level === b >= level) continue;
        const share = (level - a) / (b - a);
        const p = place(corners[c]!);
        const q = place(corners[(c + 1) % 4]!);
        met.push(to_page(map, frame, [p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share]));
      }
      for (let m = 0; m + 1 < met.length; m += 2) out += `M${met[m]!.map((one) => one.toFixed(1)).join(' ')}L${met[m + 1]!.map((one) => one.toFixed(1)).join(' ')}`;
    }
  return out;
}

/** Where the lines cross the middle of the map, with their levels; none closer than a label's width. */
export function labels(map: LevelMap, frame: Frame): Array<{ x: number; y: number; level: number }> {
  const out: Array<{ x: number; y: number; level: number }> = [];
  const j = Math.floor((map.up - 1) / 2);
  for (const level of steps_db)
    for (let i = 0; i + 1 < map.across; ++i) {
      const a = map.level_db[j * map.across + i] ?? null;
      const b = map.level_db[j * map.across + i + 1] ?? null;
      if (a === null || b === null || a >= level === b >= level) continue;
      const u = map.from_m[0] + (wide(map) * (i + (level - a) / (b - a))) / (map.across - 1);
      const [x, y] = to_page(map, frame, [u, map.from_m[1] + (high(map) * j) / (map.up - 1)]);
      const left = frame.x + 14;
      const right = frame.x + wide(map) * frame.scale - 14;
      if (x > left && x < right && out.every((one) => Math.abs(one.x - x) > 30)) out.push({ x, y: y + 4, level });
    }
  return out;
}
