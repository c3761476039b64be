// What can be done at the bench, for fingers; keys do the same.
import { use } from "../cell";
import { theme, isDark } from "../look/palette";
import { t } from "../words";
import type { View } from "./answers";
import { back, go, leave, list, more, next, onlyShown, order, pause, problem, side } from "./companion";
import { canBeFull, fullScreen } from "./screen";
import { chosenVoice, say, sentence, speaking, voices } from "./voice";

export function Controls({ v }: { v: View }) {
  const bad = !!use(problem);
  const now = use(side);
  const goesOn = use(more);
  const rest = bad || v.paused;
  const main = v.paused ? "punch.resume" : now === "list" ? "punch.patches.back" : goesOn ? "punch.more" : onlyShown(v) ? "punch.forward" : "punch.next";
  return (
    <footer class="punch-controls">
      {!(v.finished && now === "row" && !v.paused) && (
        <button type="button" class="main punch-next" disabled={bad || (now !== "row" && now !== "list")} onClick={next}>
          {t(main)}
        </button>
      )}
      <button type="button" disabled={rest || v.row <= 1} onClick={back}>
        {t("punch.back")}
      </button>
      {v.looking && (
        <button type="button" disabled={rest} onClick={go}>
          {t("punch.there")}
        </button>
      )}
      {v.done && (
        <button type="button" disabled={rest} onClick={() => order("undo")}>
          {t("punch.undo")}
        </button>
      )}
      <button type="button" disabled={rest} aria-pressed={now === "slip"} onClick={() => side.set(now === "slip" ? "row" : "slip")}>
        {t("punch.slip.short")}
      </button>
      <button type="button" disabled={rest} aria-pressed={now === "list"} onClick={list}>
        {t("punch.patches.short")} {v.patches > 0 && <span class="count count-amber">{v.patches}</span>}
      </button>
      {!v.paused && !v.finished && (
        <button type="button" disabled={bad} onClick={pause}>
          {t("punch.pause")}
        </button>
      )}
      <Voice v={v} />
      <button type="button" onClick={leave}>
        {t("punch.leave")}
      </button>
    </footer>
  );
}

/** How the screen is: full or not, light or dark. */
export function ScreenControls() {
  const dark = use(isDark);
  const look = t(dark ? "punch.light" : "punch.dark");
  return (
    <span class="punch-screen">
      {canBeFull && (
        <button type="button" onClick={fullScreen} aria-label={t("punch.full")} title={t("punch.full")}>
          <svg viewBox="0 0 16 16" aria-hidden="true">
            <path d="M2 6V2h4M10 2h4v4M14 10v4h-4M6 14H2v-4" fill="none" stroke="currentColor" stroke-width="1.8" />
          </svg>
        </button>
      )}
      <button type="button" onClick={() => theme.set(dark ? "light" : "dark")} aria-label={look} title={look}>
        <svg viewBox="0 0 16 16" aria-hidden="true">
          <circle cx="8" cy="8" r="6" fill="none" stroke="currentColor" stroke-width="1.8" />
          <path d="M8 2a6 6 0 0 1 0 12z" fill="currentColor" />
        </svg>
      </button>
    </span>
  );
}

/** Whether rows are spoken, and by whom. */
function Voice({ v }: { v: View }) {
  const on = use(speaking);
  const near = use(voices);
  const chosen = use(chosenVoice);
  return (
    <>
      <button
        type="button"
        role="switch"
        aria-checked={on}
        onClick={() => {
          speaking.set(!on);
          if (!on) say(sentence(v));
        }}
      >
        {t(on ? "punch.voice.on" : "punch.voice.off")}
      </button>
      {on && near.length > 1 && (
        <select aria-label={t("punch.voice.which")} value={chosen} onChange={(e) => chosenVoice.set((e.target as HTMLSelectElement).value)}>
          {near.map((one) => (
            <option key={one.voiceURI} value={one.voiceURI}>
              {one.name}
            </option>
          ))}
        </select>
      )}
      {on && near.length === 0 && <span class="punch-mute">{t("punch.voice.none")}</span>}
    </>
  );
}
