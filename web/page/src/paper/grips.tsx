// What can be taken hold of on the paper: pins where the chosen voice begins, clips
// where it and the legs of its tempo end, weights where its canon meets and its section
// begins. Moved along the time, by mouse, touch or keys, each changes one attribute of
// the text; the new roll is there before it is written.
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { ask, type Splice } from "../api";
import { Cell, use } from "../cell";
import { clock } from "../format";
import { addPainter, repaint } from "../look/frames";
import { palette } from "../look/palette";
import { hue } from "../look/voice";
import { heard, seek } from "../sound/player";
import { chosen, complaints, say, spoken, work as workCell } from "../state";
import { lost } from "../text/away";
import { open, subject } from "../text/document";
import { dropTrial, keepTrial, trial, trialLatency, tryOut } from "../text/trial";
import { t } from "../words";
import type { Work } from "../work";
import type { Scene } from "./holes";
import { narrowRuler, rulerWidth } from "./rulers";
import { alongAt, secAt } from "./transport";
import type { View } from "./view";

interface Grip {
  id: string;
  kind: "start" | "end" | "meet" | "section" | "leg";
  of: string;
  leg: number;
  sec: number;
  attr: string;
  value: string;
}
interface Moved {
  splice: Splice;
  attr: string;
  value: string;
  stop: string;
  by: number;
  sec: number;
}

/** What is held, and where it would lie. */
interface Held {
  grip: Grip; // as it was taken
  voice: number;
  by: number; // seconds, as far as it was carried
  carried: number; // where the hand is, which may be between the stops
  moved: Moved | null;
}
const held = new Cell<Held | null>(null);
/** Whether grips stop at nothing, even without the key that loosens them. */
export const loose = new Cell(false);
const who = "grip";

const drawnWithin = 9; // pixels
const edge = 34; // pixels from the end of the screen within which the paper moves on

/** How long the last answers took, from what was wanted to its roll, milliseconds. */
export const carried: number[] = [];

interface Wish {
  by: number;
  steps: number;
  reach: number;
  loose: boolean;
}
let wish: Wish | null = null;
let busy = false;

/** Asks for the text and the roll of the place that is wanted last. */
async function carry(w: Wish): Promise<void> {
  wish = wish && w.steps ? { ...w, steps: wish.steps + w.steps } : w;
  if (busy) return;
  busy = true;
  while (wish && held.value) {
    const now: Wish = wish;
    wish = null;
    const h: Held = held.value;
    const since = performance.now();
    try {
      const { name, text } = subject();
      const by = now.steps ? h.by : now.by;
      const moved = await ask<Moved>("move", { name, text, voice: h.voice, grip: h.grip.id, by, steps: now.steps, reach: now.reach, loose: now.loose });
      if (held.value?.grip !== h.grip) break;
      if (moved.splice.problem) {
        say(moved.splice.problem);
        continue;
      }
      held.set({ ...held.value, by: moved.by, moved });
      if (now.steps) spoken.set(t("grip.now", { what: written(moved), at: clock(moved.sec, 2), stop: t(`grip.stop.${moved.stop}`) }));
      await tryOut(who, moved.splice);
      carried.push(performance.now() - since);
      if (carried.length > 200) carried.shift();
    } catch (e) {
      lost(e);
      break;
    }
  }
  busy = false;
  if (letGo && !wish) finish();
}

let letGo = false;

/** Puts it down where it is: one change of the text, when all that was wanted has come. */
function keep(): void {
  letGo = true;
  if (!busy) finish();
}

function finish(): void {
  letGo = false;
  const moved = held.value?.moved;
  held.set(null);
  if (trial.value?.by !== who) return;
  keepTrial();
  if (moved) say(t("grip.kept", { what: written(moved) }));
}

/** Takes it back. */
function drop(): void {
  const moved = held.value?.moved;
  wish = null;
  letGo = false;
  held.set(null);
  if (trial.value?.by === who) dropTrial();
  if (moved) spoken.set(t("grip.back"));
  repaint();
}

trial.watch((now) => {
  if (!now && held.value?.moved) held.set(null); // the text has changed by other hands
});

function written(m: Moved): string {
  return `${m.attr} = ${m.value}`;
}

function name(g: Grip): string {
  return t(g.of ? `grip.${g.kind}` : "grip.leg.piece", { of: g.of, n: g.leg });
}

/** Its shape, drawn from things of the bench; the paper lies to the right of it, or to the left. */
function Shape({ kind, voice }: { kind: Grip["kind"]; voice: number }) {
  const ink = <circle cx="11" cy="16" r="3.4" fill={hue(voice)} />;
  const shapes = {
    start: ( // a pin
      <>
        <path class="grip-wire" d="M15 16 L31 16" />
        <circle class="grip-brass" cx="11" cy="16" r="7" />
        {ink}
      </>
    ),
    end: ( // a clip of sheet brass
      <>
        <path class="grip-brass" d="M4 10 L20 7 L20 25 L4 22 Z" />
        <path class="grip-wire" d="M20 10 L30 15 M20 22 L30 17" />
        {ink}
      </>
    ),
    // a clip of bent wire
    leg: <path class="grip-wire grip-thick" d="M30 12 L11 12 A4 4 0 0 0 11 20 L27 20 M30 16 L12 16" />,
    meet: <Weight mark="M12 16 L20 23 M20 16 L12 23" />,
    section: <Weight mark="M11 19.5 H21" />,
  };
  return (
    <svg viewBox="0 0 32 32" aria-hidden="true">
      {shapes[kind]}
    </svg>
  );
}

/** A weight with a knob, and what is cut into it. */
function Weight({ mark }: { mark: string }) {
  return (
    <>
      <path class="grip-lead" d="M5 25 L8 13 H24 L27 25 Z" />
      <circle class="grip-brass" cx="16" cy="9" r="4.5" />
      <path class="grip-mark" d={mark} />
    </>
  );
}

/** Whether it is of more than one voice. */
function isShared(g: Grip): boolean {
  return g.kind === "meet" || g.kind === "section" || !g.of;
}

/** Where grips lie across: those of the voice at one edge of the paper, those of more than one voice at the other. */
function across(g: Grip, view: View, column: number): number {
  const inset = (view.width < 560 ? narrowRuler : rulerWidth) + 16;
  const [left, right] = view.edges;
  const x = isShared(g) ? right + 14 - 26 * column : left - 14 + 26 * column;
  return Math.min(view.width - inset, Math.max(inset, x));
}

/** Those at one place stand side by side. */
function columns(grips: Grip[], view: View): number[] {
  const taken: { y: number; shared: boolean; n: number }[] = [];
  return grips.map((g) => {
    const shared = isShared(g);
    const y = view.y(alongAt(view.piano.transport, g.sec));
    const n = taken.filter((o) => o.shared === shared && Math.abs(o.y - y) < 24).length;
    taken.push({ y, shared, n });
    return n;
  });
}

/** Those of the works that were shown last: what is taken back, or undone, has its grips at once. */
const known = new Map<string, Grip[]>();
const mostKnown = 32;

/** The grips of a work; until they have come, those of the work before. */
function useGrips(work: Work | null, voice: number): Grip[] {
  const [came, setCame] = useState<Grip[]>([]);
  const of = work ? `${work.id} ${voice}` : "";
  const have = known.get(of);
  useEffect(() => {
    if (!work || have) return setCame(have ?? []);
    let current = true;
    ask<{ grips: Grip[] }>("grips", { id: work.id, voice })
      .then(({ grips }) => {
        if (grips.length > 0) known.set(of, grips); // else the text may have left the desk
        if (known.size > mostKnown) known.delete(known.keys().next().value!);
        if (current) setCame(grips);
      })
      .catch(lost);
    return () => {
      current = false;
    };
  }, [of]);
  return work ? (have ?? came) : none;
}
const none: Grip[] = [];

export function Grips({ view }: { view: View | null }) {
  const work = use(workCell);
  const voice = use(chosen);
  const now = use(held);
  const wrong = use(complaints).length > 0;
  const free = use(loose);
  const grips = useGrips(!view || wrong || open.value?.kind ? null : work, voice);
  const places = useRef(new Map<string, HTMLElement>());
  const placing = useRef(() => {});
  const pulling = useRef(0);

  // While one is held it stays the element that it is, wherever the others go.
  const shown = now && !grips.some((g) => g.id === now.grip.id) ? [...grips, now.grip] : grips;
  const latest = useRef(shown);
  latest.current = shown;

  // They are placed as soon as they are there, and again whenever the paper is painted.
  useLayoutEffect(() => {
    seenBy = view;
    const place = () => {
      if (!view) return;
      const h = held.value;
      const list = latest.current.map((g) => (h && g.id === h.grip.id ? { ...g, sec: h.moved ? h.moved.sec : g.sec } : g));
      const cols = columns(list, view);
      list.forEach((g, i) => {
        const el = places.current.get(g.id);
        if (!el) return;
        const y = view.y(alongAt(view.piano.transport, g.sec));
        const away = view.zoom === 0 || y < -20 || y > view.height + 20;
        el.style.transform = `translate(${across(g, view, cols[i]) - 16}px, ${y - 16}px)`;
        el.classList.toggle("grip-away", away);
      });
    };
    placing.current = place;
    return addPainter(place);
  }, [view]);
  useLayoutEffect(() => placing.current());
  useEffect(repaint);

  const take = (grip: Grip): Held => {
    const have = held.value;
    if (have?.grip.id === grip.id) return have;
    const h: Held = { grip, voice: chosen.value, by: 0, carried: 0, moved: null };
    held.set(h);
    return h;
  };
  const secAtY = (y: number) => secAt(view!.piano.transport, view!.alongAt(y));
  const reach = (sec: number) => {
    const y = view!.y(alongAt(view!.piano.transport, sec));
    return Math.abs(secAtY(y + drawnWithin) - secAtY(y));
  };

  const drag = (grip: Grip, e: PointerEvent) => {
    if (!view || e.button !== 0) return;
    e.preventDefault();
    const el = e.currentTarget as HTMLElement;
    el.focus({ preventScroll: true });
    el.setPointerCapture(e.pointerId);
    take(grip);
    const box = el.closest(".paper")!.getBoundingClientRect();
    const off = view.y(alongAt(view.piano.transport, grip.sec)) - (e.clientY - box.top);
    let y = e.clientY - box.top;
    let alt = e.altKey;
    let far = false;
    const to = () => {
      const sec = secAtY(y + off);
      const h = held.value;
      if (!h || h.grip.id !== grip.id) return;
      held.set({ ...h, carried: sec - grip.sec });
      void carry({ by: sec - grip.sec, steps: 0, reach: reach(sec), loose: alt || loose.value });
      repaint();
    };
    const move = (m: PointerEvent) => {
      y = m.clientY - box.top;
      alt = m.altKey;
      far ||= Math.abs(m.clientY - e.clientY) > 3;
      if (!far) return;
      to();
      cancelAnimationFrame(pulling.current);
      const pull = () => {
        const over = y < edge ? edge - y : y > view.height - edge ? view.height - edge - y : 0;
        if (!over || !held.value) return;
        const per = secAtY(view.barY - over / 4) - secAtY(view.barY); // a quarter of the way beyond, each frame
        seek(Math.max(0, heard() + per));
        to();
        pulling.current = requestAnimationFrame(pull);
      };
      pull();
    };
    const end = (how: () => void) => () => {
      cancelAnimationFrame(pulling.current);
      el.removeEventListener("pointermove", move);
      el.removeEventListener("pointerup", up);
      el.removeEventListener("pointercancel", cancel);
      document.removeEventListener("keydown", escape, true);
      how();
    };
    const up = end(() => {
      const h = held.value;
      if (!far && !h?.moved) held.set(null);
      else keep();
    });
    const cancel = end(drop);
    const escape = (k: KeyboardEvent) => {
      if (k.key !== "Escape") return;
      k.preventDefault();
      k.stopPropagation();
      cancel();
    };
    el.addEventListener("pointermove", move);
    el.addEventListener("pointerup", up);
    el.addEventListener("pointercancel", cancel);
    document.addEventListener("keydown", escape, true);
  };

  const key = (grip: Grip, e: KeyboardEvent) => {
    if (e.ctrlKey || e.metaKey) return;
    const steps: Record<string, number> = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 };
    const by = steps[e.key];
    if (by) {
      e.preventDefault();
      take(grip);
      return void carry({ by: 0, steps: by, reach: 0, loose: e.altKey || loose.value });
    }
    if (e.key === "Enter" || e.key === " ") {
      e.preventDefault();
      if (held.value?.moved) keep();
    } else if (e.key === "Escape" && held.value) {
      e.preventDefault();
      e.stopPropagation();
      drop();
    }
  };

  const at = now?.moved ?? null;
  return (
    <>
      {shown.map((g) => {
        const mine = now?.grip.id === g.id;
        const sec = mine && at ? at.sec : g.sec;
        const is = mine && at ? written(at) : g.value ? `${g.attr} = ${g.value}` : t("grip.unwritten", { attr: g.attr });
        return (
          <button
            type="button"
            key={g.id}
            class={`grip grip-${g.kind}${mine ? " grip-held" : ""}${isShared(g) ? " grip-shared" : ""}`}
            role="slider"
            data-grip={g.id}
            aria-orientation="vertical"
            aria-label={name(g)}
            aria-valuemin={0}
            aria-valuemax={Math.max(work?.durationSec ?? 0, sec)}
            aria-valuenow={sec}
            aria-valuetext={`${clock(sec, 2)}, ${is}`}
            title={`${name(g)}: ${is}`}
            ref={(el) => void (el ? places.current.set(g.id, el) : places.current.delete(g.id))}
            onPointerDown={(e) => drag(g, e)}
            onKeyDown={(e) => key(g, e)}
            onFocus={() => {
              if (!view) return;
              const y = view.y(alongAt(view.piano.transport, g.sec));
              if (y < 0 || y > view.height) seek(g.sec);
            }}
            onBlur={() => held.value?.moved && !busyWithPointer() && keep()}
          >
            <Shape kind={g.kind} voice={g.of ? voice : -1} />
          </button>
        );
      })}
      {now && at && (
        <div class="grip-slip" role="group" aria-label={name(now.grip)}>
          <p>
            <span class="second">{name(now.grip)}</span> <code>{written(at)}</code> <span class="tabular">{clock(at.sec, 2)}</span>
          </p>
          <p class="second">{t("grip.stops", { stop: t(`grip.stop.${at.stop}`) })}</p>
          <p>
            {/* The press must not take the focus from what is held. */}
            <button type="button" aria-pressed={free} onPointerDown={(e) => e.preventDefault()} onClick={() => loose.update((v) => !v)}>
              {t("grip.loose")}
            </button>{" "}
            <button type="button" class="main" onPointerDown={(e) => e.preventDefault()} onClick={keep}>
              {t("grip.keep")}
            </button>{" "}
            <button type="button" onPointerDown={(e) => e.preventDefault()} onClick={drop}>
              {t("grip.drop")}
            </button>
          </p>
        </div>
      )}
    </>
  );
}

/** Whether a hand holds it: then leaving does not put it down. */
function busyWithPointer(): boolean {
  return document.querySelector(".grip:active") !== null;
}

/** A hair across the paper where what is held lies, and a fainter one where it was. */
export function paintHeld(s: Scene): void {
  const h = held.value;
  if (!h) return;
  const { ctx, view, piano } = s;
  const [left, right] = view.edges;
  const hair = (sec: number, dash: number[], ink: string) => {
    const y = Math.round(view.y(alongAt(piano.transport, sec))) + 0.5;
    ctx.strokeStyle = ink;
    ctx.lineWidth = 1;
    ctx.setLineDash(dash);
    ctx.beginPath();
    ctx.moveTo(left, y);
    ctx.lineTo(right, y);
    ctx.stroke();
    ctx.setLineDash([]);
  };
  hair(h.grip.sec, [2, 6], palette().printFaint);
  hair(h.moved ? h.moved.sec : h.grip.sec + h.carried, [], s.look.brassDark);
}

/** For tests. */
let seenBy: View | null = null;
export const gripState = {
  held,
  loose,
  carried,
  trial,
  trialLatency,
  /** How far apart on the screen the music's start and a time are. */
  pixels: (sec: number): number => (seenBy ? seenBy.zoom * alongAt(seenBy.piano.transport, sec) : 0),
};
