// Files to make of the piece, each in the background.
import { useEffect, useState } from "preact/hooks";
import { ask, get, type Format, type Job } from "../api";
import { Cell, use } from "../cell";
import { hammers, source } from "../sound/player";
import { stale, say, work as workCell } from "../state";
import { open } from "../text/document";
import { watchJobs } from "../text/others";
import { text } from "../text/editor";
import { t } from "../words";

interface Made extends Job {
  format: string;
  print: boolean;
}

const formats = new Cell<Format[]>([]);
const made = new Cell<Made[]>([]);

const over = new Set(["done", "failed", "canceled"]);

/** Takes what is told of a job; news may come in another order than it happened. */
function told(job: unknown): void {
  const j = job as Job;
  const before = made.value.find((m) => m.id === j.id);
  if (!before || over.has(before.state)) return;
  made.update((list) => list.map((m) => (m.id === j.id ? { ...m, ...j } : m)));
  if (j.state !== "done") return;
  say(t("make.ready", { file: j.file ?? before.format }));
  if (before.print) window.open(`/api/jobs/${j.id}/file?inline=1`, "_blank", "noopener");
}
watchJobs(told);

const askEvery = 1500; // milliseconds, should the stream of events be down

async function start(format: string, options: Record<string, unknown>, print = false): Promise<void> {
  try {
    const { id } = await ask<{ id: string }>("jobs", { name: open.value?.name || `${open.value?.example}.piece`, text: text(), format, options });
    made.update((list) => [{ id, format, print, done: 0, of: 0, state: "queued" }, ...list]);
    do {
      told(await get<Job>(`jobs/${id}`));
      await new Promise((r) => setTimeout(r, askEvery));
    } while (made.value.some((m) => m.id === id && !over.has(m.state)));
  } catch (e) {
    say(e instanceof Error ? e.message : String(e));
  }
}

function Progress({ m }: { m: Made }) {
  return (
    <li class="made">
      <span>{m.file ?? m.format}</span>
      {m.state === "done" ? (
        <a class="button main" href={`/api/jobs/${m.id}/file`} download>
          {t("make.save")}
        </a>
      ) : m.state === "failed" ? (
        <span class="wrong">{m.error}</span>
      ) : m.state === "canceled" ? (
        <span class="second">{t("make.canceled")}</span>
      ) : (
        <>
          <progress max={m.of || undefined} value={m.of ? m.done : undefined} aria-label={t("make.progress", { file: m.format })} />
          <button type="button" onClick={() => void ask("jobs/cancel", { id: m.id }).catch(() => {})}>
            {t("make.cancel")}
          </button>
        </>
      )}
    </li>
  );
}

/** A format; where a machine has to be chosen, with the machines. */
function Row({ f, off, make }: { f: Format; off: boolean; make: (more: Record<string, unknown>) => void }) {
  const [machine, setMachine] = useState(f.machines?.[0]?.name ?? "");
  return (
    <li>
      <button type="button" disabled={off} onClick={() => make(f.machines ? { machine } : {})}>
        {f.format}
      </button>
      <span>
        {f.about}
        {f.machines && (
          <select aria-label={t("make.machine")} value={machine} onChange={(e) => setMachine((e.target as HTMLSelectElement).value)}>
            {f.machines.map((m) => (
              <option key={m.name} value={m.name}>
                {m.title}
              </option>
            ))}
          </select>
        )}
      </span>
    </li>
  );
}

export function Make() {
  const list = use(formats);
  const jobs = use(made);
  const old = use(stale);
  const work = use(workCell);
  const [piano, setPiano] = useState("");
  const [letter, setLetter] = useState(false);
  const [names, setNames] = useState(true);
  useEffect(() => {
    if (formats.value.length === 0) void get<Format[]>("formats").then((f) => formats.set(f));
  }, []);
  const all = list.some((f) => f.format === "zip") ? "zip" : "build"; // everything in one archive
  const options = {
    piano: piano || undefined,
    letter,
    names,
    roll: source.value === "roll",
    hammers: hammers.value || undefined,
  };
  return (
    <div class="make">
      {old && <p class="note note-red">{t("make.errors")}</p>}
      {jobs.length > 0 && (
        <ul class="jobs" aria-label={t("make.jobs")}>
          {jobs.map((m) => (
            <Progress key={m.id} m={m} />
          ))}
        </ul>
      )}
      <div class="row">
        <button type="button" class="main" disabled={old} onClick={() => void start("pdf", options, true)}>
          {t("make.print")}
        </button>
        <button type="button" disabled={old} onClick={() => void start(all, options)}>
          {t("make.all")}
        </button>
      </div>
      <div class="row options">
        {(work?.pianos.length ?? 0) > 1 && (
          <label>
            {t("make.piano")}{" "}
            <select value={piano} onChange={(e) => setPiano((e.target as HTMLSelectElement).value)}>
              <option value="">{t("make.piano.all")}</option>
              {work!.pianos.map((p) => (
                <option key={p.name} value={p.name}>
                  {p.name}
                </option>
              ))}
            </select>
          </label>
        )}
        <label>
          {t("make.sheet")}{" "}
          <select value={letter ? "letter" : "a4"} onChange={(e) => setLetter((e.target as HTMLSelectElement).value === "letter")}>
            <option value="a4">A4</option>
            <option value="letter">Letter</option>
          </select>
        </label>
        <label>
          <input type="checkbox" checked={names} onChange={(e) => setNames((e.target as HTMLInputElement).checked)} /> {t("make.names")}
        </label>
      </div>
      <ul class="formats">
        {list
          .filter((f) => f.format !== all)
          .map((f) => (
            <Row key={f.format} f={f} off={old} make={(more) => void start(f.format, { ...options, ...more })} />
          ))}
      </ul>
      <p class="second">{t("make.care")}</p>
    </div>
  );
}
