// The hang sheet: one HTML file that opens on any phone without a server. Elevations with marks for
// the tape, one box to tick for each piece, loads and cautions; ticks stay in the phone's browser.
// Nothing in it comes from elsewhere.
import type { HangResult } from '../api/types';
import type { Tree } from '../job/edits';
import { print_dimension, print_mass, print_metres } from '../units/length';
import { outline_of, roomiest } from './outline';
import { corner_reach, list_at, metres, unrolled, word_at, type Point, type Room, type Wall } from './room';

const escaped = (text: string): string =>
  text.replace(/[&<>"']/g, (sign) => `&#${sign.codePointAt(0)};`);
const n = (value: number): string => value.toFixed(1);

interface Hung {
  label: string;
  left: number;
  bottom: number;
  width: number;
  height: number;
  /** corners on the drawing; none: the box */
  outline: Point[];
}

function pieces_on(wall: Wall | undefined, room: Room, hang: HangResult): Hung[] {
  return hang.pieces.flatMap((piece): Hung[] => {
    const base = { label: piece.label, bottom: piece.bottom_m, height: piece.height_m, outline: outline_of(piece).map(([x, y]): Point => [piece.left_m + x, piece.bottom_m + y]) };
    const corner = /^corner (\d+)$/.exec(piece.place);
    if (!corner) {
      const here = piece.place === (wall?.name ?? 'ceiling');
      return here ? [{ ...base, left: piece.left_m, width: piece.width_m }] : [];
    }
    if (!wall) return [];
    const k = Number(corner[1]);
    const reach = corner_reach(room, k, piece.width_m);
    const before = room.walls[(k + room.walls.length - 1) % room.walls.length];
    if (wall.name === `wall${k}`) return [{ ...base, left: wall.length_m - reach, width: reach }];
    return wall.name === before?.name ? [{ ...base, left: 0, width: reach }] : [];
  });
}

/** One elevation as SVG text: 100 units a metre. */
function elevation(wall: Wall | undefined, room: Room, hang: HangResult, tree: Tree): string {
  const pieces = pieces_on(wall, room, hang);
  if (pieces.length === 0) return '';
  const xs = room.corners.map(([x]) => x);
  const ys = room.corners.map(([, y]) => y);
  const low_x = wall ? 0 : Math.min(...xs);
  const low_y = wall ? 0 : Math.min(...ys);
  const width = wall ? wall.length_m : Math.max(...xs) - low_x;
  const height = wall ? Math.max(wall.left_m, wall.right_m) : Math.max(...ys) - low_y;
  const X = (m: number): string => n((m - low_x) * 100 + 20);
  const Y = (m: number): string => n((height - (m - low_y)) * 100 + 10);
  const outline = wall
    ? [[0, 0], [width, 0], [width, wall.right_m], [0, wall.left_m]]
    : room.corners.map(([x, y]) => [x, y]);
  let out = `<polygon class="face" points="${outline.map(([x, y]) => `${X(x!)},${Y(y!)}`).join(' ')}"/>`;
  for (const one of list_at(tree, 'features')) {
    if (one.on !== (wall?.name ?? 'ceiling')) continue;
    const [l = 0, b = 0] = metres(one.from, room.unit);
    const [r = 0, t = 0] = metres(one.to, room.unit);
    out += `<rect class="feature" x="${X(l)}" y="${Y(t)}" width="${n((r - l) * 100)}" height="${n((t - b) * 100)}"/>`;
    out += `<text class="soft" x="${X(l)}" y="${Y(t - 0.14)}">${escaped(word_at(one, 'label'))}</text>`;
  }
  const rows = [-Infinity, -Infinity, -Infinity, -Infinity];
  const marks = [...new Set(pieces.flatMap((one) => [one.left, one.left + one.width]).map((m) => Number(m.toFixed(4))))].sort((a, b) => a - b);
  for (const one of pieces) {
    const [label_x, label_y] = one.outline.length > 0 ? roomiest(one.outline) : [one.left + one.width / 2, one.bottom + one.height / 2];
    out += one.outline.length > 0
      ? `<polygon class="piece" points="${one.outline.map(([x, y]) => `${X(x)},${Y(y)}`).join(' ')}"/>`
      : `<rect class="piece" x="${X(one.left)}" y="${Y(one.bottom + one.height)}" width="${n(one.width * 100)}" height="${n(one.height * 100)}"/>`;
    out += `<text class="label" x="${X(label_x)}" y="${Y(label_y)}" text-anchor="middle">${escaped(one.label)}</text>`;
    out += `<text class="soft" x="${X(one.left + one.width / 2)}" y="${Y(one.bottom + 0.04)}" text-anchor="middle">${print_dimension(Math.round(one.bottom * 1e9), room.units)} up</text>`;
  }
  const foot = height * 100 + 10;
  for (const m of marks) {
    const text = print_dimension(Math.round(m * 1e9), room.units);
    const x = Number(X(m));
    const row = Math.max(0, rows.findIndex((end) => x - text.length * 4 > end));
    rows[row] = x + text.length * 4;
    out += `<line class="mark" x1="${n(x)}" x2="${n(x)}" y1="${n(foot)}" y2="${n(foot + 8 + row * 15)}"/><text x="${n(x)}" y="${n(foot + 20 + row * 15)}" text-anchor="middle">${text}</text>`;
  }
  const name = wall ? `wall ${wall.name.slice(4)}` : 'ceiling, from above';
  return `<figure><figcaption>${name}, ${print_metres(width, room.units)} wide; marks from the left-hand end</figcaption><div class="wide" tabindex="0" role="region" aria-label="drawing of ${name}"><svg viewBox="0 0 ${n(width * 100 + 40)} ${n(foot + 84)}" width="${n(width * 100 + 40)}" role="img" aria-label="${name}">${out}</svg></div></figure>`;
}

const style = `body{font:18px/1.45 system-ui,sans-serif;margin:0;padding:1rem;background:#fff;color:#22262b;font-variant-numeric:tabular-nums}
h1{font-size:1.4rem}h2{font-size:1.2rem;margin:1.5rem 0 .5rem}.wide{overflow-x:auto}figure{margin:0 0 1rem}figcaption{font-weight:600}
svg{max-width:none;height:auto}svg text{font-size:13px}.face{fill:#fff;stroke:#22262b;stroke-width:2}.piece{fill:#e2e8d8;stroke:#506540;stroke-width:2}
.feature{fill:#ece7db;stroke:#5f656b;stroke-dasharray:4 3}svg .label{font-size:18px;font-weight:700}.soft{fill:#5f656b}.mark{stroke:#22262b}
ol{list-style:none;padding:0;margin:0;display:grid;gap:.6rem}li{border:2px solid #22262b;padding:.6rem}label{display:flex;gap:.8rem;align-items:center;font-weight:700;font-size:1.15rem}
input{width:12mm;height:12mm;flex:none}li p{margin:.3rem 0 0}.done{background:#e2e8d8}.caution{border:2px solid #9c3b34;background:#f5e1de;padding:.5rem .75rem;margin:.5rem 0}
.caution b{color:#9c3b34}@media print{input{appearance:none;border:2px solid #000}li{break-inside:avoid}}`;

/** key: names the job and version, so that ticks of another sheet are not taken for this one's. */
export function hang_sheet(tree: Tree, room: Room, hang: HangResult, key: string): string {
  const title = word_at(tree, 'title');
  const facts = [word_at(tree, 'reference'), `revision ${word_at(tree, 'revision') || 'A'}`, word_at(tree, 'date'), room.units.metric ? 'millimetres' : 'inches'];
  const figures = [...unrolled(room), undefined].map((wall) => elevation(wall, room, hang, tree)).join('\n');
  const rows = hang.pieces.map((piece) => {
    const where = piece.place.startsWith('corner')
      ? `${piece.place}, foot ${print_metres(piece.bottom_m, room.units)} up`
      : `${piece.place.replace('wall', 'wall ')}, ${print_metres(piece.left_m, room.units)} from the left, ${print_metres(piece.bottom_m, room.units)} ${piece.place === 'ceiling' ? 'from the near wall' : 'up'}`;
    const points = piece.fixing_points_m.map(([x, y]) => `${print_metres(x ?? 0, room.units)} across, ${print_metres(y ?? 0, room.units)} ${piece.place === 'ceiling' ? 'along' : 'up'}`).join('; ');
    const size = `${print_metres(piece.width_m, room.units)} × ${print_metres(piece.height_m, room.units)}, ${print_mass(piece.mass_kg, room.units)}`;
    return `<li><label><input type="checkbox" data-piece="${escaped(piece.label)}"> ${escaped(piece.label)}: ${escaped(where)}</label><p>${escaped(piece.product)}, ${size}${piece.two_people ? '. <b>Two people lift it.</b>' : ''}</p><p>Fixings: ${escaped(points)}. Each carries ${piece.load_n.toFixed(0)} N.${piece.ok ? '' : ` ${escaped(piece.verdict)}`}</p></li>`;
  });
  const cautions = hang.cautions.map((one) => `<p class="caution"><b>Caution.</b> ${escaped(one)}</p>`).join('\n');
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'">
<title>Hang sheet: ${escaped(title)}</title><style>${style}</style></head><body><main>
<h1>Hang sheet: ${escaped(title)}</h1><p>${facts.filter(Boolean).map(escaped).join(' · ')} · ${hang.pieces.length} pieces, ${print_mass(hang.total_kg, room.units)}</p>
${cautions}
<h2>Pieces</h2><p id="count"></p><ol>${rows.join('\n')}</ol>
<h2>Elevations</h2>${figures}</main>
<script>
(function () {
  var key = ${JSON.stringify(`roomwright.sheet.${key}`).replaceAll('<', '\\u003c')};
  var kept = {};
  try { kept = JSON.parse(localStorage.getItem(key)) || {}; } catch (e) { kept = {}; }
  var boxes = document.querySelectorAll('input[data-piece]');
  function show() {
    var done = 0;
    boxes.forEach(function (box) {
      box.checked = !!kept[box.dataset.piece];
      box.closest('li').className = box.checked ? 'done' : '';
      if (box.checked) done++;
    });
    document.getElementById('count').textContent = done + ' of ' + boxes.length + ' are hung. Ticks stay on this phone.';
  }
  boxes.forEach(function (box) {
    box.addEventListener('change', function () {
      kept[box.dataset.piece] = box.checked;
      try { localStorage.setItem(key, JSON.stringify(kept)); } catch (e) { document.title = 'not kept'; }
      show();
    });
  });
  show();
})();
</script></body></html>
`;
}
