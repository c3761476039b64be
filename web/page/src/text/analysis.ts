// What the server makes of the text: one question at a time, always of the
// latest text.
import { ask, askBinary, Refusal, type Subject } from "../api";
import { Cell } from "../cell";
import { complaints, empty, found, outline, plan, stale, trouble, work } from "../state";
import { t } from "../words";
import { workOf, type Complaint, type Finding, type Plan, type Work, type Part, type Parts } from "../work";
import { repaint } from "../look/frames";
import { lost } from "./away";
import * as editor from "./editor";

/** Milliseconds from the last change of the text to its roll. */
export const latency = new Cell(0);
/** The text that the errors are of. */
export const analysed = new Cell("");

let asking = false;
let again = false;
let changedAt = 0;
let own = ""; // the work of the text itself, and of no trial
let fresh = true; // the text is another piece's than that of the work

/** Counts the changes of the text. */
export const textChanges = new Cell(0);

/** The text is another one, typed now, or opened. */
export function textChanged(typed: boolean): void {
  textChanges.update((n) => n + 1);
  changedAt = typed ? performance.now() : 0;
  fresh ||= !typed;
  void analyse();
}

let subject = (): Subject => ({ name: "", text: editor.text() });
/** Tells what is worked on: a text with its name, from which paths in it count. */
export function ofText(of: () => Subject): void {
  subject = of;
}

/** Asks what follows from the text, now or when the question before is answered. */
export async function analyse(): Promise<void> {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  do {
    again = false;
    const since = changedAt;
    try {
      const about = subject();
      const answer = await askBinary("work", { ...about, lean: true });
      const errors = (answer.json.errors ?? []) as Complaint[];
      if (again && errors.length > 0) continue; // typed on: it may be mended already
      analysed.set(about.text);
      complaints.set(errors);
      outline.set({ list: (answer.json.outline ?? []) as Part[], top: (answer.json.top ?? {}) as Parts["top"] });
      empty.set(!!answer.json.empty);
      stale.set(!answer.json.ok && !answer.json.empty);
      if (!answer.json.ok && (fresh || answer.json.empty)) {
        work.set(null); // what lay there was of another piece, or of nothing
        found.set(null);
        plan.set(null);
      }
      if (answer.json.ok) {
        const next = workOf(answer);
        own = next.id;
        if (next.id !== work.value?.id) follow(next);
      }
      fresh = false;
      if (since) latency.set(performance.now() - since);
      mark();
      trouble.set("");
    } catch (e) {
      lost(e);
    }
  } while (again);
  asking = false;
}

/** Shows a work, and asks for its plan where that is not known. */
export function follow(next: Work, known: Plan | null = null): void {
  const fits = !fresh && found.value !== null;
  const looked = next === found.value || next.findings.length > 0;
  if (!looked && fits) next.findings = found.value!.findings.filter((f) => f.voice < next.voices.length);
  work.set(next);
  if (known) plan.set(known);
  else planLater();
  if (known && looked) found.set(next);
  else findLater();
}

// The findings and the plan take longer than the roll: they are asked for at once where
// they come soon, else when the text, or a hand, has rested for twice as long as they take.

const soon = 60; // milliseconds
const rest = (took: number): number => (took > soon ? Math.min(1000, 2 * took) : 0);

/** A question about the work that lies there, put once at a time; it is taken to take so many milliseconds at first. */
function later(took: number, put: (w: Work) => Promise<void>): () => void {
  let timer = 0;
  let asking = false;
  const start = () => {
    clearTimeout(timer);
    timer = window.setTimeout(run, rest(took));
  };
  const run = async () => {
    const w = work.value;
    if (asking || !w) return; // it asks again when the answer has come
    asking = true;
    const since = performance.now();
    try {
      await put(w);
    } catch (e) {
      lost(e);
    }
    took = performance.now() - since;
    asking = false;
    if (work.value !== w) start();
  };
  return start;
}

const findLater = later(0, async (w) => {
  const answer = await ask<{ gone: boolean; findings: Finding[]; once: number[] }>("findings", { id: w.id });
  if (work.value !== w || answer.gone) return;
  w.findings = answer.findings;
  w.pianos.forEach((p, i) => (p.once = answer.once[i] ?? 0));
  found.set(w);
  if (w.id === own) mark();
  repaint();
});

const planLater = later(2 * soon, async (w) => {
  try {
    const answer = await ask<Plan>("plan", { id: w.id });
    if (work.value === w) plan.set(answer);
  } catch (e) {
    if (!(e instanceof Refusal)) throw e; // else the text has gone on meanwhile
  }
});

/** Errors, and the findings' lines, in the margin of the text. */
function mark(): void {
  const marks = complaints.value.filter((c) => !c.file).map((c) => ({
    from: c.from,
    to: Math.max(c.to, c.from + 1),
    severity: "error" as const,
    message: c.hint ? `${c.problem}\n${c.hint}` : c.problem,
  }));
  if (marks.length === 0 && work.value) editor.mark(work.value.findings.flatMap(findingMarks));
  else editor.mark(marks);
}

function findingMarks(f: Finding) {
  if (f.severity === "note") return [];
  const p = f.places.find((p) => p.line > 0);
  if (!p) return [];
  const severity = f.severity === "forbids" ? ("error" as const) : ("warning" as const);
  return [{ from: p.from, to: p.to, severity, message: `${t(`severity.${f.severity}`)}: ${f.message}` }];
}

