// The steps of the bench and of the site, one a screen, in the order of the work. A step's key names
// what is to be done, so that ticks keep their meaning when a plan changes elsewhere.
import type { BuildResult, ClothPlan, HangResult, InspectedPiece, SheetPlan, StationRow, StickPlan } from '../api/types';
import { print_fine_metres, print_mass, print_metres, type Units } from '../units/length';

export interface WorkStep {
  key: string;
  station: string;
  title: string;
  /** the one figure to set or to read */
  figure: string;
  lines: string[];
  piece: string;
  caution: string;
  /** the piece is looked at before it leaves: done when it has passed, not by a tick */
  looked_at?: boolean;
  /** a station is made ready: timed like any other step, but never waited for and never counted */
  set_up?: boolean;
  picture:
    | { kind: 'stick'; plan: StickPlan }
    | { kind: 'roll'; plan: ClothPlan; piece: number }
    | { kind: 'sheet'; plan: SheetPlan; sheet: number }
    | { kind: 'place'; place: string }
    | undefined;
}

const saw_caution = 'Guard down, push stick, eye and ear protection; unplug before you touch the blade.';
const wool_caution = 'Fibres: gloves, sleeves, eye protection and a P2 mask; cut with a knife.';
const lift_caution = 'Two people lift this one. Nobody stands below.';

/** what is done at a station, by its key */
export const station_words: Record<string, string> = {
  saw: 'at the saw', drill_screw: 'drill and screw', rout: 'rout', sand: 'sand', back_cloth: 'back cloth', boards: 'boards',
  face_cloth: 'face cloth', finish: 'finish', pack: 'pack',
};

const set_up_words: Record<string, string> = {
  saw: 'Set up the saw', drill_screw: 'Set up for drilling and screwing', rout: 'Set up the router', sand: 'Set up for sanding', back_cloth: 'Set up for the back cloth',
  boards: 'Set up for the boards', face_cloth: 'Set up for the face cloth', finish: 'Set up for finishing', pack: 'Set up for packing',
};
const set_up_cautions: Record<string, string> = {
  saw: 'Unplug before you touch the blade; guard back on before the first cut. The machine’s manual and local rules come first.', rout: 'Unplug before you change the cutter; eye and ear protection before the first pass. The machine’s manual and local rules come first.', boards: wool_caution,
};
/** at which of the page's stations a station of the shop's times is set up, the first that has steps */
const set_up_at: Record<string, string[]> = { saw: ['saw', 'sheets'], face_cloth: ['cloth table', 'bench'], boards: ['boards', 'bench'] };

function set_up_step({ station, set_up_min }: StationRow, at: string): WorkStep {
  return {
    key: `set_up.${station}`, station: at, title: set_up_words[station] ?? `Set up: ${station.replaceAll('_', ' ')}`, figure: `${Number(set_up_min.toFixed(1))} min is the standard`,
    lines: ['start the clock before you set up, stop it when work can begin', 'what is timed here goes to the standard of the set-up; no step waits for it'],
    piece: '', caution: set_up_cautions[station] ?? '', picture: undefined, set_up: true,
  };
}

/** Each station's set-up at the head of its steps. */
function with_set_ups(steps: WorkStep[], rows: StationRow[]): WorkStep[] {
  const out = [...steps];
  for (const row of rows) {
    const at = (set_up_at[row.station] ?? ['bench']).find((one) => steps.some((step) => step.station === one));
    if (at === undefined) continue;
    out.splice(out.findIndex((one) => one.station === at && !one.set_up), 0, set_up_step(row, at));
  }
  return out;
}

/** The steps that are waited for. */
export const counted = (steps: WorkStep[]): WorkStep[] => steps.filter((one) => !one.set_up);

/** Where work goes on, of all stations or at one: the first step that is not done. A set-up is passed
 * by as soon as anything at its station is done. -1: nothing is left. */
export function first_open(steps: WorkStep[], done: (step: WorkStep) => boolean, station?: string): number {
  const begun = new Set(counted(steps).filter(done).map((one) => one.station));
  return steps.findIndex((one) => (station === undefined || one.station === station) && !done(one) && !(one.set_up && begun.has(one.station)));
}

const frame_lines = ['frame square and screwed', 'back cloth, boards, face cloth', 'hangers on, label on'];

function leaving_step(piece: InspectedPiece, length: (m: number) => string, fine: (m: number) => string, units: Units): WorkStep {
  const { limits } = piece;
  return {
    key: `leave.${piece.label}`, station: 'before it leaves', title: `${piece.label}: look at it before it leaves`, figure: `${length(limits.diagonal_m)} both ways`,
    lines: [
      `${limits.product}, ${length(limits.width_m)} × ${length(limits.height_m)}`, `the diagonals differ by ${fine(limits.square_within_m)} at most`,
      `face down on a flat bench no corner stands off more than ${fine(limits.flat_within_m)}`, `weighs ${print_mass(limits.least_kg, units)} to ${print_mass(limits.most_kg, units)}`,
    ],
    piece: piece.label, caution: '', picture: undefined, looked_at: true,
  };
}

/** hang: none for an order, which has no room to hang in. pieces: none where nobody has told them yet */
export function bench_steps(build: BuildResult, hang: HangResult | undefined, units: Units, pieces: InspectedPiece[] = []): WorkStep[] {
  const length = (m: number): string => print_metres(m, units);
  const steps: WorkStep[] = [];
  for (const plan of build.sticks)
    plan.patterns.forEach((pattern, k) => {
      steps.push({
        key: `saw.${plan.section}.${pattern.stock_length_m}.${pattern.marks.map((one) => one.length_m).join('+')}`,
        station: 'saw', title: `${plan.name}, pattern ${k + 1}`,
        figure: pattern.marks.map((one) => length(one.length_m)).filter((one, i, all) => i === 0 || all[i - 1] !== one).join(', then '),
        lines: [
          `${pattern.sticks} × stick of ${length(pattern.stock_length_m)}${pattern.in_hand ? ', from the rack' : ''}`,
          ...pattern.marks.map((mark, i) => `${length(mark.from_m)} to ${length(mark.to_m)}: ${pattern.pieces.map((stick) => stick[i] ?? '').filter((name, at, all) => name && all.indexOf(name) === at).join(' | ')}`),
          `offcut ${length(pattern.offcut_m)}: ${pattern.keep_offcut ? 'keep it' : 'bin it'}`,
        ],
        piece: '', caution: saw_caution, picture: { kind: 'stick', plan: { ...plan, patterns: [pattern] } },
      });
    });
  for (const plan of build.cloths)
    plan.pieces.forEach((piece, k) => {
      steps.push({
        key: `cloth.${plan.cloth}.${piece.piece}.${piece.name}`, station: 'cloth table', title: `${plan.cloth.replaceAll('_', ' ')}: ${piece.piece} ${piece.name}`,
        figure: `${length(piece.across_m)} across × ${length(piece.along_m)} along`,
        lines: [`at ${length(piece.x_m)} from the selvedge, ${length(piece.y_m)} along the roll`], piece: piece.piece, caution: '',
        picture: { kind: 'roll', plan, piece: k },
      });
    });
  for (const plan of build.sheets)
    plan.sheets.forEach((sheet, k) =>
      steps.push({
        key: `sheet.${plan.key}.${sheet.pieces.map((one) => `${one.width_m}x${one.height_m}`).join('+')}`, station: plan.wool ? 'boards' : 'sheets',
        title: `${plan.key.replaceAll('_', ' ')}, layout ${k + 1}`, figure: `${sheet.repeat} ×`,
        lines: sheet.pieces.map((one) => `${length(one.width_m)} × ${length(one.height_m)}: ${one.piece} ${one.name}${one.triangle ? ', cut corner to corner' : ''}`),
        piece: '', caution: plan.wool ? wool_caution : saw_caution, picture: { kind: 'sheet', plan, sheet: k },
      }),
    );
  for (const piece of hang?.pieces ?? [])
    steps.push({
      key: `frame.${piece.label}`, station: 'bench', title: `${piece.label}: put together and cover`, figure: `${length(piece.width_m)} × ${length(piece.height_m)}`,
      lines: [piece.product, ...frame_lines], piece: piece.label,
      caution: piece.two_people ? lift_caution : '', picture: { kind: 'place', place: piece.place },
    });
  if (!hang)
    for (const { label, limits } of pieces)
      steps.push({
        key: `frame.${label}`, station: 'bench', title: `${label}: put together and cover`, figure: `${length(limits.width_m)} × ${length(limits.height_m)}`,
        lines: [limits.product, ...frame_lines], piece: label, caution: '', picture: undefined,
      });
  steps.push(...pieces.map((piece) => leaving_step(piece, length, (m) => print_fine_metres(m, units), units)));
  return with_set_ups(steps, build.stations);
}

export function site_steps(hang: HangResult, units: Units): WorkStep[] {
  const length = (m: number): string => print_metres(m, units);
  return hang.pieces.map((piece) => {
    const corner = piece.place.startsWith('corner');
    return {
      key: `hang.${piece.label}`, station: piece.place.replace('wall', 'wall '), title: `${piece.label}, ${piece.product}`,
      figure: corner ? `in ${piece.place}, foot at ${length(piece.bottom_m)}` : `${length(piece.left_m)} from the left, ${length(piece.bottom_m)} up`,
      lines: [
        `${length(piece.width_m)} × ${length(piece.height_m)}, ${print_mass(piece.mass_kg, units)}`,
        ...piece.fixing_points_m.map(([x, y], k) => `fixing ${k + 1}: ${length(x ?? 0)} across, ${length(y ?? 0)} up`),
        piece.ok ? `each carries ${piece.load_n.toFixed(0)} N` : piece.verdict,
      ],
      piece: piece.label,
      caution: piece.two_people || piece.place === 'ceiling' ? lift_caution : 'Look for cables and pipes before you drill.',
      picture: { kind: 'place', place: piece.place },
    };
  });
}
