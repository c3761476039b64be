// What the server makes of the text: one question at a time, always of the
// latest text.
import { ask, askBinary, Refusal, type Subject } from "../api";
import { Cell } from "../cell";
import { complaints, plan, stale, trouble, work } from "../state";
import { t } from "../words";
import { workOf, type Complaint, type Finding, type Plan } from "../work";
import { lost } from "./away";
import * as editor from "./editor";

/** Milliseconds from the last change of the text to its roll. */
export const latency = new Cell(0);

let asking = false;
let again = false;
let changedAt = 0;

/** The text is another one, typed now, or opened. */
export function textChanged(typed: boolean): void {
  changedAt = typed ? performance.now() : 0;
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
      const answer = await askBinary("work", { ...subject(), lean: true });
      const errors = (answer.json.errors ?? []) as Complaint[];
      if (again && errors.length > 0) continue; // typed on: it may be mended already
      complaints.set(errors);
      stale.set(!answer.json.ok);
      if (answer.json.ok) {
        const next = workOf(answer);
        if (next.id !== work.value?.id) {
          work.set(next);
          planLater();
        }
      }
      if (since) latency.set(performance.now() - since);
      mark();
      trouble.set("");
    } catch (e) {
      lost(e);
    }
  } while (again);
  asking = false;
}

// The plan takes longer where voices are many: it waits for a pause in typing.

const planAfter = 120; // milliseconds
let planning = 0;
let asked = false;

function planLater(): void {
  clearTimeout(planning);
  planning = window.setTimeout(askPlan, planAfter);
}

async function askPlan(): Promise<void> {
  if (asked) return planLater();
  const w = work.value;
  if (!w) return;
  asked = true;
  try {
    const answer = await ask<Plan>("plan", { id: w.id });
    if (work.value === w) plan.set(answer);
  } catch (e) {
    if (!(e instanceof Refusal)) lost(e); // else the text has gone on meanwhile
  }
  asked = false;
}

/** Errors, and the findings' lines, in the margin of the text. */
function mark(): void {
  const marks = complaints.value.map((c) => ({
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

