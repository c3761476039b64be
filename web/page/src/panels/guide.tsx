// A short guided start for a first visit: one thing to do at a time.
import { Cell, use } from "../cell";
import { playing } from "../sound/player";
import { showLeft, showRight, page } from "../state";
import { keepExample, open } from "../text/document";
import { t } from "../words";

const key = "guided";
const all = ["play", "text", "cycles", "findings", "keep"] as const;

/** What there is to show: a piece that lies in the folder is kept already. */
function stepsNow() {
  return all.filter((s) => s !== "keep" || !open.value?.name);
}

/** The step that is shown; -1: none. */
export const step = new Cell(-1);

/** Begins for someone who has not been here before. */
export function guideNewcomers(): void {
  if (!localStorage.getItem(key)) step.set(0);
}

export function guideAgain(): void {
  step.set(0);
}

export function endGuide(): void {
  localStorage.setItem(key, "done");
  step.set(-1);
}

function to(n: number): void {
  const steps = stepsNow();
  if (n >= steps.length) return endGuide();
  step.set(n);
  const name = steps[n];
  if (name === "text") showLeft("text");
  if (name === "cycles") showRight("cycles");
  if (name === "findings") showRight("findings");
  if (name === "play") page.set("paper");
}

playing.watch((on) => {
  if (on && step.value === 0) setTimeout(() => step.value === 0 && to(1), 4000);
});

export function Guide() {
  const n = use(step);
  use(open);
  const steps = stepsNow();
  if (n < 0 || n >= steps.length) return null;
  const name = steps[n];
  return (
    <aside class="guide" aria-label={t("guide")} aria-live="polite">
      <p class="second tabular">{t("guide.step", { n: n + 1, of: steps.length })}</p>
      <h2>{t(`guide.${name}`)}</h2>
      <p>{t(`guide.${name}.text`)}</p>
      <div class="row">
        <button
          type="button"
          class="main"
          onClick={() => {
            if (name === "keep") {
              void keepExample();
              endGuide();
            } else to(n + 1);
          }}
        >
          {t(name === "keep" ? "guide.keep.do" : n + 1 < steps.length ? "guide.next" : "ok")}
        </button>
        <button type="button" onClick={endGuide}>
          {t("guide.skip")}
        </button>
      </div>
    </aside>
  );
}
