// Remedies against a finding: each was written into a copy of the text and checked
// before it is shown, with what it costs, what it mends, and how it sounds.
import { useEffect, useState } from "preact/hooks";
import { askBinary } from "../api";
import { use } from "../cell";
import { length, lengthUnit, number } from "../format";
import { offer, pause, play, seek, source } from "../sound/player";
import { shown, work as workCell } from "../state";
import { remedies, write, type Cost, type Counts, type Remedy } from "../text/changes";
import { subject } from "../text/document";
import { t, tn } from "../words";
import { workOf, type Finding } from "../work";

const pauseBefore = 400; // milliseconds, so that typing is not followed by trials

// What is heard: a little before the place, and a little after it.
const before = 1.2; // seconds
const after = 2.4;

const heardName = "remedy";
let ending = 0;
let usual = "roll"; // what was played before a remedy was

/** Plays the place as it is, or as a remedy would have it. */
async function hear(sec: number, r: Remedy | null): Promise<void> {
  clearTimeout(ending);
  const from = Math.max(0, sec - before);
  if (r) {
    const events = workOf(await askBinary("work", { ...subject(), text: r.splice.text, lean: true })).roll;
    if (source.value !== heardName) usual = source.value;
    offer(heardName, { label: t("remedy.heard"), events });
    source.set(heardName);
  } else {
    forget();
  }
  seek(from);
  await play(from);
  ending = window.setTimeout(() => {
    pause();
    seek(sec);
    forget();
  }, (before + after) * 1000);
}

/** The roll is what is heard again. */
function forget(): void {
  clearTimeout(ending);
  if (source.value === heardName) source.set(usual);
  offer(heardName, null);
}
shown.watch((now) => {
  if (!now) forget();
});
workCell.watch(forget);

function costs(c: Cost): string {
  const of = number(c.notes);
  const parts: string[] = [];
  if (c.shorter) parts.push(tn("remedy.cost.shorter", c.shorter, { of, ms: number(c.shorterMS, 0) }));
  if (c.longer) parts.push(tn("remedy.cost.longer", c.longer, { of, ms: number(c.longerMS, 0) }));
  if (c.pitch) parts.push(tn("remedy.cost.pitch", c.pitch, { of }));
  if (c.out) parts.push(tn("remedy.cost.out", c.out, { of }));
  if (c.added) parts.push(tn("remedy.cost.added", c.added));
  if (c.time) parts.push(tn("remedy.cost.time", c.time, { of }));
  const touched = parts.length > 0;
  if (!touched) parts.push(t("remedy.cost.none"));
  if (Math.abs(c.laterSec) >= 0.05) parts.push(t(c.laterSec > 0 ? "remedy.cost.later" : "remedy.cost.sooner", { sec: number(Math.abs(c.laterSec), 1) }));
  if (Math.abs(c.paperMM) >= 1) parts.push(t(c.paperMM > 0 ? "remedy.cost.more" : "remedy.cost.less", { length: length(Math.abs(c.paperMM)) }));
  const names = c.voices.join(", ");
  const whose = c.more > 0 ? t("remedy.cost.further", { voices: names, n: c.more }) : names;
  return parts.join(", ") + (touched && names ? ` (${t("remedy.cost.in", { voices: whose })})` : "");
}

function counted(c: Counts): string {
  const parts = (["forbids", "risks", "notes"] as const).filter((s) => c[s] > 0).map((s) => t(`remedy.counts.${s}`, { n: number(c[s]) }));
  return parts.join(", ") || t("remedy.counts.none");
}

function One({ r, sec }: { r: Remedy; sec: number }) {
  use(lengthUnit);
  return (
    <li class="way">
      <p>
        <strong>{t(`remedy.way.${r.way}`)}</strong> <span class="second">{t("remedy.line", { line: r.line })}</span>
      </p>
      <pre class="diff">
        {r.before.map((l) => (
          <span class="diff-del" key={`- ${l}`}>{`− ${l.trim()}\n`}</span>
        ))}
        {r.after.map((l) => (
          <span class="diff-add" key={`+ ${l}`}>{`+ ${l.trim()}\n`}</span>
        ))}
      </pre>
      <p>
        {t("remedy.cost")} {costs(r.cost)}. {t("remedy.mends", { n: number(r.of - r.left), of: number(r.of) })}
      </p>
      <p class="second">{t("remedy.whole", { now: counted(r.now), then: counted(r.then) })}</p>
      <div class="row">
        {sec >= 0 && (
          <>
            <button type="button" onClick={() => void hear(sec, null)}>
              {t("remedy.hear.now")}
            </button>
            <button type="button" onClick={() => void hear(sec, r)} aria-label={`${t("remedy.hear.then")}: ${r.splice.label}`}>
              {t("remedy.hear.then")}
            </button>
          </>
        )}
        <button type="button" class="main" onClick={() => write(r)} aria-label={`${t("finding.fix")}: ${r.splice.label}`}>
          {t("finding.fix")}
        </button>
      </div>
    </li>
  );
}

/** The remedies for a finding at one of its places, as they are found. */
export function Remedies({ f, place }: { f: Finding; place: number }) {
  const work = use(workCell);
  const [{ found, over }, setFound] = useState<{ found: Remedy[]; over: boolean }>({ found: [], over: false });
  useEffect(() => {
    setFound({ found: [], over: false });
    const stop = new AbortController();
    const timer = setTimeout(() => remedies(f, place, stop.signal, (found, over) => setFound({ found, over })), pauseBefore);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [work, f.id, place]);
  const sec = f.places[place]?.sec ?? -1;
  return (
    <>
      {found.length > 0 && (
        <ol class="ways" aria-label={t("remedy.list")}>
          {found.map((r) => (
            <One key={r.key} r={r} sec={sec} />
          ))}
        </ol>
      )}
      {!over && (
        <p class="second" role="status">
          {t("remedy.asking")}
        </p>
      )}
      {over && found.length === 0 && <p>{t("finding.fix.none")}</p>}
    </>
  );
}
