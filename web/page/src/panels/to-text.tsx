// The way from anywhere to a place of the text, and what is wrong there.
import { say, showLeft } from "../state";
import { analysed } from "../text/analysis";
import { editor, reveal, splice, text } from "../text/editor";
import { t } from "../words";
import type { Complaint } from "../work";

export function toText(from: number, to: number): void {
  showLeft("text");
  reveal(from, to);
  editor.focus();
}

/** A mistake with its place: another file is named, and a mistake without a line has none. */
export function said(c: Complaint): string {
  if (c.file) return t(c.line > 0 ? "errors.in" : "errors.in.file", { file: c.file, line: c.line, problem: c.problem });
  return c.line > 0 ? t("errors.at", { line: c.line, problem: c.problem }) : c.problem;
}

/** Writes what the hint of a mistake says. */
export function Mend({ c }: { c: Complaint }) {
  const m = c.mend;
  if (!m) return null;
  const write = () => {
    if (text() !== analysed.value) return; // typed meanwhile: it comes again
    splice(m.from, m.to, m.insert, true);
    say(t("remedy.done", { what: m.label }));
  };
  return (
    <button type="button" class="mend" onClick={write}>
      {t("errors.write", { what: m.label })}
    </button>
  );
}
