// The bench in large letters: a view of its own over the whole window.
import { render } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { use } from "../cell";
import { language, t } from "../words";
import { Begin, nameOfRoll } from "./begin";
import type { View } from "./answers";
import { message, mode, order, patches, problem, resumeKept, side, view as viewCell, leave } from "./companion";
import { Controls, ScreenControls } from "./controls";
import { listenAtBench } from "./keys";
import { Row } from "./row";
import { Slip } from "./slip";
import { sentence } from "./voice";

/** Puts the bench beside the workbench, shut unless the page was left at it. */
export function mountBench(): void {
  const app = document.getElementById("app")!;
  const place = document.createElement("div");
  place.id = "punch";
  app.after(place);
  mode.watch((m) => {
    app.hidden = m !== "shut"; // nothing of it takes a key or is read aloud meanwhile
  });
  listenAtBench();
  render(<Bench />, place);
  resumeKept();
}

function Bench() {
  use(language);
  const m = use(mode);
  if (m === "shut") return null;
  return <main class="punch">{m === "choose" ? <Begin /> : <Work />}</main>;
}

function Work() {
  const v = use(viewCell);
  const bad = use(problem);
  const ref = useRef<HTMLDivElement>(null);
  const focus = () => ref.current?.focus({ preventScroll: true });
  useEffect(focus, []);
  // A button that was pressed must not keep the focus: the foot switch would press it again.
  const pressed = (e: MouseEvent) => {
    if ((e.target as HTMLElement).closest("button") && (side.value === "row" || side.value === "list")) requestAnimationFrame(focus);
  };
  return (
    <div class="punch-work" ref={ref} tabIndex={-1} onClick={pressed} data-row={v?.row} data-rows={v?.rows}>
      {v && <Head v={v} />}
      <div class="punch-lines" aria-live="assertive">
        {bad && (
          <p class="note note-red">
            {bad}{" "}
            <button type="button" onClick={() => order("open")}>
              {t("punch.retry")}
            </button>{" "}
            {!v && (
              <button type="button" onClick={leave}>
                {t("punch.leave")}
              </button>
            )}
          </p>
        )}
        {v?.outdated && (
          <p class="note note-amber">
            {t("punch.outdated")}{" "}
            <button type="button" onClick={() => order("open")}>
              {t("punch.outdated.take")}
            </button>
          </p>
        )}
        <Message />
      </div>
      {v ? <Stage v={v} focus={focus} /> : !bad && <p role="status">{t("punch.waiting")}</p>}
      {v && <Facts v={v} />}
      {v && <Controls v={v} />}
    </div>
  );
}

function Message() {
  const text = use(message);
  return text ? <p class="note punch-said">{text}</p> : null;
}

function Head({ v }: { v: View }) {
  return (
    <header class="punch-head">
      <h1>{nameOfRoll(v)}</h1>
      <span class="tabular punch-count">
        {t("punch.row", { row: v.row, rows: v.rows })}
      </span>
      <ScreenControls />
      <progress max={v.of_punches || 1} value={v.punches} aria-label={t("punch.progress")} />
    </header>
  );
}

/** The row, or what stands in its place. */
function Stage({ v, focus }: { v: View; focus: () => void }) {
  const now = use(side);
  if (now !== "row" && now !== "list") return <Slip key={now} v={v} kind={now} done={focus} />;
  if (now === "list") return <Patches v={v} />;
  if (v.paused) return <Plain title={t("punch.paused")} text={t("punch.paused.text", { row: v.row })} more={t("punch.keys")} />;
  if (v.finished) return <Plain title={t("punch.finished")} text={v.patches ? t("punch.finished.patch") : t("punch.finished.text")} />;
  return (
    <>
      <Row v={v} />
      <p class="hidden" role="status">
        {t("punch.row", { row: v.row, rows: v.rows })}. {sentence(v)}
      </p>
    </>
  );
}

function Plain({ title, text, more }: { title: string; text: string; more?: string }) {
  return (
    <section class="punch-plain" role="status">
      <h2>{title}</h2>
      <p>{text}</p>
      {more && <p class="second">{more}</p>}
    </section>
  );
}

function Patches({ v }: { v: View }) {
  const list = use(patches);
  return (
    <section class="punch-patches" aria-label={t("punch.patches")} tabIndex={0}>
      <h2>{t("punch.patches")}</h2>
      {list.length === 0 && <p>{t("punch.patches.none")}</p>}
      <ul>
        {list.map((p) => (
          <li key={`${p.acrossMM} ${p.alongMM}`}>
            <span class="tabular">{t("punch.patch.number", { n: p.number, hole: p.text })}</span>
            <span class="second">{t(p.torn ? "punch.patch.torn" : p.slip ? "punch.patch.slip" : "punch.patch.gone")}</span>
            <button type="button" aria-label={t("punch.patch.closed.of", { hole: p.text })} onClick={() => order("patched", { acrossMM: p.acrossMM, alongMM: p.alongMM })}>
              {t("punch.patch.closed")}
            </button>
          </li>
        ))}
      </ul>
      {v.patches > list.length && <p class="second">{t("punch.patches.more", { n: v.patches - list.length })}</p>}
    </section>
  );
}

/** How far the work is and how long it takes. */
function Facts({ v }: { v: View }) {
  const parts = [t("punch.punches", { n: v.punches.toLocaleString(language.value), of: v.of_punches.toLocaleString(language.value) })];
  parts.push(t(v.assumed ? "punch.pace.assumed" : "punch.pace", { stroke: tenths(v.stroke_s), row: tenths(v.row_s) }));
  if (v.left) parts.push(v.sessions > 1 ? t("punch.left.sittings", { left: v.left, n: v.sessions }) : t("punch.left", { left: v.left, at: clockOf(v.done_at) }));
  return (
    <p class="punch-facts tabular">
      {parts.map((p) => (
        <span key={p}>{p}</span>
      ))}
    </p>
  );
}

/** Seconds to a tenth, as the command writes them. */
function tenths(sec: number): number {
  return Math.round(sec * 10) / 10;
}

function clockOf(at: string): string {
  return new Date(at).toLocaleTimeString(language.value, { hour: "2-digit", minute: "2-digit" });
}
