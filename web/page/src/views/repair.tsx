// What follows from the differences on the light table: a worksheet of what to patch
// and what to punch, each place beside the plan, and a journal that knows the paper.
import { useEffect, useState } from "preact/hooks";
import { ask } from "../api";
import { use } from "../cell";
import { Running } from "../jobs";
import type { Roll, Rolls } from "../punch/answers";
import { nameOfRoll } from "../punch/begin";
import { choose } from "../punch/companion";
import { say, stale } from "../state";
import { open } from "../text/document";
import { t } from "../words";
import { Progress } from "./progress";

const running = new Running();
const formats = ["pdf", "html", "csv"] as const;

interface Recorded {
  journal: string;
  says: string;
}

/** The repair of what lies on the table by a job, of the piano of that name. */
export function Repair({ job, piano }: { job: string; piano: string }) {
  const o = use(open);
  const old = use(stale);
  const made = use(running.job);
  const kept = !!o?.name && !o.kind;
  const [rolls, setRolls] = useState<Rolls | null>(null);
  const [bench, setBench] = useState("");
  const [letter, setLetter] = useState(false);
  const [journal, setJournal] = useState("");
  const [recorded, setRecorded] = useState<Recorded | null>(null);
  const list = async () => {
    if (kept) setRolls(await ask<Rolls>("punch", { name: o!.name, action: "rolls" }));
  };
  useEffect(() => {
    running.clear();
    setRecorded(null);
    void list().catch((e) => say(e instanceof Error ? e.message : String(e)));
  }, [job]);
  const own: Roll[] = (rolls?.rolls ?? []).filter((r) => r.piano === piano && !r.error);
  const roll = own.find((r) => r.journal === journal) ?? own.find((r) => r.begun) ?? own[0];
  const record = async () => {
    try {
      setRecorded(await ask<Recorded>("light/record", { id: job, journal: roll!.journal, bench }));
      await list();
    } catch (e) {
      say(e instanceof Error ? e.message : String(e));
    }
  };
  return (
    <section class="repair">
      <h2>{t("repair")}</h2>
      <p class="second">{t("repair.text")}</p>
      <p class="fields-row">
        {rolls && (
          <label>
            {t("punch.bench")}{" "}
            <select value={bench} onChange={(e) => setBench((e.target as HTMLSelectElement).value)}>
              <option value="">{t("punch.bench.assumed")}</option>
              {rolls.benches.map((b) => (
                <option key={b.name} value={b.name}>
                  {b.title}
                </option>
              ))}
            </select>
          </label>
        )}
        <label>
          {t("repair.paper")}{" "}
          <select value={letter ? "letter" : "a4"} onChange={(e) => setLetter((e.target as HTMLSelectElement).value === "letter")}>
            <option value="a4">A4</option>
            <option value="letter">Letter</option>
          </select>
        </label>
      </p>
      <p class="row">
        {formats.map((format) => (
          <button type="button" key={format} disabled={old} onClick={() => void running.run("light/proof", { id: job, format, bench, letter })}>
            {t(`repair.${format}`)}
          </button>
        ))}
      </p>
      <Progress of={running} what={t("repair")} />
      {made?.state === "done" && made.file && (
        <p>
          {made.file}{" "}
          <a class="button main" href={`api/jobs/${made.id}/file`} download>
            {t("make.save")}
          </a>
        </p>
      )}
      <h3>{t("repair.journal")}</h3>
      <p class="second">{t(kept ? "repair.journal.text" : "punch.keep.first")}</p>
      {own.length > 1 && (
        <p>
          <label>
            {t("repair.roll")}{" "}
            <select value={roll!.journal} onChange={(e) => setJournal((e.target as HTMLSelectElement).value)}>
              {own.map((r) => (
                <option key={r.journal} value={r.journal}>
                  {nameOfRoll(r)}
                </option>
              ))}
            </select>
          </label>
        </p>
      )}
      {roll && (
        <p>
          <button type="button" disabled={old} onClick={() => void record()}>
            {t("repair.record")}
          </button>
        </p>
      )}
      {recorded && (
        <div role="status">
          <p>{t("repair.recorded", { journal: recorded.journal, says: recorded.says })}</p>
          <button type="button" onClick={() => void choose()}>
            {t("punch.go")}
          </button>
        </div>
      )}
    </section>
  );
}
