// What if: the numbers of the chosen voice can be turned, and what follows from them is
// there while they turn. Nothing is written until it is kept.
import { useEffect, useRef, useState } from "preact/hooks";
import { ask, type Splice } from "../api";
import { Cell, use } from "../cell";
import { clock, number } from "../format";
import { Swatch } from "../look/voice";
import { chosen, complaints, found, say, work as workCell } from "../state";
import { analysed, textChanges } from "../text/analysis";
import { lost } from "../text/away";
import { open, subject } from "../text/document";
import { text } from "../text/editor";
import { dropTrial, keepTrial, trial, tryOut, workAsWritten } from "../text/trial";
import { t, tn } from "../words";
import type { Work } from "../work";
import { chooseNotes } from "./meet";

interface Turn {
  id: string;
  of: string;
  path: string[];
  attr: string;
  before: string;
  after: string;
  value: string;
  now: number;
  low: number;
  high: number;
  ratio: boolean;
  places: number;
  stops: { value: string; at: number }[];
  survey: string;
}
interface Effects {
  gone: boolean;
  lengthSec: number;
  meetings: number;
  together: number;
  apartMS: number;
  closestMS: number | null;
  hands: string;
}
interface Row {
  value: string;
  decimal: number;
  meetings: number;
  together: number;
  length_s: number;
  forbids: number;
}

const who = "what if";
const ways = 1000; // of a slider from end to end
const near = 7; // ways within which a stop holds it
/** Whether sliders stop at simple numbers. */
const stopping = new Cell(true);
/** Where each slider stands, as long as something is tried. */
const standing = new Cell<Record<string, { way: number; value: string }>>({});
trial.watch((now) => {
  if (now?.by !== who) standing.set({});
});

function wayOf(turn: Turn, x: number): number {
  const share = turn.ratio ? Math.log(x / turn.low) / Math.log(turn.high / turn.low) : (x - turn.low) / (turn.high - turn.low);
  return Math.round(share * ways);
}

/** The number at a place of the slider: a simple one where one is near, else one in between. */
function valueAt(turn: Turn, way: number, stop: boolean): string {
  const share = way / ways;
  const x = turn.ratio ? turn.low * (turn.high / turn.low) ** share : turn.low + (turn.high - turn.low) * share;
  const within = turn.places === 0 ? Infinity : near;
  if (stop || turn.places === 0) {
    let best: { value: string; off: number } | null = null;
    for (const s of turn.stops) {
      const off = Math.abs(wayOf(turn, s.at) - way);
      if (off <= within && (!best || off < best.off)) best = { value: s.value, off };
    }
    if (best) return best.value;
  }
  return String(Number(x.toFixed(turn.places)));
}

let wish: { turn: Turn; value: string } | null = null;
let busy = false;
let tries = 0; // counts what was taken back: an answer to what was asked before is for nobody
let keeping = false;

/** Tries the number that is wanted last. */
async function tryNumber(turn: Turn, value: string): Promise<void> {
  wish = { turn, value };
  if (busy) return;
  busy = true;
  while (wish) {
    const now: { turn: Turn; value: string } = wish;
    const of = tries;
    wish = null;
    try {
      const s = await ask<Splice>("set", { text: text(), path: now.turn.path, attr: now.turn.attr, value: now.turn.before + now.value + now.turn.after });
      if (of !== tries) continue;
      if (s.problem) say(s.problem);
      else await tryOut(who, { ...s, label: `${now.turn.attr} = ${now.turn.before}${now.value}${now.turn.after}` });
    } catch (e) {
      lost(e);
    }
  }
  busy = false;
  if (keeping) keep();
}

/** Lets everything be as it was. */
function drop(): void {
  tries++;
  wish = null;
  keeping = false;
  standing.set({});
  if (trial.value?.by === who) dropTrial();
}

/** Writes what was turned to last, as soon as it has come. */
function keep(): void {
  keeping = busy;
  if (busy) return;
  const label = trial.value?.splice.label ?? "";
  keepTrial();
  say(t("whatif.kept", { what: label }));
}

/** How long a notch is: longest at what is written, long at whole numbers, octaves and tens. */
function notch(turn: Turn, s: { value: string; at: number }): number {
  if (s.value === turn.value) return 10;
  if (!turn.ratio) return s.at % 12 === 0 ? 10 : 5;
  if (turn.attr === "tempo") return s.at % 10 === 0 ? 8 : 5;
  return s.value.length === 1 ? 10 : s.value.length === 3 ? 7 : 4;
}

/** A slider with its notches. */
function Slider({ turn }: { turn: Turn }) {
  const all = use(standing);
  const stop = use(stopping);
  const at = all[turn.id] ?? { way: wayOf(turn, turn.now), value: turn.value };
  const id = `turn-${turn.id.replace(/[^\w]+/g, "-")}`;
  const move = (way: number) => {
    const value = valueAt(turn, way, stop);
    const before = at.value;
    standing.set({ [turn.id]: { way, value } });
    if (value !== before) void tryNumber(turn, value);
  };
  return (
    <div class="turn">
      <label for={id}>{t(turn.attr === "speeds" ? "whatif.share" : `field.${turn.attr}`)}</label>
      <output for={id} class="tabular">
        {at.value}
      </output>
      <input
        type="range"
        id={id}
        min={0}
        max={ways}
        step={turn.places === 0 ? ways / (turn.high - turn.low) : 1}
        value={at.way}
        aria-valuetext={at.value}
        onInput={(e) => move(Number(e.currentTarget.value))}
        onKeyDown={(e) => {
          if (e.key === "Enter" && trial.value) keep();
          else if (e.key === "Escape" && trial.value) {
            e.stopPropagation();
            drop();
          } else return;
          e.preventDefault();
        }}
      />
      <svg class="notches" viewBox={`0 0 ${ways} 10`} preserveAspectRatio="none" aria-hidden="true">
        {turn.stops.map((s) => (
          <path key={s.value} d={`M${wayOf(turn, s.at)} 0 V${notch(turn, s)}`} />
        ))}
      </svg>
    </div>
  );
}

/** What a work comes to for a voice; it comes a little later. */
function useEffects(work: Work | null, voice: number): Effects | null {
  const [known, setKnown] = useState<{ work: Work | null; voice: number; is: Effects | null }>({ work: null, voice: -1, is: null });
  useEffect(() => {
    if (!work) return;
    let current = true;
    const timer = setTimeout(
      () =>
        ask<Effects>("effects", { id: work.id, voice })
          .then((is) => current && !is.gone && setKnown({ work, voice, is }))
          .catch(lost),
      60,
    );
    return () => {
      current = false;
      clearTimeout(timer);
    };
  }, [work, voice]);
  return known.voice === voice ? known.is : null;
}

function counts(work: Work | null): Record<string, number> {
  const out: Record<string, number> = { forbids: 0, risks: 0 };
  for (const f of work?.findings ?? []) out[f.severity] = (out[f.severity] ?? 0) + f.count;
  return out;
}

/** Now, and with what is tried, side by side. */
function Comes({ voice }: { voice: number }) {
  const tried = use(trial) !== null;
  const now = use(workCell);
  const looked = use(found) === now;
  const written = workAsWritten();
  const a = useEffects(written, voice);
  const b = useEffects(tried ? now : null, voice);
  const before = useRef(counts(written));
  if (!tried && looked) before.current = counts(now);
  const after = counts(now);
  const row = (name: string, x: string, y: string, more = "") => (
    <tr class={tried && x !== y && y ? "changed" : undefined}>
      <th scope="row">{name}</th>
      <td class="tabular">{x}</td>
      {tried && (
        <td class="tabular" title={more || undefined}>
          {y || "…"}
        </td>
      )}
    </tr>
  );
  const closest = (e: Effects | null) => (e ? (e.closestMS === null ? "–" : `${number(e.closestMS, 1)} ms`) : "");
  const of = (e: Effects | null, x: (e: Effects) => string) => (e ? x(e) : "");
  return (
    <>
      <table class="comes" aria-live="off">
        <thead>
          <tr>
            <td />
            <th scope="col">{t("whatif.now")}</th>
            {tried && <th scope="col">{t("whatif.with")}</th>}
          </tr>
        </thead>
        <tbody>
          {row(t("whatif.length"), of(a, (e) => clock(e.lengthSec, 2)), of(b, (e) => clock(e.lengthSec, 2)))}
          {row(t("whatif.meetings"), of(a, (e) => number(e.meetings)), of(b, (e) => number(e.meetings)))}
          {row(t("whatif.together", { ms: number(a?.apartMS ?? 0) }), of(a, (e) => number(e.together)), of(b, (e) => number(e.together)))}
          {row(t("whatif.closest"), closest(a), closest(b))}
          {row(t("severity.forbids"), number(before.current.forbids), looked ? number(after.forbids) : "")}
          {row(t("severity.risks"), number(before.current.risks), looked ? number(after.risks) : "")}
        </tbody>
      </table>
      {a?.hands && (
        <p class="second">
          {a.hands}
          {tried && b && b.hands !== a.hands && (
            <>
              <br />
              <strong>{t("whatif.hands", { hands: b.hands })}</strong>
            </>
          )}
        </p>
      )}
    </>
  );
}

/** Every simple number of a slider's way, with what it does; ready says whether the slider is that of the work as written. */
function Survey({ turn, ready }: { turn: Turn; ready: boolean }) {
  const [rows, setRows] = useState<Row[] | null>(null);
  const [wrong, setWrong] = useState("");
  const [wanted, setWanted] = useState(""); // the number that was asked for and has not been answered
  const asking = wanted === turn.survey;
  const changes = use(textChanges);
  const read = use(analysed); // the text that the turns are of, when they have come
  useEffect(() => {
    setRows(null);
    setWrong("");
  }, [turn]);
  // It is asked of the text that lies there, in the range of its own number: both may still
  // be on their way, and what was asked of another text is for nobody.
  useEffect(() => {
    if (!asking || !ready || read !== text()) return;
    const stop = new AbortController();
    const about = { name: subject().name, text: text(), number: turn.survey, from: turn.now / 2, to: turn.now * 2 };
    ask<{ problem?: string; rows: Row[] }>("survey", about, stop.signal)
      .then((got) => {
        setWrong(got.problem ?? "");
        setRows(got.rows.sort((x, y) => y.meetings - x.meetings || x.decimal - y.decimal));
        setWanted("");
      })
      .catch((e) => {
        if (stop.signal.aborted) return;
        lost(e);
        setWanted("");
      });
    return () => stop.abort();
  }, [asking, ready, read, changes, turn]);
  return (
    <section>
      <button type="button" onClick={() => setWanted(turn.survey)} disabled={asking}>
        {t(asking ? "meet.asking" : "whatif.survey", { what: t(`field.${turn.attr}`) })}
      </button>
      {wrong && <p class="note note-amber">{wrong}</p>}
      {rows && rows.length > 0 && (
        <div class="surveyed">
          <table>
            <thead>
              <tr>
                <th scope="col">{t(`field.${turn.attr}`)}</th>
                <th scope="col">{t("whatif.meetings")}</th>
                <th scope="col">{t("whatif.length")}</th>
                <th scope="col">{t("severity.forbids")}</th>
              </tr>
            </thead>
            <tbody>
              {rows.slice(0, 60).map((r) => (
                <tr key={r.value}>
                  <th scope="row">
                    <button
                      type="button"
                      class="link tabular"
                      onClick={() => {
                        standing.set({ [turn.id]: { way: wayOf(turn, r.decimal), value: r.value } });
                        void tryNumber(turn, r.value);
                      }}
                    >
                      {r.value}
                    </button>
                  </th>
                  <td class="tabular">{number(r.meetings)}</td>
                  <td class="tabular">{clock(r.length_s, 1)}</td>
                  <td class="tabular">{number(r.forbids)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

export function WhatIf() {
  const work = use(workCell);
  const voice = use(chosen);
  const tried = use(trial);
  const wrong = use(complaints).length > 0;
  const stop = use(stopping);
  const [{ of: turnsOf, turns }, setTurns] = useState<{ of: Work | null; turns: Turn[] }>({ of: null, turns: [] });
  const written = workAsWritten();
  useEffect(() => {
    let current = true;
    if (!written || wrong || open.value?.kind) setTurns({ of: null, turns: [] });
    else
      ask<{ turns: Turn[] }>("turns", { id: written.id, voice })
        .then((f) => current && setTurns({ of: written, turns: f.turns }))
        .catch(lost);
    return () => {
      current = false;
    };
  }, [written, voice, wrong]);
  if (!work) return <p class="note">{t("findings.waiting")}</p>;
  const v = work.voices[voice];
  const groups = [...new Set(turns.map((x) => x.of))];
  const survey = turns.find((x) => x.survey !== "");
  const mine = tried?.by === who;
  return (
    <div class="whatif">
      <div class="row">
        <label for="whatif-voice">{t("whatif.voice")}</label>
        <select id="whatif-voice" value={voice} onChange={(e) => chosen.set(Number(e.currentTarget.value))}>
          {work.voices.map((o) => (
            <option key={o.index} value={o.index}>
              {o.name}
            </option>
          ))}
        </select>
        {v && <Swatch voice={v.index} />}
      </div>
      {turns.length === 0 && <p class="note">{t("whatif.none")}</p>}
      {groups.map((of) => (
        <fieldset key={of} class="turns">
          <legend>{of || t("whatif.piece")}</legend>
          {turns
            .filter((x) => x.of === of)
            .map((x) => (
              <Slider key={x.id} turn={x} />
            ))}
        </fieldset>
      ))}
      <label class="check">
        <input type="checkbox" checked={stop} onChange={(e) => stopping.set(e.currentTarget.checked)} /> {t("whatif.stops")}
      </label>
      <div class="row" aria-live="polite">
        <button type="button" class="main" disabled={!mine} onClick={keep}>
          {t("meet.keep")}
        </button>
        <button type="button" disabled={!mine} onClick={drop}>
          {t("grip.drop")}
        </button>
      </div>
      <Comes voice={voice} />
      {survey && <Survey turn={survey} ready={turnsOf === written} />}
      <p>
        <button type="button" onClick={chooseNotes} disabled={work.voices.length < 2}>
          {t("meet.title")}
        </button>{" "}
        <span class="second">{tn("whatif.meet", work.voices.length)}</span>
      </p>
    </div>
  );
}

/** For tests. */
export const whatIfState = { trial };
