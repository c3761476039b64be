// What a piece file may say, for completion: attributes by block, words of
// values, pitches.
import { snippetCompletion, type Completion, type CompletionContext, type CompletionResult } from "@codemirror/autocomplete";
import { Cell } from "../cell";
import { outline, work } from "../state";
import { has, t } from "../words";

/** Names of instruments, from the server. */
export const instruments = new Cell<{ name: string; title: string }[]>([]);

const voiceWords =
  "talea color line extent hold dynamics speed tempo unit start like lasts transpose invert backward stretch rotate_color rotate_talea each_note piano pedal soft per_color per_talea meet tempo_path".split(" ");
const statement = "transpose stretch dynamics".split(" ");

const attributes: Record<string, string[]> = {
  "": "title composer note instrument hammers tuning a4 roll_tempo tempo unit hold dynamics let tune voice canon section piano show".split(" "),
  voice: voiceWords,
  tune: voiceWords.filter((w) => w !== "start" && w !== "meet"),
  canon: [...voiceWords.filter((w) => w !== "start"), "subject", "speeds", "voice"],
  section: "start overlap voice canon".split(" "),
  piano: "instrument hammers tuning a4 roll_tempo".split(" "),
  meet: "with at mine theirs".split(" "),
  per_color: statement,
  per_talea: statement,
  tempo_path: ["leg"],
  leg: "from to over shape".split(" "),
  show: "minutes language order step page".split(" "),
  step: "title text say voices hear stretch rate figure auto".split(" "),
  page: "title text say figure".split(" "),
};

/** Words that stand before a brace instead of an equals sign. */
const blocks = new Set("let tune voice canon section piano show per_color per_talea meet tempo_path loudness_path leg step page".split(" "));
const named = new Set("tune voice canon section piano step page".split(" "));

const values: Record<string, string[]> = {
  extent: ["complete", "42 notes", "7 taleae", "6 colores", "90 units", "60 s"],
  hammers: ["felt", "metal", "tacks"],
  tuning: ["stretched", "equal", "kirnberger-3", "quarter-comma", "vallotti", "werckmeister-3"],
  shape: ["geometric", "per-unit", "per-second"],
  hold: ["single", "90 ms"],
  dynamics: "ppp pp p mp mf f ff fff".split(" "),
  pedal: ["full"],
  soft: ["full"],
  mine: ["start", "end", "note 1", "2/3"],
  theirs: ["start", "end", "note 1", "2/3"],
};

/** What goes on after a member. */
const series = new Set(["color", "talea", "line", "dynamics"]);
const gestures = ["gliss(C3 C6 white)", "trill(C5 D5 14/s)", "repeat(C4 10/s)", "cluster(C3 C4 white)", "spread(C2+G2+E3 30ms)", "grace(B3 C4 40ms)"];
const functions = ['even("5 of 8")', "rotate(", "backward(", "transpose(", "invert(", "join("];

/** The block around the end of a text: braces outside of quotes and remarks are counted. */
export function blockAround(before: string): string {
  const open: string[] = [];
  const bare = before.replace(/#.*|\/\/.*|"(?:[^"\\\n]|\\.)*"?/g, (m) => (m[0] === '"' ? '""' : ""));
  for (const m of bare.matchAll(/(\w+)[^\n{}]*\{|\}/g)) {
    if (m[0] === "}") open.pop();
    else open.push(m[1]);
  }
  return open[open.length - 1] ?? "";
}

function attributeOptions(block: string): Completion[] {
  return (attributes[block] ?? attributes.voice).map((name): Completion => {
    const shown = { label: name, type: blocks.has(name) ? "class" : "property", detail: has(`attr.${name}`) ? t(`attr.${name}`) : undefined };
    if (!blocks.has(name)) return { ...shown, apply: `${name} = ` };
    return snippetCompletion(named.has(name) ? `${name} "\${}" {\n\t\${}\n}` : `${name} {\n\t\${}\n}`, shown);
  });
}

/** The names of parts of these types, as the text has them. */
function names(...types: string[]): string[] {
  return outline.value.list.filter((p) => types.includes(p.type) && p.name).map((p) => p.name);
}

function pitches(): string[] {
  const names = "C C# D Eb E F F# G Ab A Bb B".split(" ");
  return [1, 2, 3, 4, 5, 6, 7].flatMap((octave) => names.map((n) => n + octave));
}

function valueOptions(attribute: string, quoted: boolean): Completion[] {
  const plain = (list: string[], type: string): Completion[] =>
    list.map((label) => ({ label, type, apply: quoted ? label : `"${label}"` }));
  switch (attribute) {
    case "like":
      return plain(names("tune", "voice", "canon", "section"), "variable");
    case "subject":
      return plain(names("tune", "voice"), "variable");
    case "with":
      return plain(names("voice", "canon"), "variable");
    case "voices":
      return plain(names("voice"), "variable");
    case "start":
    case "lasts":
    case "extent": {
      const form = { start: "after {}", lasts: "as {}", extent: "until {} ends" }[attribute];
      return plain([...(values[attribute] ?? []), ...names("voice", "canon").map((n) => form.replace("{}", n))], "variable");
    }
    case "instrument":
      return instruments.value.map((i) => ({ label: i.name, detail: i.title, type: "constant", apply: quoted ? i.name : `"${i.name}"` }));
    case "piano":
      return plain((work.value?.pianos ?? []).map((p) => p.name), "variable");
    case "color":
    case "line":
      return quoted
        ? [...plain(pitches(), "constant"), ...plain(gestures, "function")]
        : functions.map((label) => ({ label, type: "function" }));
    case "talea":
      return quoted ? [] : functions.slice(0, 3).map((label) => ({ label, type: "function" }));
    default:
      return plain(values[attribute] ?? [], "constant");
  }
}

/** Completion for piece files. */
export function complete(context: CompletionContext): CompletionResult | null {
  const line = context.state.doc.lineAt(context.pos);
  const before = line.text.slice(0, context.pos - line.from);
  if (/^[^"]*(#|\/\/)/.test(before)) return null;
  const value = /^\s*(\w+)\s*=\s*(.*)$/.exec(before);
  if (value) {
    const quoted = (value[2].match(/"/g) ?? []).length % 2 === 1;
    const word = /[\w#]*$/.exec(value[2])![0];
    if (!context.explicit && word === "") return null;
    // A quote that was opened and not closed is closed; a series goes on.
    const open = quoted && !line.text.slice(context.pos - line.from).includes('"') && !series.has(value[1]);
    const options = valueOptions(value[1], quoted).map((o) => (open ? { ...o, apply: `${typeof o.apply === "string" ? o.apply : o.label}"` } : o));
    return options.length ? { from: context.pos - word.length, options, validFor: /^[\w# ]*$/ } : null;
  }
  const word = /^\s*(\w*)$/.exec(before);
  if (!word || (!context.explicit && word[1] === "")) return null;
  const block = blockAround(context.state.doc.sliceString(0, line.from));
  return { from: context.pos - word[1].length, options: attributeOptions(block), validFor: /^\w*$/ };
}
