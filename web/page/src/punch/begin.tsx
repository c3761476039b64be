// Which roll to punch, and at which bench it begins.
import { useRef, useState } from "preact/hooks";
import { use } from "../cell";
import { clock, lengthUnit, number } from "../format";
import { inMM } from "../panels/make";
import { found, stale, work as workCell } from "../state";
import { open } from "../text/document";
import { t, tn } from "../words";
import type { Roll } from "./answers";
import { choose, leave, part, parting, problem, rolls as rollsCell, start } from "./companion";

/** The way to the bench, below the files to make. */
export function PunchByHand() {
  const o = use(open);
  const named = !!o?.name && !o.kind;
  const old = use(stale);
  return (
    <div class="punch-way">
      <h2>{t("punch.by.hand")}</h2>
      <p class="second">{t(named ? "punch.by.hand.text" : "punch.keep.first")}</p>
      <button type="button" disabled={!named || old} onClick={() => void choose()}>
        {t("punch.go")}
      </button>
    </div>
  );
}

export function nameOfRoll(r: { title: string; piano: string; spool: number; spools: number }): string {
  return [r.title, r.piano, r.spools > 1 ? t("punch.spool", { n: r.spool, of: r.spools }) : ""].filter(Boolean).join(" · ");
}

export function Begin() {
  const list = use(rollsCell);
  const bad = use(problem);
  const [bench, setBench] = useState("");
  use(found);
  const forbidden = use(workCell)?.findings.filter((f) => f.severity === "forbids").reduce((sum, f) => sum + f.count, 0) ?? 0;
  const fresh = list?.rolls.some((r) => !r.begun);
  return (
    <div class="punch-begin">
      <h1>{t("punch.choose")}</h1>
      {bad && <p class="note note-red" role="alert">{bad}</p>}
      {!list && !bad && <p role="status">{t("punch.waiting")}</p>}
      {forbidden > 0 && <p class="note note-red">{tn("punch.forbidden", forbidden)}</p>}
      <Spools />
      {fresh && (
        <p>
          <label>
            {t("punch.bench")}{" "}
            <select value={bench} onChange={(e) => setBench((e.target as HTMLSelectElement).value)}>
              <option value="">{t("punch.bench.assumed")}</option>
              {list!.benches.map((b) => (
                <option key={b.name} value={b.name}>
                  {b.title}
                </option>
              ))}
            </select>
          </label>
        </p>
      )}
      {list?.mind.map((text) => (
        <p class="note note-amber" key={text}>
          {text}
        </p>
      ))}
      <ul>
        {list?.rolls.map((r) => (
          <OneRoll key={r.journal} roll={r} bench={bench} />
        ))}
      </ul>
      <p class="second">{t("punch.keys")}</p>
      <p class="second">{t("punch.care")}</p>
      <button type="button" onClick={leave}>
        {t("punch.leave")}
      </button>
    </div>
  );
}

/** How a spool ends that has not begun. */
function ending({ end }: Roll): string {
  if (!end) return "";
  if (end.crossing > 0) return tn("punch.end.short", end.crossing);
  return end.restSec > 0 ? t("punch.end.rest", { sec: number(end.restSec, 1) }) : t("punch.end.between");
}

/** Times as they are typed, such as 1:20, 3:05.5; null: one of them is none. */
function times(typed: string): number[] | null {
  const all = typed.split(/[\s,;]+/).filter(Boolean);
  const secs = all.map((one) => {
    const found = /^(?:(\d+):)?(\d+(?:\.\d+)?)$/.exec(one);
    return found && !(found[1] && Number(found[2]) >= 60) ? Number(found[1] ?? 0) * 60 + Number(found[2]) : NaN;
  });
  return secs.some(Number.isNaN) ? null : secs;
}

/** A time as it is typed. */
function typedTime(sec: number): string {
  const m = Math.floor(sec / 60);
  const rest = String(Number((sec - m * 60).toFixed(3)));
  return `${m}:${rest.padStart(rest.includes(".") ? rest.length + 2 - rest.indexOf(".") : 2, "0")}`;
}

/** Where spools end: by their length, or at given times. */
function Spools() {
  const now = use(parting);
  const unit = use(lengthUnit);
  const [length, setLength] = useState(now.spoolMM ? String(Number((now.spoolMM / (unit === "feet" ? 304.8 : 1000)).toFixed(3))) : "");
  const [ends, setEnds] = useState(now.splitSec.map(typedTime).join(", "));
  const noLength = length.trim() !== "" && inMM(length) === 0;
  const noTimes = times(ends) === null;
  const lengthField = useRef<HTMLInputElement>(null);
  const endsField = useRef<HTMLInputElement>(null);
  const take = () => {
    // What stands there: what was drawn may be a letter behind it.
    const typed = lengthField.current!.value;
    const spoolMM = inMM(typed);
    const splitSec = times(endsField.current!.value);
    if (splitSec && (spoolMM > 0 || typed.trim() === "")) void part({ spoolMM, splitSec });
  };
  return (
    <div class="punch-part">
      <label>
        {t("make.spool")}{" "}
        <input
          ref={lengthField}
          type="text"
          inputMode="decimal"
          value={length}
          placeholder={t("make.spool.none")}
          aria-invalid={noLength || undefined}
          onInput={(e) => setLength((e.target as HTMLInputElement).value)}
          onChange={take}
        />{" "}
        {t(unit === "feet" ? "unit.feet" : "unit.m")}
      </label>
      <label>
        {t("punch.ends")}{" "}
        <input
          ref={endsField}
          type="text"
          class="punch-ends"
          value={ends}
          placeholder={t("punch.ends.none")}
          aria-invalid={noTimes || undefined}
          onInput={(e) => setEnds((e.target as HTMLInputElement).value)}
          onChange={take}
        />
      </label>
    </div>
  );
}

function OneRoll({ roll: r, bench }: { roll: Roll; bench: string }) {
  return (
    <li class="punch-roll">
      <strong>{r.error ? r.journal : nameOfRoll(r)}</strong>
      <span class={r.error ? "wrong" : "second"}>
        {!r.error && r.spools > 1 && `${clock(r.fromSec)} – ${clock(r.toSec)}. ${ending(r)} `}
        {r.error ?? (r.begun ? t("punch.begun", { n: number(r.punches), of: number(r.ofPunches), bench: r.bench }) : tn("punch.fresh", r.ofPunches))}
      </span>
      {!r.error && (
        <button type="button" class="main" onClick={() => start(r.journal, r.begun ? "" : bench)}>
          {t(r.begun ? "punch.goon" : "punch.start")}
        </button>
      )}
    </li>
  );
}
