// What paper or instrument cannot do, worst first, with what would help.
import { use } from "../cell";
import { changeUnit, clock, length, lengthUnit, measure, number } from "../format";
import { Swatch } from "../look/voice";
import { seek } from "../sound/player";
import { complaints, empty, found, page, piano, rightTab, shown, stale, work as workCell } from "../state";
import { reveal } from "../text/editor";
import { Remedies } from "./remedies";
import { Mend, said, toText } from "./to-text";
import { t, tn } from "../words";
import type { Finding, Severity, Work } from "../work";

const order: Severity[] = ["forbids", "risks", "note"];

export function go(finding: Finding, place: number): void {
  const n = finding.places.length;
  const at = ((place % n) + n) % n;
  const p = finding.places[at];
  if (!p) return;
  piano.set(p.piano);
  shown.set({ finding, place: at });
  if (p.sec >= 0) seek(p.sec);
  if (p.line > 0) reveal(p.from, p.to);
  if (matchMedia("(max-width: 899px)").matches) page.set("paper");
}

function Places({ f, at }: { f: Finding; at: number }) {
  const p = f.places[at];
  const voice = workCell.value?.voices[p.voice];
  return (
    <div class="places">
      {p.message !== f.message && <p>{p.message}</p>}
      <p>
        <strong class="tabular">{clock(p.sec, 2)}</strong> · {length(p.alongMM)}
        {voice && (
          <>
            {" "}
            · <Swatch voice={voice.index} /> {voice.name}
            {p.note > 0 && ` ${t("finding.note", { n: p.note })}`}
          </>
        )}
      </p>
      <div class="row">
        {f.places.length > 1 && (
          <>
            <button type="button" onClick={() => go(f, at - 1)} aria-label={t("finding.previous")}>
              ‹
            </button>
            <span class="tabular">{t("finding.nth", { n: at + 1, of: f.count })}</span>
            <button type="button" onClick={() => go(f, at + 1)} aria-label={t("finding.next")}>
              ›
            </button>
          </>
        )}
        {p.line > 0 && (
          <button
            type="button"
            class="link"
            onClick={() => toText(p.from, p.to)}
          >
            {t("card.line", { n: p.line })}
          </button>
        )}
      </div>
    </div>
  );
}

/** Whose a group of findings is, how often, and from when to when. */
function Whose({ f }: { f: Finding }) {
  const voice = workCell.value?.voices[f.voice];
  const first = f.places[0];
  const placed = f.toSec > 0 || (first?.alongMM ?? 0) > 0;
  const parts = [
    f.count > 1 ? t("finding.times", { n: number(f.count) }) : "",
    placed && (f.count > 1 ? `${clock(f.fromSec)} – ${clock(f.toSec)}` : `${clock(f.fromSec, 2)}, ${length(first?.alongMM ?? 0)}`),
  ].filter(Boolean);
  if (!voice && parts.length === 0) return null;
  return (
    <p class="second tabular whose">
      {voice && (
        <span>
          <Swatch voice={voice.index} /> {voice.name}
        </span>
      )}
      {parts.join(" · ")}
    </p>
  );
}

/** What would help in general; what can be written, where the card is open. */
function Help({ f, here, place }: { f: Finding; here: boolean; place: number }) {
  const old = use(stale);
  const looked = use(found) === use(workCell);
  return (
    <div class="remedy">
      {f.remedy && <p>{f.remedy}</p>}
      {f.fix && here && !old && looked && <Remedies f={f} place={place} />}
      {f.fix && !here && (
        <button type="button" disabled={old} onClick={() => go(f, 0)}>
          {t("remedy.look")}
        </button>
      )}
    </div>
  );
}

/** What a press anywhere on a card does: its buttons have their own, and a text that is being marked stays. */
function pressed(e: MouseEvent, act: () => void): void {
  const marked = getSelection();
  const inside = marked?.type === "Range" && (e.currentTarget as HTMLElement).contains(marked.anchorNode);
  if (!inside && !(e.target as HTMLElement).closest("button, a")) act();
}

function Item({ f }: { f: Finding }) {
  const now = use(shown);
  const here = now?.finding.id === f.id;
  const placed = f.places.length > 0;
  return (
    <li
      class={`finding finding-${f.severity}${here ? " finding-now" : ""}${placed ? " finding-way" : ""}`}
      onClick={(e) => placed && pressed(e, () => go(f, here ? now.place : 0))}
    >
      <button type="button" class="finding-go" aria-expanded={here} disabled={!placed} onClick={() => (here ? shown.set(null) : go(f, 0))}>
        <span class="finding-title">{f.title}</span>
        {f.count > 1 && <span class="count">{f.count}</span>}
      </button>
      <p>{f.message}</p>
      {!here && <Whose f={f} />}
      {here && f.places[now.place] && <Places f={f} at={now.place} />}
      {(f.remedy || f.fix) && <Help f={f} here={here} place={here ? now.place : -1} />}
    </li>
  );
}

/** Keeps to the same finding when the analysis is made anew. */
found.watch((w) => {
  const now = shown.value;
  if (!now || !w) return;
  const same = w.findings.find((f) => f.id === now.finding.id && f.kind === now.finding.kind);
  shown.set(same ? { finding: same, place: Math.min(now.place, same.places.length - 1) } : null);
});

/** What is wrong with the text, each with how to write it right. */
function Errors() {
  const wrong = use(complaints);
  if (wrong.length === 0) return null;
  return (
    <section>
      <h2 class="severity severity-forbids">{t("errors")}</h2>
      <ul>
        {wrong.map((c) => (
          <li key={`${c.from} ${c.problem}`} class="finding finding-forbids finding-way" onClick={(e) => pressed(e, () => toText(c.from, c.to))}>
            <button type="button" class="finding-go" onClick={() => toText(c.from, c.to)}>
              <span class="finding-title">{said(c)}</span>
            </button>
            {c.hint && <p class="hint">{c.hint}</p>}
            <Mend c={c} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function Facts({ work }: { work: Work }) {
  const unit = use(lengthUnit);
  return (
    <>
      {work.pianos.map((p) => (
        <section class="roll-facts" key={p.name}>
          <h2>{p.name ? t("facts.of", { piano: p.name }) : t("facts")}</h2>
          <dl>
            <dt>{t("facts.instrument")}</dt>
            <dd>{p.title}</dd>
            <dt>{t("facts.length")}</dt>
            <dd title={`${measure(p.paper.lengthMM, 1)} mm`}>
              {length(p.paper.lengthMM)}{" "}
              <button type="button" class="link narrow-only" onClick={changeUnit} title={t("unit.change")}>
                {t(unit === "mm" ? "unit.feet" : "unit.mm")}
              </button>
            </dd>
            <dt>{t("facts.time")}</dt>
            <dd title={`${work.durationSec} s`}>{clock(work.durationSec)}</dd>
            <dt>{t("facts.tempo")}</dt>
            <dd>{number(p.rollTempo, 1)}</dd>
            <dt>{t("facts.slots")}</dt>
            <dd>{number(p.slots.count)}</dd>
            <dt>{t("facts.once")}</dt>
            <dd>{t("facts.once.of", { notes: tn("facts.notes", p.once), most: p.maxOnce })}</dd>
          </dl>
        </section>
      ))}
    </>
  );
}

export function Findings() {
  const work = use(workCell);
  const old = use(stale);
  const wrong = use(complaints);
  const nothing = use(empty);
  use(lengthUnit);
  const looked = use(found) === work;
  const groups = order.map((s) => ({ s, list: work?.findings.filter((f) => f.severity === s) ?? [] })).filter((g) => g.list.length > 0);
  return (
    <div class="findings">
      <Errors />
      {!work && wrong.length === 0 && <p class="note">{t(nothing ? "empty.next" : "findings.waiting")}</p>}
      {work && groups.length === 0 && !looked && <p class="note">{t("findings.looking")}</p>}
      {work && groups.length === 0 && !old && looked && (
        <div class="empty">
          <p class="big">{t("findings.none")}</p>
          <p>
            {t("findings.none.next")}{" "}
            <button type="button" class="link" onClick={() => rightTab.set("make")}>
              {t("tab.make")}
            </button>
          </p>
        </div>
      )}
      {work && old && <p class="note note-amber">{t("findings.old")}</p>}
      <div class={old ? "findings-old" : undefined}>
        {groups.map(({ s, list }) => (
          <section key={s}>
            <h2 class={`severity severity-${s}`}>
              {t(`severity.${s}`)} <span class="count">{list.reduce((n, f) => n + f.count, 0)}</span>
            </h2>
            <ul>
              {list.map((f) => (
                <Item key={f.id} f={f} />
              ))}
            </ul>
          </section>
        ))}
        {work && <Facts work={work} />}
      </div>
    </div>
  );
}
