// A card for everything that has attributes: what it is made of, to read and to
// change. With cards alone a piece can be made from nothing.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { use } from "../cell";
import { clock, number } from "../format";
import { Swatch } from "../look/voice";
import { chosen, complaints, outline, say, work as workCell } from "../state";
import { edit, type Edit } from "../text/changes";
import { t, tn } from "../words";
import type { Part, Parts, Voice, Work } from "../work";
import { kindOf, optionsOf } from "./attributes";
import { Field, plain } from "./field";
import { Menu } from "./menu";
import { Series } from "./series";
import { Mend, said, toText } from "./to-text";

/** What stands at once on a card, and what behind "more". */
const shownFirst: Record<string, string[]> = {
  piece: ["title", "composer", "instrument", "tempo", "unit"],
  voice: ["color", "talea", "speed", "hold", "extent"],
  tune: ["color", "talea", "unit"],
  canon: ["subject", "meet", "speeds", "lasts"],
  section: ["like", "start", "gap"],
  piano: ["instrument", "hammers", "roll_tempo"],
  show: ["minutes", "order"],
  step: ["title", "text", "voices"],
  page: ["title", "text"],
};
const ofMusic =
  "line dynamics tempo transpose invert backward stretch rotate_color rotate_talea each_note unit lasts like piano pedal soft mode bar upbeat transpose_steps invert_steps mute".split(" ");
const further: Record<string, string[]> = {
  piece: "note hammers tuning a4 roll_tempo hold dynamics mode bar upbeat".split(" "),
  voice: ofMusic,
  tune: [...ofMusic.filter((a) => a !== "unit" && a !== "mute" && a !== "piano"), "hold", "extent"],
  canon: ["at", ...ofMusic.filter((a) => a !== "lasts" && a !== "line"), "hold", "extent"],
  section: "overlap tempo speed transpose hold dynamics piano mode bar upbeat without mute".split(" "),
  piano: ["tuning", "a4"],
  show: ["language"],
  step: "say hear stretch rate figure auto".split(" "),
  page: ["say", "figure"],
};
/** Blocks that a part may have, with their attributes. */
const statements = "transpose stretch dynamics rotate backward invert transpose_steps".split(" ");

interface Of {
  part: Part;
  all: Parts;
  voice?: Voice;
}

function One({ of, path, attr, name }: { of: Of; path: string[]; attr: string; name?: string }) {
  const raw = of.part.fields[name ?? attr]?.text ?? null;
  const kind = kindOf(attr, of.part.type);
  const shared = { path, attr, raw, placeholder: placeholder(of, attr, name) };
  if (kind === "menu") return <Menu {...shared} options={optionsOf(attr, of.part, of.all)} />;
  if (kind === "series") return <Series {...shared} />;
  return <Field {...shared} long={kind === "long"} options={kind === "text" ? optionsOf(attr, of.part, of.all) : undefined} />;
}

/** What holds where nothing is written. */
function placeholder({ part, voice: v }: Of, attr: string, name?: string): string {
  if (name && name !== attr) return attr === "mine" || attr === "theirs" ? "start" : "";
  const from = v?.inherited?.[attr];
  if (from !== undefined) return plain(from);
  if (v && attr === "color") return v.color.slice(0, 12).join(" ") + (v.color.length > 12 ? " …" : "");
  if (v && attr === "talea") return v.talea.slice(0, 12).join(" ") + (v.talea.length > 12 ? " …" : "");
  if (attr === "start" && v?.canon) return t("card.canon.place");
  const usual: Record<string, string> = { speed: "1", hold: "1", extent: "complete", start: "0 s" };
  if (part.type === "piece") Object.assign(usual, { tempo: "120", unit: "1/16", hold: "1", dynamics: "mf", a4: "440", roll_tempo: "80" });
  return usual[attr] ?? "";
}

/** How a voice is placed in time: by its start, or by what meets what. */
function Placing({ of }: { of: Of }) {
  const { part } = of;
  const now = !part.fields.meet ? "start" : part.fields["meet.at"] ? "at" : "with";
  const meet = [...part.path, "meet"];
  const change = (to: string) => {
    const others = optionsOf("with", part, of.all).map(([v]) => v);
    const edits: Edit[] = [];
    if (part.fields.meet) edits.push({ do: "drop", path: meet });
    if (part.fields.start) edits.push({ do: "set", path: part.path, attr: "start", value: null });
    const inside = to === "with" ? `with = "${others[0] ?? ""}"\n  mine = "end"\n  theirs = "end"` : `at = "10 s"`;
    if (to !== "start") edits.push({ do: "add", path: part.path, block: `meet {\n  ${inside}\n}` });
    void tell(edit(edits));
  };
  return (
    <>
      <Menu
        path={part.path}
        attr="placing"
        raw={now}
        options={[
          ["start", t("placing.start")],
          ["with", t("placing.with")],
          ["at", t("placing.at")],
        ]}
        always
        change={change}
      />
      {now === "start" ? (
        <One of={of} path={part.path} attr="start" />
      ) : (
        (now === "at" ? ["at", "mine"] : ["with", "mine", "theirs", "later"]).map((a) => <One key={a} of={of} path={meet} attr={a} name={`meet.${a}`} />)
      )}
    </>
  );
}

/** A tempo that changes, leg by leg. */
function Legs({ of, asked }: { of: Of; asked: boolean }) {
  const { part } = of;
  const path = [...part.path, "tempo_path"];
  const names = Object.keys(part.fields).filter((f) => /^tempo_path\.leg(\[\d+\])?$/.test(f));
  if (names.length === 0 && !asked) return null;
  const leg = (from: string) => `leg {\n  ${from}to   = 120\n  over = 32\n}`;
  const add = () => {
    if (names.length > 0) return void tell(edit([{ do: "add", path, block: leg("") }]));
    const tempo = plain(part.fields.tempo?.text ?? "60");
    void tell(
      edit([
        ...(part.fields.tempo ? [{ do: "set", path: part.path, attr: "tempo", value: null } as Edit] : []),
        { do: "add", path: part.path, block: `tempo_path {\n${leg(`from = ${tempo}\n  `).replace(/^/gm, "  ")}\n}` },
      ]),
    );
  };
  return (
    <fieldset class="legs">
      <legend>{t("card.legs")}</legend>
      {names.map((name) => (
        <div class="fields leg" key={name}>
          {["from", "to", "over", "shape"].map((a) => (
            <One key={a} of={of} path={[...path, name.slice("tempo_path.".length)]} attr={a} name={`${name}.${a}`} />
          ))}
          <button type="button" class="link" onClick={() => void tell(edit([{ do: "drop", path: names.length > 1 ? [...path, name.slice("tempo_path.".length)] : path }]))}>
            {t("card.leg.drop")}
          </button>
        </div>
      ))}
      <button type="button" class="link" onClick={add}>
        {t(names.length ? "card.leg.add" : "card.leg.first")}
      </button>
    </fieldset>
  );
}

/** What changes with each statement. */
function Statements({ of, block, asked }: { of: Of; block: "per_color" | "per_talea"; asked: boolean }) {
  const written = Object.keys(of.part.fields).filter((f) => f.startsWith(`${block}.`));
  const attrs = asked ? statements : statements.filter((a) => written.includes(`${block}.${a}`));
  if (attrs.length === 0) return null;
  return (
    <fieldset class="legs">
      <legend>{t(`card.${block}`)}</legend>
      <div class="fields">
        {attrs.map((a) => (
          <One key={a} of={of} path={[...of.part.path, block]} attr={a} name={`${block}.${a}`} />
        ))}
      </div>
    </fieldset>
  );
}

async function tell(problem: Promise<string>): Promise<void> {
  const said = await problem;
  if (said) say(said);
}

function facts(v: Voice): string {
  const parts = [tn("card.notes", v.notes), `${clock(v.startSec)} – ${clock(v.endSec)}`];
  if (v.complete) parts.push(tn("card.complete", v.complete.notes));
  if (v.secPerUnit !== null) parts.push(t("card.unit", { ms: number(v.secPerUnit * 1000, 1) }));
  return parts.join(" · ");
}

/** The name of a part, to be changed in place: wherever it is meant, it changes too. */
function Name({ part }: { part: Part }) {
  const [changing, setChanging] = useState(false);
  const [wrong, setWrong] = useState("");
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => input.current?.select(), [changing]);
  if (!part.name) return <h2>{t(`part.${part.type}`)}</h2>;
  if (!changing) {
    return (
      <h2>
        <button type="button" class="name" title={t("card.rename")} aria-label={t("card.rename.of", { name: part.name })} onClick={() => setChanging(true)}>
          {part.name}
        </button>
      </h2>
    );
  }
  const done = async (e: Event) => {
    e.preventDefault();
    const value = (e.currentTarget as HTMLFormElement).querySelector("input")!.value;
    const problem = await edit([{ do: "name", path: part.path, value }]);
    setWrong(problem);
    setChanging(problem !== "");
  };
  return (
    <form class="row name-line" onSubmit={(e) => void done(e)}>
      <input type="text" aria-label={t("card.name")} defaultValue={part.name} ref={input} onKeyDown={(e) => e.key === "Escape" && setChanging(false)} />
      <button type="submit">{t("ok")}</button>
      {wrong && <p class="wrong">{wrong}</p>}
    </form>
  );
}

function Card({ of, children }: { of: Of; children?: ComponentChildren }) {
  const { part, voice } = of;
  const at = use(chosen);
  const now = !!voice && at === voice.index;
  const crowded = of.all.list.length > 24;
  const [unfolded, setUnfolded] = useState<boolean | null>(null);
  const open = unfolded ?? (!crowded || now);
  const [more, setMore] = useState(false);
  const first = shownFirst[part.type] ?? [];
  const rest = further[part.type] ?? [];
  const music = part.type === "voice" || part.type === "tune" || part.type === "canon";
  // A line holds both; color and talea would replace it.
  const main = part.fields.line ? ["line", ...first.filter((a) => a !== "color" && a !== "talea")] : first;
  const shown = (more ? rest : rest.filter((a) => part.fields[a])).filter((a) => !main.includes(a));
  const choose = () => voice && chosen.set(voice.index);
  const label = part.name ? t("card.label", { what: t(`part.${part.type}`), name: part.name }) : t(`part.${part.type}`);
  const timed = part.type === "piece" || part.type === "section" || music;
  return (
    <section class={`card card-${part.type}${now ? " card-now" : ""}`} aria-label={label} onFocusCapture={choose} onClick={choose}>
      <header>
        {voice && <Swatch voice={voice.index} />}
        <Name part={part} />
        {part.name && <span class="second">{t(`part.${part.type}`)}</span>}
        {part.line > 0 && (
          <button type="button" class="link" onClick={() => toText(part.from, part.to)}>
            {t("card.line", { n: part.line })}
          </button>
        )}
        {crowded && part.type !== "piece" && (
          <button type="button" class="link" aria-expanded={open} aria-label={`${label}: ${t("card.open")}`} onClick={() => setUnfolded(!open)}>
            {open ? "▾" : "▸"}
          </button>
        )}
      </header>
      {voice && <p class="second facts">{facts(voice)}</p>}
      {open && (
        <>
          <div class="fields">
            {main.map((a) => (
              <One key={a} of={of} path={part.path} attr={a} />
            ))}
            {part.type === "voice" && <Placing of={of} />}
            {shown.map((a) => (
              <One key={a} of={of} path={part.path} attr={a} />
            ))}
            {part.type === "let" && Object.keys(part.fields).map((a) => <Field key={a} path={part.path} attr={a} raw={part.fields[a]!.text} label={a} long />)}
          </div>
          {timed && <Legs of={of} asked={more} />}
          {music && <Statements of={of} block="per_color" asked={more} />}
          {music && <Statements of={of} block="per_talea" asked={more} />}
          <p class="row card-do">
            {rest.length > 0 && (
              <button type="button" class="link" aria-expanded={more} onClick={() => setMore(!more)}>
                {t(more ? "card.less" : "card.more")}
              </button>
            )}
            {part.type !== "piece" && (
              <button type="button" class="link" onClick={() => void drop(of)} aria-label={`${t("card.drop")}: ${label}`}>
                {t("card.drop")}
              </button>
            )}
          </p>
        </>
      )}
      {children}
    </section>
  );
}

/** Takes a part away; in a canon, its share of the speeds with it. */
async function drop({ part, all }: Of): Promise<void> {
  const edits: Edit[] = [{ do: "drop", path: part.path }];
  const outer = part.path.slice(0, -1);
  const canon = all.list.find((p) => p.type === "canon" && same(p.path, outer));
  const speeds = canon && plain(canon.fields.speeds?.text ?? null).split(":");
  if (canon && speeds && speeds.length > 1) {
    const n = inside(all, canon).filter((p) => p.type === "voice").findIndex((p) => same(p.path, part.path));
    edits.push({ do: "set", path: canon.path, attr: "speeds", value: speeds.filter((_, i) => i !== n).map((s) => s.trim()).join(" : ") });
  }
  const problem = await edit(edits);
  say(problem || t("card.dropped", { what: part.name || t(`part.${part.type}`) }));
}

function same(a: string[], b: string[]): boolean {
  return a.length === b.length && a.every((s, i) => s === b[i]);
}

/** The parts that stand in another one, or outside all. */
function inside(all: Parts, outer: Part | null): Part[] {
  const path = outer?.path ?? [];
  return all.list.filter((p) => p.path.length === path.length + 1 && same(p.path.slice(0, -1), path));
}

/** A name that nothing has yet. */
function fresh(all: Parts, word: string, more: string[] = []): string {
  const taken = new Set([...all.list.map((p) => p.name), ...more]);
  let n = 1;
  while (taken.has(`${word} ${n}`)) n++;
  return `${word} ${n}`;
}

const music = `talea = "3 2 2 (1)"\n  color = "C4 E4 G4"`;
const roman = ["I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X"];

/** The block that a new part begins as, and what has to come with it. */
function begun(all: Parts, type: string, outer: Part | null): Edit[] {
  const path = outer?.path ?? [];
  if (type === "canon") {
    const edits: Edit[] = [];
    let subject = all.list.find((p) => p.type === "tune")?.name;
    if (!subject) {
      subject = fresh(all, "tune");
      edits.push({ do: "add", path: [], block: `tune "${subject}" {\n  ${music}\n  extent = "24 notes"\n}` });
    }
    const taken = new Set(all.list.map((p) => p.name));
    const names = [...roman, ...roman.map((r) => `${r} of ${all.list.length}`)].filter((r) => !taken.has(r)).slice(0, 3);
    const voices = names.map((v, i) => `  voice "${v}" {\n    transpose = ${12 * i - 12}\n  }`).join("\n");
    const name = fresh(all, "canon");
    edits.push({ do: "add", path, block: `canon "${name}" {\n  subject = "${subject}"\n  speeds  = "3 : 4 : 5"\n  meet    = "2/3"\n${voices}\n}` });
    return edits;
  }
  if (type === "voice" && outer?.type === "canon") {
    const voices = inside(all, outer).filter((p) => p.type === "voice");
    const taken = new Set(all.list.map((p) => p.name));
    const name = roman.find((r, i) => i >= voices.length && !taken.has(r)) ?? fresh(all, "voice");
    const edits: Edit[] = [{ do: "add", path, block: `voice "${name}" {\n  transpose = 12\n}` }];
    const speeds = plain(outer.fields.speeds?.text ?? null);
    if (speeds) edits.push({ do: "set", path, attr: "speeds", value: `${speeds} : ${voices.length + 3}` });
    return edits;
  }
  const blocks: Record<string, string> = {
    voice: `voice "${fresh(all, "voice")}" {\n  ${music}\n}`,
    tune: `tune "${fresh(all, "tune")}" {\n  ${music}\n}`,
    section: `section "${fresh(all, "section")}" {\n  voice "${fresh(all, "voice")}" {\n    ${music.replace("\n", "\n  ")}\n  }\n}`,
    piano: `piano "${fresh(all, "piano")}" {\n  instrument = "88-note"\n}`,
    show: "show {\n  minutes = 10\n}",
    step: `step "${fresh(all, "step")}" {\n  text = "…"\n}`,
    page: `page "${fresh(all, "page")}" {\n  title = "…"\n  text  = "…"\n}`,
  };
  return [{ do: "add", path, block: blocks[type] }];
}

/** What may be added to a part, or to the piece. */
function Adders({ all, outer }: { all: Parts; outer: Part | null }) {
  const types: Record<string, string[]> = { canon: ["voice"], section: ["voice", "canon"], show: ["step", "page"] };
  const may = outer ? (types[outer.type] ?? []) : ["voice", "tune", "canon", "section", "piano", ...(all.list.some((p) => p.type === "show") ? [] : ["show"])];
  if (may.length === 0) return null;
  const add = async (type: string) => {
    await tell(edit(begun(all, type, outer)));
    if (type === "voice") chosen.set(workCell.value?.voices.length ?? 0);
  };
  return (
    <div class="row adders" role="group" aria-label={outer ? t("card.add.to", { name: outer.name || t(`part.${outer.type}`) }) : t("card.add")}>
      <span class="second">{t("card.add")}</span>
      {may.map((type) => (
        <button type="button" key={type} onClick={() => void add(type)}>
          {t(`part.add.${type}`)}
        </button>
      ))}
    </div>
  );
}

function Tree({ all, outer, voices }: { all: Parts; outer: Part | null; voices: Map<string, Voice> }) {
  return (
    <>
      {inside(all, outer).map((part) => (
        <Card key={part.path.join("/")} of={{ part, all, voice: voices.get(part.path.join("/")) }}>
          {["canon", "section", "show"].includes(part.type) && (
            <div class="cards-inside">
              <Tree all={all} outer={part} voices={voices} />
              <Adders all={all} outer={part} />
            </div>
          )}
        </Card>
      ))}
    </>
  );
}

/** The voices of the work by the block that each is written in. */
function byPath(work: Work | null): Map<string, Voice> {
  const out = new Map<string, Voice>();
  for (const v of work?.voices ?? []) if (!out.has(v.path.join("/"))) out.set(v.path.join("/"), v);
  return out;
}

export function Cards() {
  const all = use(outline);
  const work = use(workCell);
  const wrong = use(complaints);
  const piece: Part = { type: "piece", name: "", path: [], line: 0, from: 0, to: 0, fields: all.top };
  return (
    <div class="cards">
      {wrong.length > 0 && (
        <div class="note note-red">
          {tn("errors.count", wrong.length)} {said(wrong[0])}{" "}
          <button type="button" class="link" onClick={() => toText(wrong[0].from, wrong[0].to)}>
            {t("card.errors.go")}
          </button>{" "}
          <Mend c={wrong[0]} />
        </div>
      )}
      <Card of={{ part: piece, all }} />
      <Tree all={all} outer={null} voices={byPath(work)} />
      <Adders all={all} outer={null} />
    </div>
  );
}
