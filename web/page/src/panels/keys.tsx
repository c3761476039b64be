// Keys that work everywhere, and the sheet that lists them.
import { Cell, use } from "../cell";
import { changeUnit, clock, lengthUnit } from "../format";
import { loop, rate, rates, seek, toggle } from "../sound/player";
import { alone, leftOpen, page, rightOpen, rightTab, showLeft, showRight, shown, spoken, work } from "../state";
import { save, saveState } from "../text/document";
import { editor, redo, undo } from "../text/editor";
import { playFromCursor } from "../text/lit";
import { views } from "../views/table";
import { t } from "../words";
import { go } from "./findings";
import { endGuide, step as touring } from "./guide";
import { markLoop, toggleLoop } from "./listen";
import { repaint } from "../look/frames";

export const sheetOpen = new Cell(false);

/** Whether a key press is meant for a field. */
function inField(e: KeyboardEvent): boolean {
  const el = e.target as HTMLElement;
  return el.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(el.tagName);
}

function tellFinding(): void {
  const now = shown.value;
  const p = now?.finding.places[now.place];
  if (now && p) tell("key.said.finding", { severity: t(`severity.${now.finding.severity}`), message: p.message, at: clock(p.sec, 1) });
}

function step(by: number): void {
  const all = work.value?.findings.filter((f) => f.places.length > 0) ?? [];
  if (all.length === 0) return;
  const now = shown.value;
  const i = now ? all.findIndex((f) => f.id === now.finding.id) : by > 0 ? -1 : 0;
  if (now && i >= 0) {
    const place = now.place + by;
    if (place >= 0 && place < now.finding.places.length) {
      go(now.finding, place);
      return tellFinding();
    }
  }
  const f = all[(i + by + all.length) % all.length];
  rightTab.set("findings");
  go(f, by > 0 ? 0 : f.places.length - 1);
  tellFinding();
}

function faster(by: number): void {
  const i = rates.indexOf(rate.value);
  rate.set(rates[Math.max(0, Math.min(rates.length - 1, i + by))]);
  tell("key.said.rate", { rate: rate.value });
}

/** What a key has done is read aloud: what was shown elsewhere changes unheard. */
function tell(key: string, values: Record<string, string | number> = {}): void {
  spoken.set("");
  spoken.set(t(key, values));
}

function tellLoop(): void {
  const l = loop.value;
  if (l) tell("key.said.loop", { from: clock(l[0], 1), to: clock(l[1], 1) });
  else tell("key.said.loop.off");
}

function fold(side: "left" | "right", cell: Cell<boolean>): void {
  cell.update((v) => !v);
  tell(`key.said.${side}.${cell.value ? "open" : "shut"}`);
}

/** What a key does when no field has it. */
const plain: Record<string, () => void> = {
  " ": toggle,
  "?": () => sheetOpen.update((v) => !v),
  l: () => {
    toggleLoop();
    tellLoop();
  },
  "[": () => {
    markLoop(0);
    tellLoop();
  },
  "]": () => {
    markLoop(1);
    tellLoop();
  },
  ",": () => faster(-1),
  ".": () => faster(1),
  n: () => step(1),
  p: () => step(-1),
  b: () => {
    seek(0);
    tell("key.said.start");
  },
  t: () => {
    showLeft("text");
    editor.focus();
  },
  v: () => showLeft("voices"),
  f: () => showLeft("folder"),
  r: () => {
    page.set("paper");
    document.querySelector<HTMLElement>(".paper-canvas")?.focus();
  },
  "<": () => fold("left", leftOpen),
  ">": () => fold("right", rightOpen),
  a: () => {
    alone.set(new Set());
    tell("key.said.all");
    repaint();
  },
  u: () => {
    changeUnit();
    tell(`unit.said.${lengthUnit.value}`);
  },
  Escape: () => {
    if (sheetOpen.value) return sheetOpen.set(false);
    if (touring.value >= 0) return endGuide();
    shown.set(null);
    loop.set(null);
  },
};

export function listenToKeys(): void {
  document.addEventListener("keydown", (e) => {
    const command = e.ctrlKey || e.metaKey;
    if (command && e.key === "s") {
      e.preventDefault();
      return void save().then(() => tell(`save.${saveState.value}`));
    }
    if (command && e.key === "Enter") {
      e.preventDefault();
      return void (inField(e) ? playFromCursor() : toggle());
    }
    if (inField(e)) return;
    if (command && e.key.toLowerCase() === "z") {
      e.preventDefault();
      return e.shiftKey ? redo() : undo();
    }
    if (command || e.altKey || e.defaultPrevented) return;
    const target = e.target as HTMLElement;
    if (e.key === " " && /^(BUTTON|A|SUMMARY)$/.test(target.tagName)) return;
    const view = /^[1-9]$/.test(e.key) ? views[Number(e.key) - 1] : undefined;
    const act = view ? () => (showRight(view.tab), tell("key.said.view", { view: t(`tab.${view.tab}`) })) : (views.map((v) => v.keys?.[e.key]).find((k) => k) ?? plain[e.key]);
    if (!act) return;
    e.preventDefault();
    act();
  });
}

const lines: [string, string][] = [
  ["␣", "key.play"],
  ["Ctrl ↵", "key.play.text"],
  ["B", "key.start"],
  ["↑ ↓", "key.move"],
  ["← →", "key.holes"],
  ["PgUp PgDn", "key.page"],
  ["+ − 0", "key.zoom"],
  ["L", "key.loop"],
  ["[ ]", "key.loop.edges"],
  [", .", "key.rate"],
  ["N P", "key.findings"],
  ["A", "key.alone"],
  ["U", "key.unit"],
  ["R", "key.paper"],
  ["T V F", "key.left"],
  ["1 … 8", "key.right"],
  ["M", "key.meet"],
  ["< >", "key.fold"],
  ["Ctrl Z", "key.undo"],
  ["Ctrl S", "key.save"],
  ["Ctrl ␣", "key.complete"],
  ["Ctrl M", "key.tab"],
  ["Esc", "key.escape"],
  ["?", "key.sheet"],
];

export function KeySheet() {
  if (!use(sheetOpen)) return null;
  return (
    <aside class="keys" aria-label={t("keys")}>
      <header>
        <h2>{t("keys")}</h2>
        <button type="button" onClick={() => sheetOpen.set(false)} ref={(el) => el?.focus()}>
          {t("close")}
        </button>
      </header>
      <dl>
        {lines.map(([key, what]) => (
          <div key={what}>
            <dt>
              {key.split(" ").map((k) => (
                <kbd key={k}>{k}</kbd>
              ))}
            </dt>
            <dd>{t(what)}</dd>
          </div>
        ))}
      </dl>
      <p class="second">{t("keys.note")}</p>
    </aside>
  );
}
