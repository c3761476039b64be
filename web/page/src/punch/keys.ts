// Keys at the bench. A foot switch sends one of those for the next row.
import { back, go, leave, list, mode, next, order, pause, problem, side, view } from "./companion";
import { fullScreen } from "./screen";
import { sentence, say, speaking } from "./voice";

const nextKeys = [" ", "Enter", "ArrowRight", "ArrowDown", "PageDown", "n"];
const backKeys = ["ArrowLeft", "ArrowUp", "PageUp", "Backspace", "b"];

const acts: Record<string, () => void> = {
  g: go,
  u: () => order("undo"),
  s: () => side.set("slip"),
  m: () => side.set("missed"),
  t: () => side.set("to"),
  l: list,
  p: pause,
  v: () => speaking.update((on) => !on),
  r: () => view.value && say(sentence(view.value)),
  f: fullScreen,
  q: leave,
  Escape: () => side.set("row"),
};

function inField(el: HTMLElement): boolean {
  return /^(INPUT|TEXTAREA|SELECT)$/.test(el.tagName);
}

/** Takes all keys while the bench is shown, so that those of the workbench rest. */
export function listenAtBench(): void {
  window.addEventListener(
    "keydown",
    (e) => {
      if (mode.value === "shut") return;
      e.stopPropagation();
      const el = e.target as HTMLElement;
      if (e.ctrlKey || e.metaKey || e.altKey) return;
      if (inField(el)) {
        if (e.key === "Escape") side.set("row");
        return;
      }
      if ((e.key === " " || e.key === "Enter") && /^(BUTTON|A|SUMMARY)$/.test(el.tagName)) return;
      if (mode.value === "choose") {
        if (e.key === "Escape" || e.key === "q") leave();
        return;
      }
      const act = nextKeys.includes(e.key) ? next : backKeys.includes(e.key) ? back : acts[e.key];
      if (!act) return;
      e.preventDefault();
      if (e.repeat) return; // a key that is held down is one press
      if (problem.value && act !== leave && act !== fullScreen) return;
      if (view.value?.paused && act !== leave && act !== fullScreen) return order("resume");
      act();
    },
    true,
  );
}
