// The words on the screen, from the language file. A text may hold {names} of
// values; a text for a count has one form for each plural of its language.
import english from "../words/en.json";
import { Cell } from "./cell";

type Words = Record<string, string>;

let words: Words = english;
let plurals = new Intl.PluralRules("en");

/** The language of the words, as a tag. */
export const language = new Cell("en");

/** The text of a key with its values put in. A key without a text is shown as it is, so that a gap is seen. */
export function t(key: string, values: Record<string, string | number> = {}): string {
  const text = words[key] ?? (english as Words)[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (whole, name: string) => (name in values ? String(values[name]) : whole));
}

/** The text of a key for a count, {n} in it. */
export function tn(key: string, n: number, values: Record<string, string | number> = {}): string {
  const form = `${key}.${plurals.select(n)}`;
  return t(form in words || form in english ? form : `${key}.other`, { n: n.toLocaleString(language.value), ...values });
}

/** Whether the language file has words for a key. */
export function has(key: string): boolean {
  return key in words || key in english;
}

/** Takes the words of another language; English stays where it lacks some. */
export function speak(tag: string, texts: Words): void {
  words = texts;
  plurals = new Intl.PluralRules(tag);
  document.documentElement.lang = tag;
  language.set(tag);
}
