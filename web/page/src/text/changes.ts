// Changes of the text that are not typed: by fields and by remedies. The server
// says which bytes change; the editor changes them, so that undo knows.
import { ask, Refusal, type Splice } from "../api";
import { say } from "../state";
import { t } from "../words";
import type { Finding } from "../work";
import { lost } from "./away";
import { open } from "./document";
import * as editor from "./editor";

/** Writes one attribute of a block; null takes it away. Gives back what is wrong, or an empty text. */
export async function setAttribute(path: string[], attr: string, value: string | null): Promise<string> {
  for (let tries = 0; tries < 3; tries++) {
    const text = editor.text();
    try {
      const s = await ask<Splice>("set", { text, path, attr, value });
      if (s.problem) return s.problem;
      if (editor.text() !== text) continue; // typed meanwhile
      if (s.from !== s.to || s.insert) editor.splice(s.from, s.to, s.insert);
      return "";
    } catch (e) {
      lost(e);
      return "";
    }
  }
  return "";
}

/** What a remedy would write into a text; null where nothing helps. */
export interface Proposal {
  text: string;
  splice: Splice | null;
  line: number; // where, from 1
}

/** One after the other: each is a trial of the whole piece. */
let line: Promise<unknown> = Promise.resolve();

/** Works out what a remedy would write, without writing it. Gives nothing when it is stopped. */
export function propose(finding: Finding, stop: AbortSignal): Promise<Proposal | null> {
  const next = line.then(async () => {
    if (stop.aborted) return null;
    const text = editor.text();
    try {
      const splice = await ask<Splice>("remedy", { name: open.value?.name ?? "", text, finding: finding.id }, stop);
      return { text, splice, line: text.slice(0, splice.from).split("\n").length };
    } catch (e) {
      return e instanceof Refusal && e.status === 422 ? { text, splice: null, line: 0 } : null;
    }
  });
  line = next;
  return next;
}

/** Writes a remedy into the text; what was worked out for this very text is not worked out again. */
export async function remedy(finding: Finding, proposal: Proposal | null): Promise<void> {
  const text = editor.text();
  try {
    const ready = proposal?.text === text ? proposal.splice : null;
    const s = ready ?? (await ask<Splice>("remedy", { name: open.value?.name ?? "", text, finding: finding.id }));
    if (editor.text() !== text) return;
    editor.splice(s.from, s.to, s.insert, true);
    say(t("remedy.done", { what: s.label ?? s.insert.trim() }));
  } catch (e) {
    if (e instanceof Refusal && e.status === 422) say(e.message);
    else lost(e);
  }
}
