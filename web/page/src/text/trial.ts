// A change that is tried: its roll lies on the bench, with all that follows from it,
// while the text stays as it is, until the change is kept or taken back.
import { askBinary, type Splice } from "../api";
import { Cell } from "../cell";
import { plan, work } from "../state";
import { workOf, type Plan, type Work } from "../work";
import { follow, textChanges } from "./analysis";
import { lost } from "./away";
import { fits } from "./changes";
import { subject } from "./document";
import * as editor from "./editor";

export interface Trial {
  /** Who tries: another one's trial takes the place of this. */
  by: string;
  splice: Splice;
  /** Whether its roll has come. */
  there: boolean;
}

export const trial = new Cell<Trial | null>(null);

/** The text that is tried against, with its work; null while nothing is tried. */
let from: { text: string; work: Work | null; plan: Plan | null } | null = null;
let asking = false;
/** Milliseconds from a change that was tried last to its roll. */
export const trialLatency = new Cell(0);

/** The work of the text as it is written, whatever is tried. */
export function workAsWritten(): Work | null {
  return from ? from.work : work.value;
}

/** Shows what a change would make, in the place of what was tried before; nothing where the text has gone on. */
export async function tryOut(by: string, splice: Splice): Promise<void> {
  if (splice.problem || !fits(splice)) return;
  from ??= { text: editor.text(), work: work.value, plan: plan.value };
  trial.set({ by, splice, there: false });
  if (asking) return; // what is wanted last is asked for when the answer has come
  asking = true;
  let seen: Splice | null = null;
  while (trial.value && trial.value.splice !== seen) {
    const since = performance.now();
    seen = trial.value.splice;
    try {
      const answer = await askBinary("work", { ...subject(), text: seen.text, lean: true });
      if (!trial.value) break; // taken back
      if (answer.json.ok) follow(workOf(answer));
      if (trial.value.splice === seen) trial.set({ ...trial.value, there: true });
      trialLatency.set(performance.now() - since);
    } catch (e) {
      lost(e);
    }
  }
  asking = false;
}

/** Writes what is tried: one step for undo. */
export function keepTrial(): void {
  const now = trial.value;
  const was = from;
  trial.set(null);
  from = null;
  if (!now || !was || editor.text() !== was.text) return;
  editor.splice(now.splice);
}

/** Lets everything be as it was. */
export function dropTrial(): void {
  const was = from;
  trial.set(null);
  from = null;
  if (!was || work.value === was.work) return;
  if (was.work) follow(was.work, was.plan);
}

// The text has changed by other hands: there is nothing to go back to.
textChanges.watch(() => {
  trial.set(null);
  from = null;
});
