// Under the paper: play, where the music is, and how it is heard.
import { useEffect, useRef, useState } from "preact/hooks";
import { use } from "../cell";
import { clock } from "../format";
import { addPainter, repaint } from "../look/frames";
import { calm } from "../look/palette";
import { Swatch } from "../look/voice";
import { further, hammers, heard, loading, loop, playing, rate, rates, seek, source, toggle, volume } from "../sound/player";
import { alone, chosen, piano as pianoCell, silent, work as workCell } from "../state";
import { t, tn } from "../words";
import type { Voice } from "../work";

function Counter() {
  const ref = useRef<HTMLSpanElement>(null);
  const work = use(workCell);
  useEffect(
    () =>
      addPainter(() => {
        const text = clock(Math.max(0, heard()), 1);
        if (ref.current && ref.current.textContent !== text) ref.current.textContent = text;
      }),
    [],
  );
  return (
    <span class="counter tabular">
      <span ref={ref} role="timer" aria-label={t("listen.time")} />
      <span class="second"> / {clock(work?.durationSec ?? 0)}</span>
    </span>
  );
}

export function markLoop(edge: 0 | 1): void {
  const sec = Math.max(0, heard());
  const end = workCell.value?.durationSec ?? 0;
  const now = loop.value ?? [0, end];
  const next: [number, number] = edge === 0 ? [sec, Math.max(now[1], sec + 0.1)] : [Math.min(now[0], sec - 0.1), sec];
  loop.set(next[1] <= next[0] + 0.05 ? [Math.max(0, sec - 1), sec + 1] : [Math.max(0, next[0]), next[1]]);
}

export function toggleLoop(): void {
  if (loop.value) return loop.set(null);
  const sec = Math.max(0, heard());
  loop.set([sec, Math.min(sec + 4, workCell.value?.durationSec ?? sec + 4)]);
}

function Choice({ label, value, options, on }: { label: string; value: string; options: [string, string][]; on: (v: string) => void }) {
  return (
    <label class="choice">
      <span>{label}</span>
      <select value={value} onChange={(e) => on((e.target as HTMLSelectElement).value)}>
        {options.map(([v, text]) => (
          <option key={v} value={v}>
            {text}
          </option>
        ))}
      </select>
    </label>
  );
}

export function Listen() {
  const on = use(playing);
  const waiting = use(loading);
  const looping = use(loop);
  const work = use(workCell);
  const pianos = work?.pianos ?? [];
  return (
    <div class="listen" role="group" aria-label={t("listen")}>
      <button type="button" class="main play" onClick={toggle} aria-pressed={on} disabled={!work} title={t("key.play")}>
        {waiting ? t("listen.loading") : on ? t("listen.pause") : t("listen.play")}
      </button>
      <button type="button" onClick={() => seek(0)} title={t("listen.start")} aria-label={t("listen.start")}>
        ⇤
      </button>
      <Counter />
      <span class="loop" role="group" aria-label={t("listen.loop.group")}>
        <button type="button" aria-pressed={!!looping} onClick={toggleLoop} title={t("key.loop")}>
          {t("listen.loop")}
        </button>
        {/* They keep their place, so that nothing moves when a stretch is repeated. */}
        {([0, 1] as const).map((edge) => (
          <button type="button" class="edge" key={edge} onClick={() => markLoop(edge)} title={t(edge ? "key.loop.to" : "key.loop.from")}>
            <span class="word">{t(edge ? "listen.to" : "listen.from")}</span> <span class="tabular">{clock(looping ? looping[edge] : edge ? (work?.durationSec ?? 0) : 0)}</span>
          </button>
        ))}
      </span>
      <Choice label={t("listen.rate")} value={String(use(rate))} options={rates.map((r) => [String(r), `${r}×`])} on={(v) => rate.set(Number(v))} />
      <Choice
        label={t("listen.hammers")}
        value={use(hammers)}
        options={[["", t("hammers.own")], ...["felt", "metal", "tacks"].map((h): [string, string] => [h, t(`hammers.${h}`)])]}
        on={(v) => hammers.set(v)}
      />
      <Choice
        label={t("listen.what")}
        value={use(source)}
        options={[
          ["roll", t("source.roll")],
          ["score", t("source.score")],
          ...use(further).map((f): [string, string] => [f.name, f.label]),
        ]}
        on={(v) => source.set(v)}
      />
      {pianos.length > 1 && (
        <Choice
          label={t("listen.paper")}
          value={String(use(pianoCell))}
          options={pianos.map((p, i) => [String(i), p.name])}
          on={(v) => {
            pianoCell.set(Number(v));
            repaint();
          }}
        />
      )}
      <label class="choice check" title={t("calm.why")}>
        <input
          type="checkbox"
          checked={use(calm)}
          onChange={(e) => {
            calm.set(e.currentTarget.checked);
            repaint();
          }}
        />
        <span>{t("calm")}</span>
      </label>
      <label class="choice">
        <svg width="16" height="16" viewBox="0 0 14 14" aria-hidden="true">
          <path d="M1 5h3l4-3v10l-4-3H1z" fill="currentColor" />
          <path d="M10 4.5q2 2.5 0 5M11.5 3q3 4 0 8" fill="none" stroke="currentColor" stroke-width="1.2" />
        </svg>
        <input type="range" aria-label={t("listen.volume")} min="0" max="1" step="0.02" value={use(volume)} onInput={(e) => volume.set(Number((e.target as HTMLInputElement).value))} />
      </label>
    </div>
  );
}

const fewVoices = 40; // with as many, voices are found by their groups and by a filter
const mostShown = 60;

/** One voice: alone with others that are, or silent. */
function One({ v }: { v: Voice }) {
  const some = use(alone);
  const quiet = use(silent);
  const here = some.has(v.index);
  return (
    <li class={some.size > 0 && !here ? "dim" : ""}>
      <button
        type="button"
        aria-pressed={here}
        title={t("legend.alone", { voice: v.name })}
        onClick={() => {
          turn([v], !here);
          chosen.set(v.index);
        }}
      >
        <Swatch voice={v.index} /> {v.name}
      </button>
      <button
        type="button"
        class="quiet"
        aria-pressed={quiet.has(v.index)}
        aria-label={t("legend.silent", { voice: v.name })}
        title={t("legend.silent", { voice: v.name })}
        onClick={() => {
          const next = new Set(quiet);
          if (!next.delete(v.index)) next.add(v.index);
          silent.set(next);
        }}
      >
        <svg width="14" height="14" viewBox="0 0 14 14" aria-hidden="true">
          <path d="M1 5h3l4-3v10l-4-3H1z" fill="currentColor" />
          {quiet.has(v.index) ? <path d="M10 5l3 4m0-4l-3 4" stroke="currentColor" stroke-width="1.4" /> : <path d="M10 4.5q2 2.5 0 5" fill="none" stroke="currentColor" stroke-width="1.4" />}
        </svg>
      </button>
    </li>
  );
}

/** Takes voices among those that alone are seen and heard, or out of them. */
function turn(voices: Voice[], on: boolean): void {
  const next = new Set(alone.value);
  for (const v of voices) {
    if (on) next.add(v.index);
    else next.delete(v.index);
  }
  alone.set(next.size === workCell.value?.voices.length ? new Set() : next);
  repaint();
}

/** The voices of each canon and section. */
function groupsOf(voices: Voice[]): { name: string; voices: Voice[] }[] {
  const groups = new Map<string, Voice[]>();
  for (const v of voices) {
    const name = v.canon || v.section;
    if (!name) continue;
    if (!groups.has(name)) groups.set(name, []);
    groups.get(name)!.push(v);
  }
  return [...groups].map(([name, voices]) => ({ name, voices }));
}

/** Which voice is which; some alone, some silent. */
export function Legend() {
  const work = use(workCell);
  const some = use(alone);
  const [wanted, setWanted] = useState("");
  if (!work || work.voices.length === 0) return null;
  const many = work.voices.length >= fewVoices;
  const filter = many ? wanted.trim().toLowerCase() : "";
  const fits = work.voices.filter((v) => !filter || [v.name, v.canon, v.section].some((n) => n.toLowerCase().includes(filter)));
  const shown = many ? fits.slice(0, mostShown) : fits;
  return (
    <div class="legend">
      {many && (
        <div class="legend-find">
          <input type="search" aria-label={t("legend.filter")} placeholder={t("legend.filter")} value={wanted} onInput={(e) => setWanted(e.currentTarget.value)} />
          <button type="button" disabled={fits.length === 0}
            onClick={() => {
              alone.set(new Set(fits.map((v) => v.index)));
              repaint();
            }}
          >
            {tn("legend.these", fits.length)}
          </button>
          {groupsOf(work.voices)
            .slice(0, mostShown)
            .map((g) => {
              const on = g.voices.every((v) => some.has(v.index));
              return (
                <button type="button" key={g.name} aria-pressed={on} onClick={() => turn(g.voices, !on)}>
                  {t("legend.group", { name: g.name, n: g.voices.length })}
                </button>
              );
            })}
        </div>
      )}
      <ul aria-label={t("legend")}>
        {some.size > 0 && (
          <li>
            <button type="button" aria-keyshortcuts="a" onClick={() => (alone.set(new Set()), repaint())}>
              {t("legend.all")}
            </button>
          </li>
        )}
        {shown.map((v) => (
          <One key={v.name} v={v} />
        ))}
        {fits.length > shown.length && <li class="second">{tn("legend.more", fits.length - shown.length)}</li>}
      </ul>
    </div>
  );
}
