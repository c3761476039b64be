// The analysis of a text: the music, its paper, its findings, as the server
// worked them out. The page only looks things up in it.
import type { Answer } from "./container";

export interface Complaint {
  line: number;
  column: number;
  from: number;
  to: number;
  problem: string;
  hint: string;
  file?: string; // another file that is at fault
  mend?: { from: number; to: number; insert: string; label: string }; // what the hint says to write, tried
}
export interface FieldText {
  text: string;
  from: number;
  to: number;
}
/** A block of the text as far as it can be read. */
export interface Part {
  type: string;
  name: string;
  path: string[];
  line: number;
  from: number;
  to: number;
  fields: Record<string, FieldText | undefined>;
}
/** All blocks, and what stands outside them. */
export interface Parts {
  list: Part[];
  top: Record<string, FieldText | undefined>;
}
export interface Range {
  from: number;
  count: number;
}
export interface Voice {
  index: number;
  name: string;
  piano: string;
  canon: string;
  section: string;
  line: number;
  from: number;
  to: number;
  notes: number;
  events: number;
  startSec: number;
  endSec: number;
  color: string[];
  talea: string[];
  taleae: number;
  colores: number;
  complete: { notes: number; colores: number; taleae: number } | null;
  unit: string;
  secPerUnit: number | null;
  fields: Record<string, FieldText | null>;
  inherited?: Record<string, string>;
  path: string[];
}
export interface Port {
  across: number;
  role: "note" | "sustain" | "soft" | "theme-bass" | "theme-treble" | "level";
  key: number;
  pitch: string;
}
export interface Transport {
  spool: boolean;
  v0: number;
  radius: number;
  thickness: number;
  slowing?: number;
}
export interface Piano {
  name: string;
  instrument: string;
  title: string;
  hammers: string;
  tuning: string;
  rollTempo: number;
  paper: {
    width: number;
    edge: number;
    leader: number;
    trailer: number;
    musicMM: number;
    lengthMM: number;
    bass: "left" | "right";
    travel: "down" | "up";
  };
  ports: Port[];
  bar: { height: number; width: number };
  die: number;
  step: number;
  transport: Transport;
  slots: Range;
  once: number; // notes at one time, at most
  maxOnce: number; // that the wind serves
  strokesPerSec: number;
}
export type Severity = "forbids" | "risks" | "note";
export interface Place {
  sec: number;
  alongMM: number;
  acrossMM: number;
  port: number;
  voice: number;
  note: number;
  line: number;
  from: number;
  to: number;
  message: string; // of this one
  piano: number;
}
export interface Finding {
  id: string;
  severity: Severity;
  kind: string;
  title: string;
  message: string; // of the worst
  fromSec: number;
  toSec: number;
  remedy: string;
  fix: boolean;
  count: number;
  piano: number;
  voice: number;
  places: Place[];
}
export interface Meeting {
  sec: number;
  noteA: number;
  noteB: number;
}
export interface Pair {
  a: string;
  b: string;
  ratio: string | null;
  decimal: number | null;
  commensurable: string;
  count: number;
  reason: string;
  next: string;
  meets: Meeting[];
  near: (Meeting & { distSec: number })[];
}
export interface Plan {
  pairs: Pair[];
  density: { binSec: number; counts: number[] };
  tempo: { voice: number; points: [number, number][] }[];
}
export interface Slots {
  port: Int32Array;
  lead: Float64Array;
  trail: Float64Array;
  first: Float64Array;
  last: Float64Array;
  punches: Int32Array;
  voice: Int32Array;
  note: Int32Array;
}
export interface Events {
  start: Float64Array;
  end: Float64Array;
  voice: Int32Array;
  note: Int32Array;
  key: Uint8Array;
  level: Uint8Array;
  piano: Uint8Array;
}
/** The items of one voice, in the order of performance. */
export interface Items {
  at: Float64Array;
  len: Float64Array;
  color: Int32Array;
  talea: Int32Array;
  note: Int32Array;
  colorN: Int32Array;
  taleaN: Int32Array;
}
export interface Work {
  id: string;
  title: string;
  durationSec: number;
  voices: Voice[];
  pianos: Piano[];
  findings: Finding[];
  slots: Slots;
  roll: Events; // what the paper plays
}

function events(a: Answer["arrays"], prefix: string): Events {
  const pick = (name: string) => a[prefix + name] as never;
  return {
    start: pick("start"),
    end: pick("end"),
    voice: pick("voice"),
    note: pick("note"),
    key: pick("key"),
    level: pick("level"),
    piano: pick("piano"),
  };
}

/** The score's events in an answer. */
export function scoreOf(answer: Answer): Events {
  return events(answer.arrays, "ev_");
}

/** The items of one voice in an answer. */
export function itemsOf({ arrays }: Answer): Items {
  const item = (name: string) => arrays["item_" + name] as never;
  return {
    at: item("at"),
    len: item("len"),
    color: item("color"),
    talea: item("talea"),
    note: item("note"),
    colorN: item("color_n"),
    taleaN: item("talea_n"),
  };
}

/** The analysis in an answer that is ok. */
export function workOf({ json, arrays }: Answer): Work {
  const slot = (name: string) => arrays["slot_" + name] as never;
  const head = json as unknown as Work;
  head.voices.forEach((v, i) => (v.index = i));
  return {
    ...head,
    findings: head.findings ?? [],
    slots: {
      port: slot("port"),
      lead: slot("lead"),
      trail: slot("trail"),
      first: slot("first"),
      last: slot("last"),
      punches: slot("punches"),
      voice: slot("voice"),
      note: slot("note"),
    },
    roll: events(arrays, "re_"),
  };
}

/** The first index in [from, to) whose value is more than x; to when there is none. */
export function after(values: ArrayLike<number>, x: number, from = 0, to = values.length): number {
  while (from < to) {
    const mid = (from + to) >>> 1;
    if (values[mid] > x) to = mid;
    else from = mid + 1;
  }
  return from;
}

/** The item that is under way at a time; -1 before the first one. */
export function itemAt(items: Items, sec: number): number {
  return after(items.at, sec) - 1;
}
