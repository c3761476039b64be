// Two notes that are to meet: chosen on the paper, by mouse, touch or keys; which
// speed or start does it, what each does, and one attribute written.
import { useEffect, useState } from "preact/hooks";
import { ask, type Splice } from "../api";
import { Cell, use } from "../cell";
import { clock } from "../format";
import { repaint } from "../look/frames";
import { Swatch } from "../look/voice";
import { paintRing, type Scene } from "../paper/holes";
import { secAt } from "../paper/transport";
import { page, piano, say, showRight, spoken, work as workCell } from "../state";
import { fits } from "../text/changes";
import { subject } from "../text/document";
import { splice } from "../text/editor";
import { t } from "../words";
import type { Work } from "../work";
import { picking } from "./picking";

interface Picked {
  voice: number;
  note: number;
  slot: number;
}
interface Found {
  apart: string;
  answers: { voice: string; attribute: string; value: string; meets: boolean; says: string[]; splice: Splice }[];
  not: string[];
}

/** The notes that were chosen, of the work that they are of. */
const picked = new Cell<{ work: Work | null; notes: Picked[] }>({ work: null, notes: [] });

function notesOf(work: Work | null): Picked[] {
  return work && picked.value.work === work ? picked.value.notes : [];
}

workCell.watch((w) => {
  if (picked.value.work && picked.value.work !== w) picked.set({ work: null, notes: [] });
});
picked.watch(repaint);

function focusPaper(): void {
  page.set("paper");
  requestAnimationFrame(() => document.querySelector<HTMLElement>(".paper-canvas")?.focus());
}

/** Begins to choose, or stops. */
export function chooseNotes(): void {
  if (picking.value) return stop();
  picked.set({ work: workCell.value, notes: [] });
  picking.set(take);
  spoken.set(t("meet.first.say"));
  focusPaper();
}

function stop(): void {
  picking.set(null);
}

/** A hole was pressed, or chosen with Enter. */
function take(slot: number): void {
  const work = workCell.value;
  if (!work) return stop();
  const voice = work.slots.voice[slot];
  const note = work.slots.note[slot];
  const have = notesOf(work);
  if (voice < 0 || note <= 0) return say(t("meet.nonote"));
  if (have.some((p) => p.voice === voice)) return say(t("meet.same", { voice: work.voices[voice].name }));
  const notes = [...have, { voice, note, slot }];
  picked.set({ work, notes });
  if (notes.length === 1) return spoken.set(t("meet.second.say"));
  stop();
  showRight("meetings");
}

function Note({ work, p }: { work: Work; p: Picked }) {
  const v = work.voices[p.voice];
  return (
    <li>
      <Swatch voice={v.index} /> {t("hole.note", { voice: v.name, n: p.note })} <span class="second tabular">{clock(Math.max(0, secAt(work.pianos[piano.value].transport, work.slots.lead[p.slot])), 2)}</span>
    </li>
  );
}

function Answers({ work, notes }: { work: Work; notes: Picked[] }) {
  const [found, setFound] = useState<Found | null>(null);
  const [wrong, setWrong] = useState("");
  useEffect(() => {
    const stopped = new AbortController();
    setFound(null);
    setWrong("");
    const [a, b] = notes.map((p) => ({ voice: work.voices[p.voice].name, note: p.note }));
    const { name, text } = subject();
    ask<Found>("meet", { name, text, a, b }, stopped.signal)
      .then(setFound)
      .catch((e) => stopped.signal.aborted || setWrong(e instanceof Error ? e.message : String(e)));
    return () => stopped.abort();
  }, [work, notes]);
  if (wrong) return <p class="note note-red" role="alert">{wrong}</p>;
  if (!found) return <p role="status">{t("meet.asking")}</p>;
  const keep = (s: Splice) => {
    if (!fits(s)) return say(t("meet.moved"));
    splice(s, true);
    say(t("meet.kept", { what: s.label ?? s.insert }));
  };
  return (
    <>
      <p role="status">{t("meet.apart", { apart: found.apart })}</p>
      {found.answers.length === 0 && <p class="note note-amber">{t("meet.none")}</p>}
      <ul>
        {found.answers.map((a) => (
          <li key={`${a.voice} ${a.attribute} ${a.value}`} class={a.meets ? "finding finding-met" : "finding"}>
            <p class="meet-answer">
              {a.voice}: <code>{`${a.attribute} = ${a.value}`}</code>
            </p>
            <ul>
              {a.says.map((s) => (
                <li key={s}>{s}</li>
              ))}
            </ul>
            <button type="button" onClick={() => keep(a.splice)} aria-label={`${t("meet.keep")}: ${a.splice.label}`}>
              {t("meet.keep")}
            </button>
          </li>
        ))}
      </ul>
      {found.not.map((n) => (
        <p class="second" key={n}>
          {n}
        </p>
      ))}
    </>
  );
}

export function MeetThese() {
  const work = use(workCell);
  const on = use(picking) !== null;
  const { notes } = use(picked);
  const have = notesOf(work);
  if (!work || subject().text === "") return null;
  return (
    <section class="meet-these">
      <h2>{t("meet.title")}</h2>
      <p class="second">{t(on ? (have.length === 0 ? "meet.first" : "meet.second") : "meet.lead")}</p>
      <button type="button" aria-pressed={on} onClick={chooseNotes} disabled={work.voices.length < 2} aria-keyshortcuts="m">
        {t(on ? "meet.stop" : "meet.choose")} <kbd>M</kbd>
      </button>
      {have.length > 0 && (
        <ul class="picked">
          {have.map((p) => (
            <Note key={p.slot} work={work} p={p} />
          ))}
        </ul>
      )}
      {have.length === 2 && <Answers work={work} notes={notes} />}
    </section>
  );
}

/** While notes are chosen, the way on stands over the paper. */
export function PickingLine() {
  const on = use(picking) !== null;
  const { notes } = use(picked);
  if (!on) return null;
  return (
    <div class="picking note" role="status">
      {t(notes.length === 0 ? "meet.first" : "meet.second")}
      <button type="button" onClick={stop}>
        {t("cancel")}
      </button>
    </div>
  );
}

/** Rings about the notes that were chosen, and a line between them. */
export function paintPicked(s: Scene): void {
  const have = notesOf(s.work);
  if (have.length === 0) return;
  const { ctx, view } = s;
  for (const p of have) paintRing(s, p.slot, s.look.print, 3);
  if (have.length < 2) return;
  const at = (p: Picked): [number, number] => [view.x(s.piano.ports[s.work.slots.port[p.slot]].across), view.y(s.work.slots.lead[p.slot])];
  ctx.strokeStyle = s.look.print;
  ctx.lineWidth = 2;
  ctx.setLineDash([6, 5]);
  ctx.beginPath();
  ctx.moveTo(...at(have[0]));
  ctx.lineTo(...at(have[1]));
  ctx.stroke();
  ctx.setLineDash([]);
}

/** For tests. */
export const meetState = { picked, picking };
