// The way from anywhere to a place of the text, and what is wrong there.
import { use } from "../cell";
import { complaints, say, session, showLeft } from "../state";
import { analysed } from "../text/analysis";
import { isInstrument, open, openFile, pieceBefore } from "../text/document";
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
  if (c.file) return t(c.line > 0 ? "errors.in" : "errors.in.file", { file: inFolder(c.file), line: c.line, problem: c.problem });
  return c.line > 0 ? t("errors.at", { line: c.line, problem: c.problem }) : c.problem;
}

/** The name of a file as the folder has it. */
function inFolder(path: string): string {
  const folder = session.value?.folder ?? "";
  return path.startsWith(folder) ? path.slice(folder.length).replace(/^[/\\]+/, "") : path;
}

/** Where an instrument's file is open: what it is, and the way back to the piece. */
export function OfInstrument() {
  const name = use(open)?.name ?? "";
  const right = use(complaints).length === 0;
  if (!isInstrument(name)) return null;
  const back = pieceBefore();
  return (
    <div class="note of-instrument">
      <span>{t(right ? "instrument.right" : "instrument.wrong")}</span>
      {back && (
        <button type="button" class="main" onClick={() => void openFile(back)}>
          {t("instrument.back", { piece: back })}
        </button>
      )}
    </div>
  );
}

/** Writes what the hint of a mistake says. */
export function Mend({ c }: { c: Complaint }) {
  const m = c.mend;
  if (c.file) {
    const name = inFolder(c.file);
    return isInstrument(name) ? (
      <button type="button" class="mend" onClick={() => void openFile(name).then(() => toText(0, 0))}>
        {t("errors.open", { file: name })}
      </button>
    ) : null;
  }
  if (!m) return null;
  const write = () => {
    if (text() !== analysed.value) return; // typed meanwhile: it comes again
    splice(m, true);
    say(t("remedy.done", { what: m.label }));
  };
  return (
    <button type="button" class="mend" onClick={write}>
      {t("errors.write", { what: m.label })}
    </button>
  );
}
