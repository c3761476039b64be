// Files to make of the piece, each in the background.
import { useEffect, useState } from "preact/hooks";
import { ask, get, type Format, type Job, type Offer } from "../api";
import { Cell, use } from "../cell";
import { lengthUnit } from "../format";
import { hammers, source } from "../sound/player";
import { stale, say, work as workCell } from "../state";
import { open, subject } from "../text/document";
import { watchJobs } from "../text/others";
import { t } from "../words";

interface Made extends Job {
  format: string;
  what: string; // what is made, for a person
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
  say(t("make.ready", { file: j.file ?? before.what }));
  if (before.print) window.open(`api/jobs/${j.id}/file?inline=1`, "_blank", "noopener");
}
watchJobs(told);

const askEvery = 1500; // milliseconds, should the stream of events be down

const mostAtWork = 8; // so many wait at most

async function start(format: string, options: Record<string, unknown>, what: string, print = false): Promise<void> {
  if (made.value.filter((m) => !over.has(m.state)).length >= mostAtWork) return say(t("make.busy"));
  try {
    const { id } = await ask<{ id: string }>("jobs", { ...subject(), format, options });
    made.update((list) => [{ id, format, what, print, done: 0, of: 0, state: "queued" }, ...list]);
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
      <span>
        {m.what} <span class="second">{m.file ?? m.format}</span>
      </span>
      {m.state === "done" ? (
        <a class="button main" href={`api/jobs/${m.id}/file`} download>
          {t("make.save")}
        </a>
      ) : m.state === "failed" ? (
        <span class="wrong">{m.error}</span>
      ) : m.state === "canceled" ? (
        <span class="second">{t("make.canceled")}</span>
      ) : (
        <>
          <progress max={m.of || undefined} value={m.of ? m.done : undefined} aria-label={t("make.progress", { file: m.what })} />
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
          <select aria-label={t("make.machine.for", { format: f.format })} value={machine} onChange={(e) => setMachine((e.target as HTMLSelectElement).value)}>
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

interface Making {
  off: boolean; // nothing can be made at the moment
  options: Record<string, unknown>;
  offer: Offer | null;
}

/** What a number typed in metres or feet is in millimetres; 0: nothing, or no number. */
export function inMM(typed: string): number {
  const n = Number(typed.trim().replace(",", "."));
  return n > 0 ? n * (lengthUnit.value === "feet" ? 304.8 : 1000) : 0;
}

function LengthField({ name, value, on }: { name: string; value: string; on: (v: string) => void }) {
  const unit = t(use(lengthUnit) === "feet" ? "unit.feet" : "unit.m");
  return (
    <label>
      {t(`make.${name}`)}{" "}
      <input
        type="text"
        inputMode="decimal"
        class="short"
        value={value}
        placeholder={t(`make.${name}.none`)}
        aria-invalid={value.trim() !== "" && inMM(value) === 0 ? true : undefined}
        onInput={(e) => on((e.target as HTMLInputElement).value)}
      />{" "}
      {unit}
    </label>
  );
}

/** What a person at a bench needs, instead of the roll. */
function ByHand({ off, options, offer }: Making) {
  const [bench, setBench] = useState("");
  const [spool, setSpool] = useState("");
  const [cue, setCue] = useState("");
  const [date, setDate] = useState("");
  const [copies, setCopies] = useState("");
  const ofLabels = { date: date || undefined, copies: Number(copies) > 1 ? Number(copies) : undefined };
  const kinds: [string, string, Record<string, unknown>][] = [
    ["pdf", "make.worksheet", { worksheet: true }],
    ["csv", "make.worksheet.csv", { worksheet: true }],
    ["pdf", "make.labels", { labels: true, ...ofLabels }],
    ["pdf", "make.tiles", {}],
  ];
  return (
    <section class="make-hand">
      <h2>{t("make.hand")}</h2>
      <p class="note note-amber">{t("punch.care")}</p>
      <div class="row options">
        <label>
          {t("make.bench")}{" "}
          <select value={bench} onChange={(e) => setBench((e.target as HTMLSelectElement).value)}>
            <option value="">{t("punch.bench.assumed")}</option>
            {offer?.benches.map((b) => (
              <option key={b.name} value={b.name}>
                {b.title}
              </option>
            ))}
          </select>
        </label>
        <LengthField name="spool" value={spool} on={setSpool} />
        <LengthField name="cue" value={cue} on={setCue} />
        <label>
          {t("make.date")} <input type="date" value={date} onInput={(e) => setDate((e.target as HTMLInputElement).value)} />
        </label>
        <label>
          {t("make.copies")}{" "}
          <input
            type="number"
            class="short"
            min="1"
            max="10000"
            placeholder="1"
            value={copies}
            onInput={(e) => setCopies((e.target as HTMLInputElement).value)}
          />
        </label>
      </div>
      <ul class="formats">
        {kinds.map(([format, key, more]) => (
          <li key={key}>
            <button
              type="button"
              disabled={off}
              aria-label={`${format}: ${t(key)}`}
              onClick={() => void start(format, { ...options, bench, spoolMM: inMM(spool) || undefined, cueMM: inMM(cue) || undefined, ...more }, t(key))}
            >
              {format}
            </button>
            <span>{t(key)}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}

const pictures = ["pdf", "svg", "png"];

/** What explains the piece: figures, scores, the lecture page. */
function Explain({ off, options, offer, list, voices }: Making & { list: Format[]; voices: string[] }) {
  const [figure, setFigure] = useState("grid");
  const [voice, setVoice] = useState("");
  const [format, setFormat] = useState("pdf");
  const known = voices.includes(voice) ? voice : "";
  return (
    <section>
      <h2>{t("make.explain")}</h2>
      <div class="row options">
        <label>
          {t("make.figure")}{" "}
          <select value={figure} onChange={(e) => setFigure((e.target as HTMLSelectElement).value)}>
            {offer?.figures.map((k) => (
              <option key={k.kind} value={k.kind}>
                {k.kind}: {k.about}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t("voice")}{" "}
          <select value={known} onChange={(e) => setVoice((e.target as HTMLSelectElement).value)}>
            <option value="">{t("make.voice.suits")}</option>
            {voices.map((v) => (
              <option key={v} value={v}>
                {v}
              </option>
            ))}
          </select>
        </label>
        <label>
          {t("make.as")}{" "}
          <select value={format} onChange={(e) => setFormat((e.target as HTMLSelectElement).value)}>
            {pictures.map((f) => (
              <option key={f} value={f}>
                {f}
              </option>
            ))}
          </select>
        </label>
      </div>
      <ul class="formats">
        <li>
          <button type="button" disabled={off} aria-label={`${format}: ${t("make.figure.make")}`} onClick={() => void start(format, { ...options, figure, voices: known ? [known] : undefined }, `${t("make.figure")}: ${figure}`)}>
            {format}
          </button>
          <span>{t("make.figure.make")}</span>
        </li>
        <li>
          <button type="button" disabled={off} aria-label={`${format}: ${t("make.score")}`} onClick={() => void start(format, { ...options, score: true }, t("make.score"))}>
            {format}
          </button>
          <span>{t("make.score")}</span>
        </li>
      </ul>
      <Formats off={off} options={options} list={list} />
    </section>
  );
}

function Formats({ off, options, list }: { off: boolean; options: Record<string, unknown>; list: Format[] }) {
  return (
    <ul class="formats">
      {list.map((f) => (
        <Row key={`${f.format} ${f.about}`} f={f} off={off} make={(more) => void start(f.format, { ...options, ...more }, f.about)} />
      ))}
    </ul>
  );
}

/** Formats that stand under a heading of their own; the others are of paper and sound. */
const explaining = new Set(["musicxml", "html"]);
const cutting = new Set(["svg", "dxf"]);
/** Whether a machine cuts from the file. */
const cuts = (f: Format): boolean => cutting.has(f.format) || f.machines !== undefined;

export function Make() {
  const list = use(formats);
  const jobs = use(made);
  const old = use(stale);
  const work = use(workCell);
  const name = use(open)?.name ?? "";
  const [piano, setPiano] = useState("");
  const [letter, setLetter] = useState(false);
  const [names, setNames] = useState(true);
  const [cue, setCue] = useState("");
  const [offer, setOffer] = useState<Offer | null>(null);
  useEffect(() => {
    if (formats.value.length === 0) void get<Format[]>("formats").then((f) => formats.set(f));
  }, []);
  useEffect(() => void ask<Offer>("offer", { name }).then(setOffer, () => {}), [name]);
  const all = list.some((f) => f.format === "zip") ? "zip" : "build"; // everything in one archive
  const options = {
    piano: work?.pianos.some((p) => p.name === piano) ? piano : undefined,
    letter,
    names,
    roll: source.value === "roll",
    hammers: hammers.value || undefined,
  };
  const under = (s: Set<string>) => list.filter((f) => s.has(f.format));
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
        <button type="button" class="main" disabled={old} onClick={() => void start("pdf", options, t("make.print.what"), true)}>
          {t("make.print")}
        </button>
        <button type="button" disabled={old} onClick={() => void start(all, options, t("make.all.what"))}>
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
      <Formats off={old} options={options} list={list.filter((f) => f.format !== all && !explaining.has(f.format) && !cuts(f))} />
      <ByHand off={old} options={options} offer={offer} />
      <section>
        <h2>{t("make.cut")}</h2>
        <p class="note note-amber">{t("make.care")}</p>
        <div class="row options">
          <LengthField name="cue" value={cue} on={setCue} />
        </div>
        <Formats off={old} options={{ ...options, cueMM: inMM(cue) || undefined }} list={list.filter(cuts)} />
      </section>
      <Explain off={old} options={options} offer={offer} list={under(explaining)} voices={work?.voices.map((v) => v.name) ?? []} />
    </div>
  );
}
