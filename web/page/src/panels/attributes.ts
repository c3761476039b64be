// How an attribute is shown on a card, and what may stand there.
import { t } from "../words";
import { instruments } from "../text/language";
import type { Part, Parts } from "../work";

export type Kind = "text" | "long" | "series" | "menu";
/** What is written, and what a person reads of it. */
export type Option = [string, string];

const series = new Set(["color", "talea", "line", "dynamics", "mode"]);
const menus = new Set(["subject", "like", "with", "piano", "instrument", "hammers", "tuning", "shape", "backward", "mute"]);
const long = new Set(["note", "text", "say", "order"]);

export function kindOf(attr: string, type: string): Kind {
  if (menus.has(attr)) return "menu";
  if (long.has(attr)) return "long";
  return series.has(attr) && type !== "step" && type !== "page" ? "series" : "text";
}

const words: Record<string, string[]> = {
  hammers: ["felt", "metal", "tacks"],
  tuning: ["stretched", "equal", "kirnberger-3", "quarter-comma", "vallotti", "werckmeister-3"],
  shape: ["geometric", "per-unit", "per-second"],
  meet: ["start", "end", "1/2", "2/3", "note 12", "unit 24"],
  mine: ["start", "end", "1/2", "2/3", "note 12", "note 12 end"],
  theirs: ["start", "end", "1/2", "2/3", "note 12", "note 12 end"],
  extent: ["complete", "24 notes", "7 taleae", "6 colores", "90 units", "60 s"],
  hold: ["1", "0.8", "0.5", "single", "90 ms"],
  unit: ["1/32", "1/16", "1/8", "1/4", "1/12"],
  speed: ["1", "3/2", "4/3", "5/4", "sqrt(2)", "e/pi"],
  speeds: ["3 : 4 : 5", "2 : 3", "4 : 5 : sqrt(31)", "12 : 15 : 20"],
  lasts: ["60 s", "2 min", "1:20"],
  gap: ["2 s"],
  pedal: ["full"],
  soft: ["full"],
};

/** The values that are offered, for menus all that there are. */
export function optionsOf(attr: string, part: Part, all: Parts): Option[] {
  const names = (...types: string[]) => all.list.filter((p) => types.includes(p.type) && p.name && p.path.join("/") !== part.path.join("/")).map((p): Option => [p.name, p.name]);
  switch (attr) {
    case "subject":
      return names("tune", "voice").filter(([name]) => !all.list.some((p) => p.name === name && p.path.length === part.path.length + 1 && p.path[0] === part.path[0]));
    case "like":
      return part.type === "section" ? names("section") : names("tune", "voice");
    case "with":
      return names("voice", "canon").filter(([name]) => !part.path.some((step) => step === `canon ${name}[1]`));
    case "piano":
      return names("piano");
    case "instrument":
      return instruments.value.map((i) => [i.name, i.title || i.name]);
    case "hammers":
      return words.hammers.map((h) => [h, t(`hammers.${h}`)]);
    case "backward":
    case "mute":
      return [["true", t("yes")]];
    case "start":
      return [["0 s", "0 s"], ...names("voice", "canon").map(([n]): Option => [`after ${n}`, `after ${n}`]), ...names("voice", "canon").map(([n]): Option => [`with ${n}`, `with ${n}`])];
  }
  return (words[attr] ?? []).map((v) => [v, v]);
}
