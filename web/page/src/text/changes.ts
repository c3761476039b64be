// Changes of the text that are not typed: by fields and by remedies. The server
// says which bytes change; the editor changes them, so that undo knows.
import { ask, type Splice } from "../api";
import { say } from "../state";
import { t } from "../words";
import type { Finding } from "../work";
import { lost } from "./away";
import { subject } from "./document";
import * as editor from "./editor";

/** Whether a splice was made for the text as it stands. */
export function fits(s: Splice): boolean {
  const text = editor.text();
  return text.slice(0, s.from) + s.insert + text.slice(s.to) === s.text;
}

/** Writes what the server makes of the text, made anew where it was typed on meanwhile. Gives back what is wrong, or an empty text. */
async function written(make: (text: string) => Promise<Splice>): Promise<string> {
  for (let tries = 0; tries < 3; tries++) {
    const text = editor.text();
    try {
      const s = await make(text);
      if (s.problem) return s.problem;
      if (editor.text() !== text) continue; // typed meanwhile
      editor.splice(s);
      return "";
    } catch (e) {
      lost(e);
      return "";
    }
  }
  return "";
}

/** Writes one attribute of a block; null takes it away. Gives back what is wrong, or an empty text. */
export function setAttribute(path: string[], attr: string, value: string | null): Promise<string> {
  return written((text) => ask("set", { text, path, attr, value }));
}

/** One of several changes that belong together; each counts from the text that the one before has left. */
export type Edit =
  | { do: "set"; path: string[]; attr: string; value: string | null }
  | { do: "add"; path: string[]; block: string }
  | { do: "drop"; path: string[] }
  | { do: "name"; path: string[]; value: string };

/** Makes several changes as one that undo takes back. Gives back what is wrong, or an empty text. */
export function edit(edits: Edit[]): Promise<string> {
  return written((text) => ask("edit", { text, edits }));
}

/** How many findings a piece has, by severity. */
export interface Counts {
  forbids: number;
  risks: number;
  notes: number;
}
/** What a change does to the music and to the paper. */
export interface Cost {
  notes: number;
  shorter: number;
  shorterMS: number;
  longer: number;
  longerMS: number;
  pitch: number;
  out: number;
  added: number;
  time: number;
  voices: string[];
  more: number;
  paperMM: number;
  laterSec: number;
}
/** A change that was written into the text and tried. */
export interface Remedy {
  key: string;
  way: string;
  splice: Splice;
  line: number;
  before: string[];
  after: string[];
  cost: Cost;
  of: number;
  left: number;
  now: Counts;
  then: Counts;
}

const most = 6; // remedies for a finding

/** One after the other: each is a trial of the whole piece. */
let queue: Promise<unknown> = Promise.resolve();

/** Looks for remedies against a finding at one of its places, and tells of each as it is found, until stopped. */
export function remedies(finding: Finding, place: number, stop: AbortSignal, tell: (found: Remedy[], over: boolean) => void): void {
  queue = queue.then(async () => {
    const text = editor.text();
    const found: Remedy[] = [];
    let from = 0;
    while (!stop.aborted && found.length < most) {
      const asked = { name: subject().name, text, finding: finding.id, place, from, skip: found.map((r) => r.key) };
      let answer: { remedy: Remedy | null; next: number };
      try {
        answer = await ask("remedy", asked, stop);
      } catch {
        break; // stopped, or the text has gone on
      }
      if (stop.aborted) return;
      if (!answer.remedy) break;
      found.push(answer.remedy);
      from = answer.next;
      tell([...found], false);
    }
    if (!stop.aborted) tell([...found], true);
  });
}

/** Writes a remedy into the text that it was tried with. */
export function write(r: Remedy): void {
  if (!fits(r.splice)) return;
  editor.splice(r.splice, true);
  say(t("remedy.done", { what: r.splice.label ?? r.splice.insert.trim() }));
}
