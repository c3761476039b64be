// What the server answers at the bench: the rolls of a piece, and a row to punch.
export interface Move {
  back: boolean;
  text: string;
  say: string; // empty: the paper stays
  to: string; // what the crank reads then
}
export interface Stroke {
  number: number;
  name: string;
  n: number;
  of: number;
  done: boolean;
}
export interface Patch {
  number: number; // it stays until the hole is closed
  text: string;
  slip: boolean;
  torn: boolean; // it is to be punched again when it is closed
  acrossMM: number;
  alongMM: number;
}
export interface View {
  id: string;
  journal: string;
  title: string;
  piano: string;
  spool: number;
  spools: number;
  bench: string;
  row: number; // from 1
  rows: number;
  finished: boolean;
  paused: boolean;
  done: boolean;
  looking: boolean; // it is only looked back at: the crank stays
  clicks: boolean; // the crank counts clicks
  mind: string; // what to be careful about first
  moves: Move[] | null; // none while looking back
  reading: string;
  place: string;
  leftward: boolean;
  cut: number; // strokes of the row that are there already and are not named
  strokes: Stroke[] | null;
  across: number[]; // of the strokes, 0 the left edge on the bench, 1 the right one
  bass: "left" | "right";
  lines: string[] | null;
  measure: string;
  punches: number;
  of_punches: number;
  stroke_s: number; // the pace: for every stroke so much
  row_s: number; // and for every row so much
  assumed: boolean;
  left: string;
  sessions: number;
  done_at: string;
  patches: number;
  waits: string; // why the row that was left is not done
  say: string;
  add: number;
  damaged: number;
  webMM: number;
  again: boolean;
  nothing: boolean;
  outdated: boolean;
  said: string; // what was taken down of a slip
  patch: Patch[] | null;
}
export interface Roll {
  journal: string;
  title: string;
  piano: string;
  spool: number;
  spools: number;
  fromSec: number; // the stretch of the piece
  toSec: number;
  end?: { restSec: number; crossing: number }; // of a spool that another follows
  bench: string;
  begun: boolean;
  punches: number;
  ofPunches: number;
  error?: string;
}
export interface Rolls {
  rolls: Roll[];
  mind: string[]; // what has begun on other spools
  benches: { name: string; title: string }[];
}
