// A hole and its item in the text light each other: what is pointed at on the paper is
// marked in the text, and what the cursor stands on is ringed on the paper. The music
// starts there.
import { StateEffect, StateField } from "@codemirror/state";
import { Decoration, EditorView, type DecorationSet } from "@codemirror/view";
import { ask } from "../api";
import { Cell } from "../cell";
import { repaint } from "../look/frames";
import { heard, pause, playFrom } from "../sound/player";
import { work as workCell } from "../state";
import type { Work } from "../work";
import { analysed } from "./analysis";
import { cursor, editor, text } from "./editor";
import { trial } from "./trial";

interface Stretch {
  from: number;
  to: number;
}
const light = StateEffect.define<Stretch | null>();
const mark = Decoration.mark({ class: "cm-lit" });

/** What is lit in the text; a change of the text puts it out. */
const lit = StateField.define<DecorationSet>({
  create: () => Decoration.none,
  update(now, tr) {
    for (const e of tr.effects) if (e.is(light)) return e.value ? Decoration.set([mark.range(e.value.from, e.value.to)]) : Decoration.none;
    return tr.docChanged ? Decoration.none : now;
  },
  provide: (f) => EditorView.decorations.from(f),
});

/** Whether what is known is of the text as it stands. */
function same(work: Work | null): work is Work {
  return work !== null && work === workCell.value && trial.value === null && analysed.value === text();
}

function show(s: Stretch | null, scroll: boolean): void {
  if (!editor.state.field(lit, false)) {
    if (!s) return;
    editor.dispatch({ effects: StateEffect.appendConfig.of(lit) });
  }
  const inside = s && s.to > s.from && s.to <= editor.state.doc.length ? s : null;
  const effects: StateEffect<unknown>[] = [light.of(inside)];
  if (inside && scroll) effects.push(EditorView.scrollIntoView(inside.from, { y: "nearest", yMargin: 40 }));
  editor.dispatch({ effects });
}

let pointed = "";

/** Marks the item of a note in the text; voice -1: none. */
export async function lightItem(voice: number, note: number): Promise<void> {
  const work = workCell.value;
  const what = work && voice >= 0 && note > 0 ? `${work.id} ${voice} ${note}` : "";
  if (what === pointed) return;
  pointed = what;
  if (!what || !same(work)) return show(null, false);
  try {
    const at = await ask<Stretch>("item", { id: work.id, voice, note });
    if (pointed === what && same(work)) show(at, true);
  } catch {
    // the next hole asks again
  }
}

export interface Lit {
  work: Work;
  /** Notes of each voice. */
  notes: Map<number, Set<number>>;
}
/** What is ringed on the paper. */
export const litHoles = new Cell<Lit | null>(null);
litHoles.watch(repaint);

interface Holes {
  voices: number[];
  notes: number[];
  sec: number;
}

async function holes(work: Work): Promise<Holes> {
  return ask<Holes>("holes", { id: work.id, at: cursor.value, after: heard() });
}

const after = 60; // milliseconds of a cursor at rest
let timer = 0;

/** Rings the notes of the item that the cursor stands on, while somebody is in the text. */
async function follow(): Promise<void> {
  const work = workCell.value;
  if (!editor.hasFocus || !same(work)) return litHoles.set(null);
  try {
    const found = await holes(work);
    if (!same(work) || found.notes.length === 0) return litHoles.set(null);
    const notes = new Map<number, Set<number>>();
    found.notes.forEach((n, i) => {
      const v = found.voices[i];
      if (!notes.has(v)) notes.set(v, new Set());
      notes.get(v)!.add(n);
    });
    litHoles.set({ work, notes });
  } catch {
    litHoles.set(null);
  }
}

function later(): void {
  clearTimeout(timer);
  timer = window.setTimeout(() => void follow(), after);
}

cursor.watch(later);
workCell.watch(later);
editor.contentDOM.addEventListener("focus", later);
editor.contentDOM.addEventListener("blur", () => litHoles.set(null));

/** Plays from the note that the cursor stands on; from where the paper is when it stands on none. */
export async function playFromCursor(): Promise<void> {
  pause();
  const work = workCell.value;
  let sec = heard();
  if (same(work)) {
    try {
      const found = await holes(work);
      if (found.sec >= 0) sec = found.sec;
    } catch {
      // from where the paper is, then
    }
  }
  playFrom(sec);
}
