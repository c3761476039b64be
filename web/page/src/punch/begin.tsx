// Which roll to punch, and at which bench it begins.
import { useState } from "preact/hooks";
import { use } from "../cell";
import { number } from "../format";
import { stale, work as workCell } from "../state";
import { open } from "../text/document";
import { t, tn } from "../words";
import { choose, leave, problem, rolls as rollsCell, start, type Roll } from "./companion";

/** The way to the bench, below the files to make. */
export function PunchByHand() {
  const named = !!use(open)?.name;
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
  const forbidden = use(workCell)?.findings.filter((f) => f.severity === "forbids").reduce((sum, f) => sum + f.count, 0) ?? 0;
  const fresh = list?.rolls.some((r) => !r.begun);
  return (
    <div class="punch-begin">
      <h1>{t("punch.choose")}</h1>
      {bad && <p class="note note-red" role="alert">{bad}</p>}
      {!list && !bad && <p role="status">{t("punch.waiting")}</p>}
      {forbidden > 0 && <p class="note note-red">{tn("punch.forbidden", forbidden)}</p>}
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

function OneRoll({ roll: r, bench }: { roll: Roll; bench: string }) {
  return (
    <li class="punch-roll">
      <strong>{r.error ? r.journal : nameOfRoll(r)}</strong>
      <span class={r.error ? "wrong" : "second"}>
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
