// Made from openapi.json by scripts/types.mjs; change that and run `npm run types`.

/** one value for each octave by its nominal centre in hertz */
export type Octaves = Record<string, number>;

/** a finding in one plain sentence */
export type Statement = {
  /** 0 to 100, how much it matters */
  weight: number;
  topic: string;
  sentence: string;
  /** may be empty */
  cause: string;
  /** what to do; may be empty */
  next: string;
};

export type DecayRow = {
  arau_s: number | null;
  eyring_s: number | null;
  fitzroy_s: number | null;
  high_s: number;
  hz: number;
  likely_s: number;
  low_s: number;
  millington_s: number | null;
  sabine_s: number | null;
  target_high_s: number | null;
  target_low_s: number | null;
  verdict: string;
};

export type PathRow = {
  counts: boolean;
  delay_ms: number;
  intercepted: string;
  level_db: number;
  loudspeaker: string;
  point_m: Array<number>;
  seat: string;
  surface: string;
  treated_level_db: number | null;
};

export type BassLevel = {
  around_high_db: Array<number>;
  around_low_db: Array<number>;
  level_db: Array<number>;
  loudspeaker: string;
  seat: string;
};

export type BassMark = {
  cause: string;
  hz: number;
  kind: "peak" | "dip";
  level_db: number;
  loudspeaker: string;
  seat: string;
  stands_db: number;
};

export type BiteMap = {
  corner_db: Array<number>;
  hz: number;
  loudspeaker: string;
  surfaces: Array<{
    across: number;
    level_db: Array<number>;
    mean_db: number;
    surface: number;
    up: number;
  }>;
};

export type Doubt = {
  high: Array<number>;
  low: Array<number>;
  samples: number;
  shares: Array<{
    input: string;
    measurement: string;
    share: number;
  }>;
};

export type Bass = {
  bites: BiteMap | null;
  bodies: number;
  doubt: Doubt | null;
  doubt_hz: Array<number>;
  hz: Array<number>;
  levels: Array<BassLevel>;
  marks: Array<BassMark>;
  note: string;
  patches: number;
};

export type SurveyResult = {
  box: boolean;
  density_kg_m3: number;
  floor_area_m2: number;
  sound_speed_m_s: number;
  statements: Array<Statement>;
  surface_area_m2: number;
  surfaces: Array<{
    absorption: Octaves;
    area_m2: number;
    material: string;
    source: string;
    surface: string;
    trust: Record<string, "published" | "extrapolated">;
  }>;
  tape: Array<{
    difference_m: number;
    expected_m: number;
    measured_m: number;
    what: string;
    within: boolean;
  }>;
  volume_m3: number;
};

export type FindingsResult = {
  bass: Bass;
  decay: Array<DecayRow>;
  decay_doubt: Doubt;
  decay_rule: string;
  flutter: Array<{
    absorption: number;
    distance_m: number;
    first: string;
    likely: boolean;
    overlap_m2: number;
    rate_hz: number;
    second: string;
  }>;
  gaps: Array<{
    from_hz: number;
    to_hz: number;
  }>;
  modes: Array<{
    hz: number;
    kind: string;
  }>;
  modes_note: string;
  modes_to_hz: number;
  not_done: Array<string>;
  paths: Array<PathRow>;
  schroeder_hz: number;
  statements: Array<Statement>;
  target_source: string;
  ringing: Ringing;
};

export type TreatmentResult = {
  after: Array<DecayRow>;
  bass: Bass;
  before: Array<DecayRow>;
  buildable: boolean;
  paths: Array<PathRow>;
  pieces: Array<PieceRow>;
  schroeder_after_hz: number;
  statements: Array<Statement>;
  ringing: Ringing;
  products: Array<{
    cautions: Array<string>;
    centre_of_gravity_m: Array<number>;
    checks: Array<{
      clearance_m: number;
      ok: boolean;
      sentence: string;
      what: string;
    }>;
    cloth_path_m: number;
    depth_m: number;
    edge_profile_m: Array<Array<number>>;
    height_m: number;
    key: string;
    kind: string;
    lift_on_m: number;
    making: Array<string>;
    mass_kg: number;
    router_passes: number;
    screws: Array<{
      along: Array<number>;
      at_m: Array<number>;
      diameter_m: number;
      joint: string;
      length_m: number;
      number: number;
    }>;
    stand_off_m: number;
    two_people: boolean;
    width_m: number;
  }>;
  seats: Array<{
    rows: Array<{
      hz: number;
      today: {
        c50_db: RayFigure;
        c80_db: RayFigure;
        d50: RayFigure;
        edt_s: RayFigure;
        t20_s: RayFigure;
      };
      treated: {
        c50_db: RayFigure;
        c80_db: RayFigure;
        d50: RayFigure;
        edt_s: RayFigure;
        t20_s: RayFigure;
      };
    }>;
    seat: string;
  }>;
};

export type BuildResult = {
  cloths: Array<ClothPlan>;
  hardware: Array<{
    cost?: string;
    from_rack: number;
    key: string;
    packs: number;
    unit: string;
    used: number;
  }>;
  sheets: Array<SheetPlan>;
  shop_min: number;
  statements: Array<Statement>;
  stations: Array<StationRow>;
  sticks: Array<StickPlan>;
  calendar: Calendar;
  run: {
    bound_min: number;
    busy_min: Array<number>;
    crew: Array<{
      bound_min: number;
      days_late: number;
      finish_min: number;
      finished: string;
      hung: string;
      people: number;
      proven: boolean;
    }>;
    finish_min: number;
    least_min: number;
    lots: number;
    method: string;
    most_in_lot: number;
    nodes: number;
    people: number;
    proven: boolean;
    router_set_ups: number;
    tasks: Array<{
      ahead: boolean;
      begin_min: number;
      end_min: number;
      people: Array<number>;
      pieces: Array<string>;
      start_min: number;
      station: string;
      what: string;
    }>;
  };
};

export type PriceResult = {
  costing: {
    cost: string;
    labour: string;
    margin: string;
    material: string;
    overhead: string;
    price: string;
    rows: Array<{
      cost: string;
      group: string;
      name: string;
      quantity: string;
    }>;
  };
  currency: string;
  purchase: {
    rows: Array<{
      buy: string;
      cost: string;
      group: string;
      in_hand: string;
      key: string;
      needed: string;
    }>;
    total: string;
  };
  quote: Array<QuoteOption>;
  statements: Array<Statement>;
};

export type HangResult = {
  cautions: Array<string>;
  pieces: Array<HangPiece>;
  statements: Array<Statement>;
  total_kg: number;
  way_in: Array<{
    passes: boolean;
    piece: string;
    sentence: string;
    way: string;
  }>;
};

export type ProofResult = {
  how: Array<string>;
  points: Array<{
    target: string;
    what: string;
    where: string;
  }>;
  predicted: Array<DecayRow>;
  statements: Array<Statement>;
};

export type PlacementFault = {
  what: string;
  by_m: number;
  remedy: string;
};

export type PieceRow = {
  approximation: string;
  faults: Array<PlacementFault>;
  high_m2: Octaves;
  intercepts: Array<string>;
  kind: string;
  label: string;
  likely_m2: Octaves;
  low_m2: Octaves;
  place: string;
  product: string;
};

export type HangPiece = {
  asked_factor: number;
  bottom_m: number;
  fixing_points_m: Array<Array<number>>;
  height_m: number;
  kind: string;
  label: string;
  left_m: number;
  load_n: number;
  mass_kg: number;
  ok: boolean;
  /** corners on its surface, where it is no rectangle; re-entrant ones too */
  outline_m?: Array<Array<number>>;
  place: string;
  product: string;
  safety_factor: number | null;
  stand_off_m: number;
  two_people: boolean;
  verdict: string;
  width_m: number;
  lift_on_m?: number;
};

export type StickPlan = {
  /** of the cost, for the office alone */
  bound?: string;
  buy: Array<{
    count: number;
    length_m: number;
  }>;
  /** for the office alone */
  cost?: string;
  name: string;
  patterns: Array<{
    in_hand: boolean;
    keep_offcut: boolean;
    marks: Array<{
      from_m: number;
      length_m: number;
      to_m: number;
    }>;
    offcut_m: number;
    pieces: Array<Array<string>>;
    sticks: number;
    stock_length_m: number;
  }>;
  proven: boolean;
  section: string;
  stops: Array<{
    count: number;
    parts: Array<string>;
    stop_m: number;
  }>;
};

export type ClothPlan = {
  bound_m: number;
  cloth: string;
  /** for the office alone */
  cost?: string;
  from_rack_m: number;
  length_m: number;
  pieces: Array<{
    across_m: number;
    along_m: number;
    name: string;
    piece: string;
    x_m: number;
    y_m: number;
  }>;
  proven: boolean;
  roll_width_m: number;
  to_buy_m: number;
};

export type SheetPlan = {
  bound: number;
  /** for the office alone */
  cost?: string;
  from_rack: number;
  key: string;
  left_over: number;
  packs: number;
  proven: boolean;
  sheets: Array<{
    pieces: Array<{
      height_m: number;
      name: string;
      piece: string;
      triangle: boolean;
      width_m: number;
      x_m: number;
      y_m: number;
    }>;
    repeat: number;
  }>;
  used: number;
  wool: boolean;
};

export type StationRow = {
  lines: Array<{
    count: number;
    each_min: number;
    feature: string;
  }>;
  set_up_min: number;
  station: string;
  work_min: number;
};

export type QuoteOption = {
  balance: string;
  deposit: string;
  name: string;
  net: string;
  rows: Array<{
    description: string;
    label: string;
    price: string;
  }>;
  tax: string;
  total: string;
};

/** one mistake: place, fault, what was got, remedy */
export type Complaint = {
  /** place in the document, such as `room.height`; may be empty */
  where: string;
  what: string;
  /** what stood there */
  got?: unknown;
  /** may be empty */
  remedy: string;
  /** of the text; 0 where it is not known */
  line?: number;
};

/** every mistake at once */
export type Errors = {
  errors: Array<Complaint>;
};

/** one change of a document */
export type Edit = {
  /** `pieces[3].from`; see src/job/edits/edits.h */
  at: string;
  /** what stood there; missing: nothing */
  from?: unknown;
  /** what shall stand there; missing: nothing */
  to?: unknown;
};

/** two changes of one place */
export type Conflict = {
  at: string;
  /** before both; missing: nothing */
  was?: unknown;
  /** what the earlier change made of it; missing: nothing */
  now?: unknown;
  /** what this write wanted; missing: nothing */
  mine?: unknown;
};

export type Step = {
  version: number;
  sequence: number;
  kind: "created" | "edited" | "replaced" | "removed" | "undone" | "redone" | "erased";
  /** the version whose step was undone or redone; 0: none */
  of: number;
  who: string;
  /** UTC, ISO 8601 */
  when: string;
  note: string;
  edits: Array<Edit>;
  layout_kept: boolean;
};

/** the answer to a write of a document; see src/app/store/store.h */
export type Saved = {
  /** the newest, after the write or as it stands where refused */
  version: number;
  /** of the write; 0 where nothing was written */
  sequence: number;
  /** others' steps lay between */
  merged: boolean;
  /** false: comments of the text went */
  layout_kept: boolean;
  conflicts: Array<Conflict>;
  since: Array<Step>;
};

export type DocumentHead = {
  id: string;
  /** `job`, `shop`, `settings` */
  kind: string;
  version: number;
  removed: boolean;
  erased: boolean;
  can_undo: boolean;
  can_redo: boolean;
  who: string;
  when: string;
};

/** a document as a tree; the text is had by `text` */
export type Document = {
  head: DocumentHead;
  /** of this tree */
  version: number;
  tree: Record<string, unknown>;
  format: "toml" | "json";
};

export type JobHead = {
  id: string;
  version: number;
  title: string;
  reference: string;
  revision: string;
  date: string;
  client: string;
  /** told from the ticks: done is what hangs and is proven, and what the office has closed (the tick job.done) */
  state: "survey" | "offered" | "building" | "hanging" | "sending" | "proof" | "done";
  pieces: number;
  pieces_done: number;
  pieces_hung: number;
  /** of the newest step */
  when: string;
  who: string;
  /** by the office, whatever is still open */
  closed: boolean;
  /** an order, which has no room */
  order: boolean;
};

/** an empty job with a box room, the demo, or an order without a room */
export type NewJob = {
  start: "room" | "demo" | "order";
  title?: string;
  /** as in the job file */
  use?: string;
  /** mm, cm, m, in, ft */
  units?: string;
  size?: Array<number | string>;
  token?: string;
  /** of an order */
  customer?: string;
  /** of an order: the id of its price book; else the program's own for these units */
  book?: string;
  /** of an order: of the carrier's rates */
  zone?: string;
  /** of an order: by the customer, no carriage */
  collected?: boolean;
  /** of an order */
  items?: Array<NewOrderLine>;
};

export type Created = {
  id: string;
  saved: Saved;
};

export type EditsRequest = {
  /** the version that the edits were made on */
  base: number;
  edits: Array<Edit>;
  note?: string;
  /** a word of the sender for this one write; sent again it changes nothing */
  token: string;
};

export type UndoRequest = {
  base: number;
  token: string;
};

export type TextRequest = {
  base: number;
  text: string;
  note?: string;
  token: string;
};

/** what would be, while a finger is down; nothing is written */
export type DraftRequest = {
  /** a word of the page: a new draft of it ends the one before */
  page: string;
  /** rising; stands in every part */
  number: number;
  base: number;
  edits: Array<Edit>;
};

/** one line of the stream */
export type DraftPart = {
  number: number;
  part: "fit" | "decay" | "response" | "done" | "errors";
  /** a quicker and less exact figure; the exact one follows the save */
  provisional: boolean;
  pieces?: Array<PieceRow>;
  decay?: Array<DecayRow>;
  bass?: Bass;
  statements?: Array<Statement>;
  errors?: Array<Complaint>;
  /** why a figure is provisional */
  note?: string;
};

export type Change = {
  sequence: number;
  /** `document`, `file`, or the name of a journal */
  topic: string;
  id: string;
  version: number;
};

export type Progress = {
  job: string;
  version: number;
  stage: string;
  /** 0 to 1 */
  share: number;
  sentence: string;
};

export type State = {
  program: string;
  sequence: number;
  /** no job yet */
  empty: boolean;
  role: "office" | "bench" | "site";
  who: string;
  /** devices of the local network may be paired */
  lan: boolean;
};

export type Material = {
  key: string;
  group: string;
  name: string;
  source: string;
};

export type Library = {
  materials: Array<Material>;
  uses: Array<string>;
  books: Array<Book>;
};

export type Paper = {
  /** `03-cut-sheet.pdf` */
  name: string;
  title: string;
  bytes: number;
};

export type FileNote = {
  name: string;
  /** `photo`, `recording`, `certificate`, `plan_picture` */
  kind: string;
  document: string;
  piece: string;
  place: string;
};

export type StoredFile = {
  id: number;
  note: FileNote;
  sha256: string;
  bytes: number;
  who: string;
  when: string;
  removed: boolean;
};

export type Entry = {
  number: number;
  subject: string;
  document: string;
  body: Record<string, unknown>;
  who: string;
  when: string;
  sequence: number;
};

/** when it was ticked stands in the body as `at`, by the clock of the device; when it arrived is set here */
export type NewEntry = {
  subject: string;
  document: string;
  body: Record<string, unknown>;
  /** a word of the sender for this one entry */
  token: string;
};

export type AppendRequest = {
  /** number of the last entry seen; null: it does not matter */
  expected: number | null;
  entries: Array<NewEntry>;
};

export type Appended = {
  refused: boolean;
  last: number;
  sequence: number;
};

/** body of an entry of the journal `ticks` */
export type Tick = {
  /** of the bench or the site, by its key */
  step: string;
  done: boolean;
  /** UTC */
  at: string;
};

/** body of an entry of the journal `time` */
export type Time = {
  station: string;
  step: string;
  started: string;
  stopped: string;
  minutes: number;
  /** then `station` is one of the shop's and `cause` what the inspection found */
  rework?: boolean;
  cause?: string;
  piece?: string;
};

export type StockLine = {
  key: string;
  kind: "timber" | "cloth" | "board" | "sheet" | "hardware";
  name: string;
  length_m: number | null;
  count: number;
  unit: string;
  offcut: boolean;
};

export type Device = {
  id: string;
  name: string;
  role: "office" | "bench" | "site";
  paired: string;
  seen: string;
};

export type PairingCode = {
  /** six digits, for ten minutes */
  code: string;
  /** what the device opens; the QR code holds it with `#/pair/CODE` behind it */
  address: string;
  expires: string;
  qr: Qr;
};

export type PairRequest = {
  code: string;
  name: string;
};

export type Ringing = {
  modes: Array<{
    hz: number;
    rigid_hz: number;
    decay_s: number | null;
  }>;
  note: string;
  octaves: Array<{
    hz: number;
    modes: number;
    t20_s: number;
  }>;
  to_hz: number;
};

export type RayFigure = {
  value: number;
  standard_error: number;
} | null;

/** how a time standard has moved */
export type TimeRow = {
  /** `each.cut`, `set_up.saw` */
  key: string;
  station: string;
  /** `cut`; `set_up` of a station */
  feature: string;
  /** what the shop document says */
  standard_min: number;
  /** learned: the median */
  estimate_min: number;
  /** 10th percentile */
  low_min: number;
  /** 90th percentile */
  high_min: number;
  /** sessions that tell of it */
  logs: number;
  /** days by person */
  days: number;
  /** days enough, and the proposal differs from the standard */
  moves: boolean;
  /** the estimate in three figures; the standard where it stays */
  proposal_min: number;
  sentence: string;
};

/** what the journal `time` says of one shop document's times */
export type ShopTimes = {
  /** id of the shop document */
  shop: string;
  /** of it, that the standards stand in */
  version: number;
  /** sessions that were counted */
  logs: number;
  rows: Array<TimeRow>;
  passed_over: Array<{
    /** how many */
    entries: number;
    reason: string;
  }>;
};

export type WriteTimes = {
  /** id of the shop document */
  shop: string;
  /** its version, as told */
  base: number;
  /** a word of the sender for this one write; sent again it changes nothing */
  token: string;
};

/** the run of a job on the calendar, days as year-month-day; see job/stages */
export type Calendar = {
  days_late: number;
  due: string;
  finish: string;
  hang: string;
  held_up_by: string;
  hung: string;
  materials: Array<{
    group: string;
    late: boolean;
    lead_days: number;
    name: string;
    needed: string;
    order_by: string;
  }>;
  start: string;
  tasks: Array<{
    day: string;
    from: string;
    people: Array<number>;
    pieces: string;
    to: string;
    what: string;
  }>;
};

/** one live job on the shop's calendar */
export type CalendarRow = {
  /** id */
  job: string;
  version: number;
  title: string;
  reference: string;
  client: string;
  /** told from the ticks and papers of the job */
  state: "survey" | "offered" | "building" | "hanging" | "proof" | "done";
  calendar: Calendar | null;
  /** why there is no calendar; else empty */
  reason: string;
};

/** a client as the jobs name them */
export type ClientRow = {
  name: string;
  jobs: Array<{
    id: string;
    title: string;
    reference: string;
    date: string;
    /** out of the way, and still kept */
    removed: boolean;
  }>;
};

export type Erase = {
  /** the client's name once more */
  confirm: string;
};

/** what was taken away, what stays for tax, and which backups still hold it */
export type ErasedClient = {
  jobs: Array<string>;
  kept: Array<{
    job: string;
    /** what stays in the job's place: number, date and totals, no name */
    text: string;
  }>;
  steps: number;
  files: number;
  entries: number;
  backups: Array<string>;
  why_kept: string;
};

/** another text of a job, side by side with it */
export type Alternative = {
  /** works wherever a job's id works for stages, drafts, papers and edits */
  id: string;
  name: string;
  /** the newest of its text */
  version: number;
  /** the job's version that it was copied from */
  of: number;
  /** of its newest step */
  who: string;
  when: string;
};

export type NewAlternative = {
  name: string;
  /** a word of the sender for this one write; sent again it changes nothing */
  token: string;
};

/** a QR code */
export type Qr = {
  /** of a side, quiet zone counted in */
  modules: number;
  /** of an SVG whose viewBox is `0 0 modules modules`: the dark modules, to be filled; light ones are the paper */
  path: string;
};

export type NewCode = {
  role: "office" | "bench" | "site";
  /** of the device; else the device names itself */
  name?: string;
};

/** body of an entry of the journal `notes` */
export type Note = {
  text: string;
  /** UTC */
  at: string;
  /** a photo that goes with it */
  file?: number;
};

export type NewOrderLine = {
  kind: "wall_panel" | "ceiling_cloud" | "straddling_trap" | "solid_trap";
  /** in the units of the order; missing: as the board */
  width?: number | string;
  height?: number | string;
  /** a key of the price book */
  cloth: string;
  count: number;
};

/** what an order needs to know of a price book; no price */
export type Book = {
  id: string;
  name: string;
  metric: boolean;
  cloths: Array<Named>;
  /** of the carrier's rates */
  zones: Array<string>;
};

export type Named = {
  key: string;
  name: string;
};

export type InspectionLimits = {
  product: string;
  width_m: number;
  height_m: number;
  mass_kg: number;
  /** what both should measure */
  diagonal_m: number;
  /** most difference of the two */
  square_within_m: number;
  /** most gap under a corner */
  flat_within_m: number;
  least_kg: number;
  most_kg: number;
};

/** body of an entry of the journal `certificate` */
export type Certificate = {
  /** empty: every piece */
  piece: string;
  material: string;
  kind: "dye_lot" | "fire" | "material";
  says: string;
  supplier?: string;
  file?: number;
};

export type InspectionFault = {
  what: string;
  /** the station */
  back_to: string;
  sentence: string;
};

/** the last word on a piece */
export type InspectedPiece = {
  label: string;
  passed: boolean;
  complete: boolean;
  /** what was not looked at yet */
  open: Array<string>;
  faults: Array<InspectionFault>;
  /** the first station that it goes back to; empty: none */
  back_to: string;
  note: string;
  who: string;
  when: string;
  /** how often */
  inspected: number;
  certificates: Array<Certificate>;
  limits: InspectionLimits;
};

export type Inspections = {
  version: number;
  pieces: Array<InspectedPiece>;
  /** pieces that have not passed */
  waiting: number;
  materials: Array<Named>;
  rework: Array<{
    cause: string;
    station: string;
    times: number;
    minutes: number;
  }>;
};

/** body of an entry of the journal `inspection` as it is sent; what is missing was not looked at. It is kept with what the shop's limits make of it */
export type Inspection = {
  diagonal_a_m?: number;
  diagonal_b_m?: number;
  corner_gap_m?: number;
  mass_kg?: number;
  cloth?: boolean;
  staples?: boolean;
  label?: boolean;
  note?: string;
  at?: string;
};

export type MeasuredFigure = {
  value: number;
  valid: boolean;
  /** where it is not valid */
  reason?: string;
};

export type MeasuredBand = {
  hz: number;
  edt_s: MeasuredFigure;
  t20_s: MeasuredFigure;
  t30_s: MeasuredFigure;
  /** from the beginning of the decay down to the noise */
  range_db: number;
};

export type MeasuredLevel = {
  hz: number;
  /** third octave, against the mean from 200 Hz to 4 kHz */
  level_db: number;
  noise_db: number;
};

export type MeasuredSide = {
  file: number;
  name: string;
  who: string;
  when: string;
  seconds: number;
  bands: Array<MeasuredBand>;
  levels: Array<MeasuredLevel>;
  /** why it says nothing; empty: it does */
  fault: string;
};

/** the newest recordings of a job, their place `before`, `after` or `sweep`, evaluated */
export type Measured = {
  before: MeasuredSide | null;
  after: MeasuredSide | null;
  /** name of the sweep that was played; null: the recordings are impulse responses */
  sweep: string | null;
  statements: Array<Statement>;
};

export type Advice = {
  version: number;
  kind: string;
  /** what `roomwright fill`, `tune`, `places` or `pressure` prints with --json; each answer of `tune` with its `product` as a tree */
  result: Record<string, unknown>;
};
