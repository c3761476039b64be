// One row in letters that can be read from a metre away: how far to turn on, and
// what to punch there.
import { useLayoutEffect, useRef } from "preact/hooks";
import { use } from "../cell";
import { t, tn } from "../words";
import type { Move, Stroke, View } from "./answers";
import { more, whatIsMore } from "./companion";

export function Row({ v }: { v: View }) {
  return (
    <section class={`punch-row${v.done ? " punch-row-done" : ""}`} aria-label={t("punch.row", { row: v.row, rows: v.rows })}>
      {v.mind && <p class="note note-amber punch-mind">{v.mind}</p>}
      <Crank v={v} />
      {v.lines?.map((line) => (
        <p class="note note-amber" key={line}>
          {t("punch.say.line", { line })}
        </p>
      ))}
      {v.looking && !v.done ? <p class="note">{t("punch.again.later")}</p> : v.done && <p class="note">{t("punch.done")}</p>}
      <Strip v={v} />
      <Strokes v={v} />
      {v.measure && <p class="note note-amber">{t("punch.measure", { length: v.measure })}</p>}
    </section>
  );
}

/** What is done with the crank. */
function way(v: View, m: Move, i: number): string {
  if (!m.say) return "punch.turn.stay";
  const what = v.clicks ? "punch.click" : "punch.turn";
  return m.back ? `${what}.back` : i > 0 ? `${what}.then` : what;
}

function Crank({ v }: { v: View }) {
  const several = (v.moves?.length ?? 0) > 1;
  const reading = v.looking ? "punch.reading.look" : "punch.reading";
  return (
    <div class={several ? "punch-crank punch-crank-back" : "punch-crank"}>
      {v.looking && (
        <div class="punch-move punch-look">
          <span class="punch-label">{t("punch.look")}</span>
          <strong>{t("punch.look.stays")}</strong>
        </div>
      )}
      {v.moves?.map((m, i) => (
        <div class={`punch-move${m.back ? " punch-move-back" : ""}`} key={i}>
          <span class="punch-label">{t(way(v, m, i))}</span>
          <strong class="punch-turns tabular">
            <span aria-hidden="true">{m.back ? "↺" : m.say ? "↻" : "·"}</span> {m.text}
          </strong>
          <span class="second">{m.say}</span>
          {several && <span class="second punch-until">{t("punch.until", { reading: m.to })}</span>}
        </div>
      ))}
      <dl class="punch-reading">
        <div>
          <dt>{t(v.clicks ? `${reading}.click` : reading)}</dt>
          <dd>{v.reading}</dd>
        </div>
        <div>
          <dt>{t("punch.place")}</dt>
          <dd>{v.place}</dd>
        </div>
      </dl>
    </div>
  );
}

/** Where the holes lie across the paper, as it lies on the bench. */
function Strip({ v }: { v: View }) {
  const ends = v.bass === "left" ? ["paper.bass", "paper.treble"] : ["paper.treble", "paper.bass"];
  return (
    <div class="punch-strip" aria-hidden="true">
      <span>{t(ends[0])}</span>
      <div class="punch-paper">
        {v.across.map((x, i) => (
          <i key={i} style={{ left: `${(100 * x).toFixed(3)}%` }} />
        ))}
      </div>
      <span>{t(ends[1])}</span>
    </div>
  );
}

/** The sizes of the numbers that are tried, in letters of the text. What does not fit at the last is shown in parts. */
const sizes = [5, 4.4, 3.8, 3.2, 2.7, 2.3, 2, 1.7];

function Strokes({ v }: { v: View }) {
  const ref = useRef<HTMLOListElement>(null);
  const goesOn = use(more);
  const beyond = (box: HTMLElement, one: Element) => one.getBoundingClientRect().bottom > box.getBoundingClientRect().bottom + 6;
  const look = () => {
    const box = ref.current;
    if (box) more.set([...box.children].some((one) => beyond(box, one)));
  };
  useLayoutEffect(() => {
    const box = ref.current!;
    const fit = () => {
      for (const size of sizes) {
        box.style.setProperty("--size", `${size}em`);
        if (box.scrollHeight <= box.clientHeight + 1 && box.scrollWidth <= box.clientWidth + 1) break;
      }
      look();
    };
    box.scrollTop = 0;
    fit();
    const observer = new ResizeObserver(fit);
    observer.observe(box);
    whatIsMore(() => {
      const first = [...box.children].find((one) => beyond(box, one));
      const by = first ? first.getBoundingClientRect().top - box.getBoundingClientRect().top : 0;
      box.scrollTop += by;
      if (by < 1) more.set(false); // a window lower than one hole: there is nothing to wait for
      else look();
    });
    return () => {
      observer.disconnect();
      more.set(false);
    };
  }, [v.id, v.row]);
  const strokes = v.strokes ?? [];
  return (
    <>
      <p class="punch-label">
        {v.cut ? t("punch.partly", { n: strokes.length, of: strokes.length + v.cut }) : tn("punch.strokes", strokes.length)}
        {strokes.length > 1 && (v.leftward ? ` · ← ${t("punch.leftward")}` : ` · ${t("punch.rightward")} →`)}
      </p>
      <ol class="punch-strokes" ref={ref} onScroll={look} tabIndex={goesOn ? 0 : undefined} aria-label={tn("punch.strokes", strokes.length)}>
        {strokes.map((s) => (
          <One key={`${s.number} ${s.n}`} s={s} />
        ))}
      </ol>
    </>
  );
}

function One({ s }: { s: Stroke }) {
  return (
    <li class={s.done ? "punch-stroke punch-stroke-done" : "punch-stroke"}>
      <strong class="tabular">{s.number}</strong>
      <span>{s.name}</span>
      <span class="second tabular">{s.done ? t("punch.stroke.done") : s.of > 1 ? t("punch.chain", { n: s.n, of: s.of }) : t("punch.single")}</span>
    </li>
  );
}
