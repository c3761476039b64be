// The editor of the text. There is one for as long as the page lives: fields,
// remedies and other tabs change the text through it, so that undo knows all.
import { autocompletion, closeBrackets, closeBracketsKeymap, completionKeymap } from "@codemirror/autocomplete";
import { defaultKeymap, history, historyKeymap, indentWithTab, redo as redoCommand, redoDepth, undo as undoCommand, undoDepth } from "@codemirror/commands";
import { bracketMatching, indentUnit } from "@codemirror/language";
import { lintGutter, lintKeymap, setDiagnostics, type Diagnostic } from "@codemirror/lint";
import { highlightSelectionMatches, searchKeymap } from "@codemirror/search";
import { Compartment, EditorState, Transaction } from "@codemirror/state";
import { drawSelection, EditorView, highlightActiveLine, keymap, lineNumbers } from "@codemirror/view";
import { hcl } from "codemirror-lang-hcl";
import { Cell } from "../cell";
import { notice, say } from "../state";
import { t } from "../words";
import { dressed } from "./dress";
import { complete } from "./language";

export const undoable = new Cell({ undo: false, redo: false });
/** Where the cursor stands, for those who follow it. */
export const cursor = new Cell(0);

const nonce = document.querySelector<HTMLMetaElement>('meta[name="csp-nonce"]')?.content ?? "";
const locked = new Compartment();

let changed: (text: string) => void = () => {};
/** Who is told of every change of the text. */
export function onChange(tell: (text: string) => void): void {
  changed = tell;
}

/** Whether Tab indents; else it leaves the text, as it leaves every field. */
export const tabIndents = new Cell(false);

/** What the text is called, and what Tab does in it. */
function label(): string {
  return t(tabIndents.value ? "text.label.indents" : "text.label.leaves");
}

/** Tab indents from now on, or leaves again. */
function changeTab(): boolean {
  tabIndents.update((on) => !on);
  say(t(tabIndents.value ? "text.tab.indents" : "text.tab.leaves"));
  return true;
}

function extensions(isLocked: boolean) {
  return [
    lineNumbers(),
    history(),
    drawSelection(),
    indentUnit.of("  "),
    EditorState.tabSize.of(2),
    bracketMatching(),
    closeBrackets(),
    autocompletion({ override: [complete], icons: false }),
    highlightActiveLine(),
    highlightSelectionMatches(),
    lintGutter(),
    hcl(),
    dressed,
    EditorView.lineWrapping,
    EditorView.cspNonce.of(nonce),
    EditorView.contentAttributes.of(() => ({ "aria-label": label(), spellcheck: "false", tabindex: "0" })),
    locked.of(EditorState.readOnly.of(isLocked)),
    keymap.of([
      { key: "Ctrl-m", run: changeTab },
      { key: "Mod-Enter", run: () => true }, // plays, see keys.tsx; it would open a line
      { key: "Mod-z", run: () => (notice.set(""), false) }, // what was told is undone
      ...closeBracketsKeymap,
      ...defaultKeymap,
      ...searchKeymap,
      ...historyKeymap,
      ...completionKeymap,
      ...lintKeymap,
      indentWithTab,
    ]),
    EditorView.updateListener.of((u) => {
      if (u.selectionSet || u.docChanged) cursor.set(u.state.selection.main.head);
      undoable.set({ undo: undoDepth(u.state) > 0, redo: redoDepth(u.state) > 0 });
      if (u.docChanged) changed(u.state.doc.toString());
    }),
  ];
}

export const editor = new EditorView({ state: EditorState.create({ doc: "", extensions: extensions(false) }) });

editor.setTabFocusMode(true);
tabIndents.watch((on) => {
  editor.setTabFocusMode(!on);
  editor.dispatch({}); // its label says so
});

export function text(): string {
  return editor.state.doc.toString();
}

/** Another text altogether, with a history of its own. */
export function replaceAll(doc: string, isLocked = false): void {
  editor.setState(EditorState.create({ doc, extensions: extensions(isLocked) }));
  undoable.set({ undo: false, redo: false });
  cursor.set(0);
}

/** One change that undo takes back as one; nothing where nothing changes. */
export function splice({ from, to, insert }: { from: number; to: number; insert: string }, select = false): void {
  if (from === to && !insert) return;
  editor.dispatch({
    changes: { from, to, insert },
    selection: select ? { anchor: from, head: from + insert.length } : undefined,
    scrollIntoView: select,
    userEvent: "input.field",
    annotations: Transaction.addToHistory.of(true),
  });
}

/** Turns the text into another by changing only what differs. */
export function become(other: string): void {
  const now = text();
  if (now === other) return;
  let from = 0;
  const shorter = Math.min(now.length, other.length);
  while (from < shorter && now[from] === other[from]) from++;
  let tail = 0;
  while (tail < shorter - from && now[now.length - 1 - tail] === other[other.length - 1 - tail]) tail++;
  splice({ from, to: now.length - tail, insert: other.slice(from, other.length - tail) });
}

export function undo(): void {
  notice.set(""); // what it tells of is undone
  undoCommand(editor);
}

export function redo(): void {
  redoCommand(editor);
}

/** Shows and selects a place of the text. */
export function reveal(from: number, to: number): void {
  const most = editor.state.doc.length;
  const a = Math.min(from, most);
  editor.dispatch({ selection: { anchor: a, head: Math.min(to, most) }, effects: EditorView.scrollIntoView(a, { y: "center" }) });
}

export function mark(diagnostics: Diagnostic[]): void {
  const most = editor.state.doc.length;
  // A mark keeps to its first line: a whole block underlined says no more.
  const inside = diagnostics.map((d) => {
    const from = Math.min(d.from, most);
    return { ...d, from, to: Math.min(Math.max(d.to, from), editor.state.doc.lineAt(from).to) };
  });
  editor.dispatch(setDiagnostics(editor.state, inside));
}
