// The bench: text and cards at the left, paper in the middle, what the tool
// has to say at the right. On a narrow screen these are three pages.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ask, type Hunk } from "../api";
import { use, type Cell } from "../cell";
import { changeUnit, lengthUnit } from "../format";
import { theme, type Theme } from "../look/palette";
import { Overview } from "../paper/overview";
import { Paper } from "../paper/paper";
import { complaints, found, leftOpen, leftTab, notice, page, rightOpen, rightTab, spoken, trouble, work as workCell, type LeftTab, type Page, type RightTab } from "../state";
import { conflict, keepExample, open, saveState, settle } from "../text/document";
import { editor, redo, text, undo, undoable } from "../text/editor";
import { PickingLine } from "../views/meet";
import { views } from "../views/table";
import { language, t, tn } from "../words";
import { Cards } from "./cards";
import { Mend, OfInstrument, said } from "./to-text";
import { Difference, Folder } from "./folder";
import { Guide, guideAgain } from "./guide";
import { AsItIs } from "./as-it-is";
import { KeySheet, sheetOpen } from "./keys";
import { Legend, Listen } from "./listen";

/** The one editor, put into its place. */
function Text() {
  const ref = useRef<HTMLDivElement>(null);
  useEffect(() => {
    ref.current!.append(editor.dom);
    editor.requestMeasure();
  }, []);
  const first = use(complaints)[0];
  const o = use(open);
  return (
    <div class="text">
      {o?.kind && <AsItIs name={o.name} kind={o.kind} instrument={o.instrument} />}
      <OfInstrument />
      <div class="text-editor" ref={ref} hidden={!!o?.kind} />
      {first && !o?.kind && (
        <div class="text-error">
          <p role="status">{said(first)}</p>
          <Mend c={first} />
        </div>
      )}
    </div>
  );
}

function Tabs<T extends string>({ label, tabs, cell }: { label: string; tabs: T[]; cell: Cell<T> }) {
  const now = use(cell);
  const move = (e: KeyboardEvent) => {
    const by = e.key === "ArrowRight" ? 1 : e.key === "ArrowLeft" ? -1 : 0;
    if (!by) return;
    const next = tabs[(tabs.indexOf(now) + by + tabs.length) % tabs.length];
    cell.set(next);
    (e.currentTarget as HTMLElement).querySelector<HTMLElement>(`[data-tab="${next}"]`)?.focus();
  };
  return (
    <div class="tabs" role="tablist" aria-label={label} onKeyDown={move}>
      {tabs.map((tab) => (
        <button
          type="button"
          key={tab}
          role="tab"
          id={`tab-${tab}`}
          data-tab={tab}
          aria-selected={tab === now}
          aria-controls={`panel-${tab}`}
          tabIndex={tab === now ? 0 : -1}
          onClick={() => cell.set(tab)}
        >
          {t(`tab.${tab}`)}
          {tab === "findings" && <Badge />}
        </button>
      ))}
    </div>
  );
}

/** How many errors the text has; where it has none, how many findings are worth a look. */
function Badge() {
  const work = use(workCell);
  const errors = use(complaints).length;
  use(found);
  if (errors > 0) {
    return (
      <span class="count count-red" title={tn("errors.count", errors)}>
        <span aria-hidden="true">{errors}</span>
        <span class="hidden">{tn("errors.count", errors)}</span>
      </span>
    );
  }
  const n = work?.findings.filter((f) => f.severity !== "note").reduce((sum, f) => sum + f.count, 0) ?? 0;
  const bad = work?.findings.some((f) => f.severity === "forbids");
  return n > 0 ? <span class={`count ${bad ? "count-red" : "count-amber"}`}>{n}</span> : null;
}

function Panel({ tab, children, hidden }: { tab: string; children: ComponentChildren; hidden: boolean }) {
  return (
    <div class="panel" role="tabpanel" id={`panel-${tab}`} aria-labelledby={`tab-${tab}`} tabIndex={0} hidden={hidden}>
      {!hidden && children}
    </div>
  );
}

function Left() {
  const tab = use(leftTab);
  return (
    <>
      <Tabs<LeftTab> label={t("left")} tabs={["text", "voices", "folder"]} cell={leftTab} />
      {/* The text stays where it is, so that its scroll and marks are kept. */}
      <div class="panel panel-text" role="tabpanel" id="panel-text" aria-labelledby="tab-text" hidden={tab !== "text"}>
        <Text />
      </div>
      <Panel tab="voices" hidden={tab !== "voices"}>
        <Cards />
      </Panel>
      <Panel tab="folder" hidden={tab !== "folder"}>
        <Folder />
      </Panel>
    </>
  );
}

function Right() {
  const tab = use(rightTab);
  return (
    <>
      <Tabs<RightTab> label={t("right")} tabs={views.map((v) => v.tab)} cell={rightTab} />
      {views.map(({ tab: name, Inside }) => (
        <Panel key={name} tab={name} hidden={tab !== name}>
          <Inside />
        </Panel>
      ))}
    </>
  );
}

/** What is said of saving: that a file is saved once, what stands in the way every time. */
let lastSaid = "";
saveState.watch((s) => {
  const what = s === "saved" ? `saved ${open.value?.name}` : s;
  if ((s !== "saved" && s !== "failed" && s !== "conflict") || what === lastSaid) return;
  lastSaid = what;
  spoken.set(t(`save.${s}`));
});

function Saved() {
  const s = use(saveState);
  return (
    <span class={`saved saved-${s}`}>{t(`save.${s}`)}</span>
  );
}

function Head() {
  const o = use(open);
  const can = use(undoable);
  const now = use(theme);
  const unit = use(lengthUnit);
  const left = use(leftOpen);
  const right = use(rightOpen);
  const title = use(workCell)?.title ?? "";
  useEffect(() => {
    document.title = title ? `${title} · rollwright` : "rollwright";
  }, [title]);
  const next: Record<Theme, Theme> = { auto: "light", light: "dark", dark: "auto" };
  return (
    <header class="head">
      <button type="button" class="fold" aria-pressed={left} onClick={() => leftOpen.set(!left)} title={t("fold.left")} aria-label={t("fold.left")}>
        ◧
      </button>
      <h1>{title || "rollwright"}</h1>
      <span class="second file-of">{o?.name || (o && t("example.of", { name: o.example }))}</span>
      <Saved />
      {o && !o.name && (
        <button type="button" class="main" onClick={() => void keepExample()}>
          {t("example.keep")}
        </button>
      )}
      <span class="gap" />
      <button type="button" onClick={undo} disabled={!can.undo} aria-label={t("undo")} title={t("undo")}>
        ↶
      </button>
      <button type="button" onClick={redo} disabled={!can.redo} aria-label={t("redo")} title={t("redo")}>
        ↷
      </button>
      <button type="button" class="wide-only" onClick={changeUnit} title={t("unit.change")}>
        {t(unit === "mm" ? "unit.mm" : "unit.feet")}
      </button>
      <button type="button" onClick={() => theme.set(next[now])} title={t("theme.change")} aria-label={t("theme.now", { theme: t(`theme.${now}`) })}>
        {now === "auto" ? "◐" : now === "light" ? "☼" : "☾"}
      </button>
      <button type="button" class="wide-only" onClick={guideAgain}>
        {t("guide.short")}
      </button>
      <button type="button" onClick={() => sheetOpen.set(true)} aria-label={t("keys")} title={t("keys")}>
        ?
      </button>
      <button type="button" class="fold" aria-pressed={right} onClick={() => rightOpen.set(!right)} title={t("fold.right")} aria-label={t("fold.right")}>
        ◨
      </button>
    </header>
  );
}

/** What needs a decision or patience, in a line of its own. */
function Lines() {
  const wrong = use(trouble);
  const c = use(conflict);
  const [hunks, setHunks] = useState<Hunk[] | null>(null);
  useEffect(() => setHunks(null), [c]);
  const compare = async () => {
    const { hunks } = await ask<{ hunks: Hunk[] }>("diff", { name: open.value?.name, id: "disk", text: text() });
    setHunks(hunks);
  };
  return (
    <div class="lines" aria-live="assertive">
      {wrong && <p class="note note-red">{wrong}</p>}
      {c && (
        <div class="note note-amber">
          <span>{t("conflict")}</span>
          <button type="button" onClick={() => settle("disk")}>
            {t("conflict.disk")}
          </button>
          <button type="button" onClick={() => settle("mine")}>
            {t("conflict.mine")}
          </button>
          <button type="button" class="link" onClick={() => void compare()}>
            {t("conflict.compare")}
          </button>
          {hunks && <Difference hunks={hunks} />}
        </div>
      )}
    </div>
  );
}

function Pages() {
  const now = use(page);
  return (
    <nav class="pages" aria-label={t("pages")}>
      {(["left", "paper", "right"] as Page[]).map((p) => (
        <button type="button" key={p} aria-current={p === now ? "page" : undefined} onClick={() => page.set(p)}>
          {t(`page.${p}`)}
          {p === "right" && <Badge />}
        </button>
      ))}
    </nav>
  );
}

function Notice() {
  const text = use(notice);
  return (
    <>
      <p class={`notice${text ? "" : " notice-none"}`} role="status">
        {text}
      </p>
      <p class="hidden" role="status">
        {use(spoken)}
      </p>
    </>
  );
}

export function App() {
  use(language);
  const left = use(leftOpen);
  const right = use(rightOpen);
  const now = use(page);
  const n = use(workCell)?.slots.lead.length ?? 0;
  return (
    <div class={`app${left ? "" : " no-left"}${right ? "" : " no-right"}`} data-page={now}>
      <Head />
      <Lines />
      <main class="bench">
      <section class="side left" aria-label={t("left")}>
        <Left />
      </section>
      <section class="middle" aria-label={t("page.paper")}>
        <div class="roll">
          <Paper />
          <Overview />
        </div>
        <PickingLine />
        <Legend />
        <Listen />
        <p class="hidden">{tn("slots", n)}</p>
        <Notice />
      </section>
      <section class="side right" aria-label={t("right")}>
        <Right />
      </section>
      <Guide />
      <KeySheet />
      </main>
      <Pages />
    </div>
  );
}
