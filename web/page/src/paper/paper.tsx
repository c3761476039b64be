// The paper over the bar: the picture of the music that the page is built
// around. What lies on the bar is what sounds.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { use } from "../cell";
import { Canvas } from "../look/canvas";
import { addPainter, repaint } from "../look/frames";
import { isDark, palette } from "../look/palette";
import { Swatch } from "../look/voice";
import { heard, playing } from "../sound/player";
import { alone, chosen, complaints, empty, pair, piano as pianoCell, plan, showLeft, shown, spoken, stale, work as workCell } from "../state";
import { said, toText } from "../panels/to-text";
import { lightItem } from "../text/lit";
import { isInstrument, open } from "../text/document";
import { t, tn } from "../words";
import type { Work } from "../work";
import { planShare } from "../views/light";
import { picking } from "../views/picking";
import { views } from "../views/table";
import { paintBar, paintOpen } from "./bar";
import { describe, type HoleText } from "./describe";
import { Grips, paintHeld } from "./grips";
import { Hands } from "./hands";
import { paintHoles, type Scene } from "./holes";
import { paintMarks, paintVoiceSpan } from "./marks";
import { narrowRuler, paintRulers, rulerWidth } from "./rulers";
import { paintGuides, paintLeader, paintPaper, paintSpool } from "./sheet";
import { slotIndex } from "./slots";
import { alongAt } from "./transport";
import { View } from "./view";

interface Tip extends HoleText {
  x: number;
  y: number;
}

const narrowBelow = 560;

/** Paints everything for one instant. */
function paintAll(ctx: CanvasRenderingContext2D, view: View, work: Work, focus: number): void {
  const pianoIndex = Math.min(pianoCell.value, work.pianos.length - 1);
  const piano = work.pianos[pianoIndex];
  const narrow = view.width < narrowBelow;
  view.piano = piano;
  if (view.fitted || view.zoom === 0) view.fit((narrow ? narrowRuler + 6 : rulerWidth + 24));
  const sec = heard();
  painted.sec = sec;
  view.along = alongAt(piano.transport, sec);
  const scene: Scene = {
    ctx,
    view,
    work,
    piano,
    pianoIndex,
    index: slotIndex(work, pianoIndex),
    look: palette(),
    alone: alone.value,
    share: planShare(work),
  };
  paintPaper(scene);
  paintGuides(scene);
  paintLeader(scene);
  for (const v of views) v.under?.(scene);
  paintBar(scene);
  paintHoles(scene);
  paintOpen(scene);
  paintVoiceSpan(scene);
  paintMarks(scene, focus, narrow);
  for (const v of views) v.paint?.(scene);
  paintHeld(scene);
  paintSpool(scene, sec);
  paintRulers(scene, work.voices[alone.value.size === 1 ? [...alone.value][0] : chosen.value], narrow);
}


/** For measurements: how long the last frames took to paint, milliseconds; the instant that was painted last; the work that was, and when first. */
export const painted = { times: [] as number[], sec: 0, work: "", at: 0 };

export function Paper() {
  const work = use(workCell);
  const old = use(stale);
  const wrong = use(complaints);
  const nothing = use(empty);
  const name = use(open)?.name ?? "";
  use(isDark);
  use(alone);
  use(pianoCell);
  use(shown);
  use(pair);
  use(plan);
  use(chosen);
  const [tip, setTip] = useState<Tip | null>(null);
  const tipAt = useRef(NaN); // the paper under the words, once they were drawn with it
  const [hands, setHands] = useState<Hands | null>(null);
  const view = useRef<View | null>(null);
  const latest = useRef<Work | null>(work);
  latest.current = work;

  useEffect(() => {
    if (work && view.current === null) view.current = new View(work.pianos[0]);
    hands && (hands.focused = -1);
    setTip(null);
    repaint();
  }, [work]);

  const on = use(playing);
  useEffect(() => setTip(null), [on]);

  const finding = shown.value;
  useEffect(() => {
    const p = finding?.finding.places[finding.place];
    if (p && p.port >= 0 && view.current) view.current.reveal(p.acrossMM, 90);
    repaint();
  }, [finding]);

  const attach = useMemo(
    () => (canvas: HTMLCanvasElement) => {
      // The view comes with the first work; hands wait for it.
      const remove = addPainter(() => {
        if (!view.current) return;
        remove();
        const h = new Hands(view.current, () => latest.current, () => pianoCell.value, {
          focus(slot, at, aloud) {
            const w = latest.current;
            void lightItem(w && slot >= 0 ? w.slots.voice[slot] : -1, w && slot >= 0 ? w.slots.note[slot] : 0);
            if (slot < 0 || !w) return setTip(null);
            const text = describe(w, pianoCell.value, slot);
            const v = view.current!;
            tipAt.current = NaN;
            const port = v.piano.ports[w.slots.port[slot]];
            // A hole moved to by keys comes to lie on the bar.
            setTip({ ...text, x: at?.x ?? v.x(port.across), y: at?.y ?? v.barY });
            if (aloud) spoken.set(`${text.title}, ${text.lines.join(", ")}`);
          },
          choose(slot) {
            if (picking.value) return picking.value(slot);
            const voice = latest.current?.slots.voice[slot] ?? -1;
            if (voice >= 0) chosen.set(voice);
          },
        });
        h.attach(canvas);
        setHands(h);
      });
    },
    [],
  );

  return (
    <div class={`paper${old && work ? " paper-old" : ""}`}>
      <Canvas
        class="paper-canvas"
        tabIndex={0}
        role="application"
        aria-roledescription={t("paper.role")}
        aria-label={t("paper.label", { title: work?.title ?? "" })}
        aria-describedby="paper-keys"
        element={attach}
        paint={(ctx, width, height) => {
          const v = view.current;
          if (!v || !latest.current) return;
          v.width = width;
          v.height = height;
          const before = performance.now();
          paintAll(ctx, v, latest.current, hands?.focused ?? -1);
          painted.times.push(performance.now() - before);
          // Painting moves the paper to where it stands now.
          if (tip) {
            if (Number.isNaN(tipAt.current)) tipAt.current = v.along;
            else if (Math.abs(v.along - tipAt.current) * v.zoom > 3) setTip(null); // another place is there now
          } else tipAt.current = NaN;
          if (painted.work !== latest.current.id) {
            painted.work = latest.current.id;
            painted.at = performance.now();
          }
          if (painted.times.length > 600) painted.times.shift();
        }}
      />
      {!work && wrong.length > 0 && (
        <div class="note note-red paper-none">
          <p class="big">{tn("errors.count", wrong.length)}</p>
          <p>{t("errors.none")}</p>
          <button type="button" onClick={() => toText(wrong[0].from, wrong[0].to)}>
            {said(wrong[0])}
          </button>
        </div>
      )}
      {!work && nothing && !isInstrument(name) && (
        <div class="note paper-none">
          <p class="big">{t("empty.title")}</p>
          <p>{t("empty.next")}</p>
          <div class="row">
            <button type="button" class="main" onClick={() => showLeft("voices")}>
              {t("empty.cards")}
            </button>
            <button type="button" onClick={() => showLeft("text")}>
              {t("empty.text")}
            </button>
          </div>
        </div>
      )}
      <Grips view={view.current} />
      <p id="paper-keys" class="hidden">
        {t("paper.keys")}
      </p>
      <div class="zoom" role="group" aria-label={t("zoom")}>
        <button type="button" onClick={() => hands?.zoom(1.5)} aria-label={t("zoom.in")} title={t("zoom.in")}>
          +
        </button>
        <button type="button" onClick={() => hands?.zoom(1 / 1.5)} aria-label={t("zoom.out")} title={t("zoom.out")}>
          −
        </button>
        <button
          type="button"
          onClick={() => {
            if (view.current) view.current.fitted = true;
            repaint();
          }}
          aria-label={t("zoom.fit")}
          title={t("zoom.fit")}
        >
          ↔
        </button>
      </div>
      {tip && (
        <div class="tip" style={{ left: `${tip.x}px`, top: `${tip.y}px` }} data-side={tip.y < 160 ? "below" : "above"}>
          <strong>{tip.title}</strong>
          {tip.voice >= 0 && <Swatch voice={tip.voice} />}
          {tip.lines.map((l) => (
            <span key={l}>{l}</span>
          ))}
        </div>
      )}
    </div>
  );
}
