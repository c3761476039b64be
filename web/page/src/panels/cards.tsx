// A card for every voice: what it is made of, to read and to change.
import { useState } from "preact/hooks";
import { use } from "../cell";
import { clock, number } from "../format";
import { Swatch } from "../look/voice";
import { chosen, complaints, work as workCell } from "../state";
import { editor, splice } from "../text/editor";
import { toText } from "./to-text";
import { t, tn } from "../words";
import type { Voice } from "../work";
import { Field, plain } from "./field";

const main = ["color", "talea", "speed", "hold", "extent"];
const more = ["line", "dynamics", "tempo", "transpose", "invert", "backward", "stretch", "rotate_color", "rotate_talea", "each_note", "unit", "piano", "like", "pedal", "soft"];
const long = new Set(["color", "talea", "line"]);

/** Where the voice stands in time: its start, or what meets what. */
function PlaceFields({ v }: { v: Voice }) {
  if (!v.fields.meet) {
    return <Field path={v.path} attr="start" raw={v.fields.start?.text ?? null} placeholder={v.canon ? t("card.canon.place") : "0 s"} />;
  }
  const at = v.fields["meet.at"] ? ["at", "mine"] : ["with", "mine", "theirs"];
  return (
    <>
      {at.map((a) => (
        <Field key={a} path={[...v.path, "meet"]} attr={a} raw={v.fields[`meet.${a}`]?.text ?? null} placeholder={a === "with" ? "" : "start"} />
      ))}
    </>
  );
}

function facts(v: Voice): string {
  const parts = [tn("card.notes", v.notes), `${clock(v.startSec)} – ${clock(v.endSec)}`];
  if (v.complete) parts.push(tn("card.complete", v.complete.notes));
  if (v.secPerUnit !== null) parts.push(t("card.unit", { ms: number(v.secPerUnit * 1000, 1) }));
  return parts.join(" · ");
}

function Card({ v }: { v: Voice }) {
  const now = use(chosen) === v.index;
  const [open, setOpen] = useState(false);
  const of = (attr: string) => v.fields[attr]?.text ?? null;
  const used = more.filter((a) => v.fields[a]);
  const shown = open ? more : used;
  // A line holds both; color and talea would replace it.
  const first = v.fields.line ? main.filter((a) => a !== "color" && a !== "talea") : main;
  return (
    <section class={`card${now ? " card-now" : ""}`} aria-label={t("card.label", { voice: v.name })} onFocusCapture={() => chosen.set(v.index)} onClick={() => chosen.set(v.index)}>
      <header>
        <Swatch voice={v.index} />
        <h2>{v.name}</h2>
        {v.canon && <span class="second">{t("card.canon", { canon: v.canon })}</span>}
        <button type="button" class="link" onClick={() => toText(v.from, v.to)}>
          {t("card.line", { n: v.line })}
        </button>
      </header>
      <p class="second facts">{facts(v)}</p>
      <div class="fields">
        {first.map((a) => (
          <Field key={a} path={v.path} attr={a} raw={of(a)} placeholder={placeholder(v, a)} long={long.has(a)} />
        ))}
        <PlaceFields v={v} />
        {shown.map((a) => (
          <Field key={a} path={v.path} attr={a} raw={of(a)} placeholder={placeholder(v, a)} long={long.has(a)} />
        ))}
      </div>
      <button type="button" class="link" aria-expanded={open} onClick={() => setOpen(!open)}>
        {t(open ? "card.less" : "card.more")}
      </button>
    </section>
  );
}

/** What holds where the voice itself says nothing. */
function placeholder(v: Voice, attr: string): string {
  const from = v.inherited?.[attr];
  if (from !== undefined) return plain(from);
  if (attr === "color") return v.color.slice(0, 12).join(" ") + (v.color.length > 12 ? " …" : "");
  if (attr === "talea") return v.talea.slice(0, 12).join(" ") + (v.talea.length > 12 ? " …" : "");
  return { speed: "1", hold: "1", extent: "complete" }[attr] ?? "";
}

/** A new voice at the end of the text, to be changed. */
function addVoice(voices: Voice[]): void {
  const names = new Set(voices.map((v) => v.name));
  let n = voices.length + 1;
  while (names.has(`voice ${n}`)) n++;
  const end = editor.state.doc.length;
  const gap = editor.state.doc.toString().endsWith("\n") ? "\n" : "\n\n";
  splice(end, end, `${gap}voice "voice ${n}" {\n  talea = "3 2 2 (1)"\n  color = "C4 E4 G4"\n}\n`);
  chosen.set(voices.length);
}

export function Cards() {
  const work = use(workCell);
  const wrong = use(complaints);
  const voices = work?.voices ?? [];
  return (
    <div class="cards">
      {wrong.length > 0 && (
        <p class="note note-red">
          {tn(work ? "card.errors" : "errors.count", wrong.length)}{" "}
          <button type="button" class="link" onClick={() => toText(wrong[0].from, wrong[0].to)}>
            {t("card.errors.go")}
          </button>
        </p>
      )}
      {voices.map((v) => (
        <Card key={v.name} v={v} />
      ))}
      <button type="button" class="wide" onClick={() => addVoice(voices)}>
        {t("card.add")}
      </button>
    </div>
  );
}
