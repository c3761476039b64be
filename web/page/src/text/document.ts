// The open piece and its file, which is written within a second of every change
// and never over somebody else's.
import { ask, get, Refusal, type FileEntry, type OtherFile, type Subject } from "../api";
import { Cell } from "../cell";
import { files, others, say } from "../state";
import { t } from "../words";
import { ofText, textChanged } from "./analysis";
import { lost } from "./away";
import { draftOf, dropDraft, keepDraft } from "./drafts";
import * as editor from "./editor";

export interface Open {
  name: string; // empty: an example, which is not saved
  example: string;
  base: string; // version of the file that the text comes from
  saved: string; // text of that version
  kind: "" | "notes" | "holes"; // empty: a piece; else a file that is shown as it is
  instrument: string; // of what is no piece; empty: the usual one
}

export type SaveState = "saved" | "typing" | "saving" | "failed" | "example" | "conflict" | "shown";

export const open = new Cell<Open | null>(null);
export const saveState = new Cell<SaveState>("saved");
/** Another program has changed the file: its text, until the person chooses. */
export const conflict = new Cell<{ text: string; version: string } | null>(null);
/** This tab, so that it knows its own savings. */
export const tab = Math.random().toString(36).slice(2);

const saveAfter = 400; // milliseconds of quiet
const saveWithin = 900; // of typing

/** What the page works on. */
export function subject(): Subject {
  const o = open.value;
  if (o?.kind) return { name: o.name, text: "", instrument: o.instrument };
  return { name: o?.name || (o?.example ? `${o.example}.piece` : ""), text: editor.text() };
}
ofText(subject);

let quiet = 0;
let latest = 0;

editor.onChange((text) => {
  textChanged(true);
  const o = open.value;
  if (!o || o.kind) return;
  if (!o.name) {
    saveState.set("example");
    return void keepExample();
  }
  keepDraft(o.name, o.base, text);
  if (conflict.value) return;
  saveState.set("typing");
  clearTimeout(quiet);
  quiet = window.setTimeout(save, saveAfter);
  if (!latest) latest = window.setTimeout(save, saveWithin);
});

let saving: Promise<void> | null = null;

export function save(): Promise<void> {
  clearTimeout(quiet);
  clearTimeout(latest);
  quiet = latest = 0;
  return (saving ??= write().finally(() => (saving = null)));
}

/** When the saving that is under way, if any, is over. */
export async function saved(): Promise<void> {
  await saving;
}

async function write(): Promise<void> {
  const o = open.value;
  const text = editor.text();
  if (!o?.name || o.kind || conflict.value || text === o.saved) {
    if (o?.name && !o.kind && !conflict.value) saveState.set("saved");
    return;
  }
  saveState.set("saving");
  try {
    const { version } = await ask<{ version: string }>("save", { name: o.name, text, base: o.base, tab });
    if (open.value?.name !== o.name) return;
    open.set({ ...o, base: version, saved: text });
    dropDraft(o.name);
    if (editor.text() === text) saveState.set("saved");
    else quiet = window.setTimeout(save, saveAfter);
  } catch (e) {
    if (e instanceof Refusal && e.status === 409) {
      saveState.set("conflict");
      if (typeof e.body.text !== "string") {
        // The file is gone: the text makes it anew.
        open.set({ ...o, base: "", saved: "" });
        say(t("save.gone"));
        quiet = window.setTimeout(save, saveAfter);
        return;
      }
      conflict.set({ text: e.body.text, version: String(e.body.version ?? "") });
      return;
    }
    saveState.set("failed");
    lost(e);
  }
}

/** Ends a conflict: with the text on the disk, or with the one in the page. */
export function settle(take: "disk" | "mine"): void {
  const c = conflict.value;
  const o = open.value;
  if (!c || !o) return;
  conflict.set(null);
  open.set({ ...o, base: c.version, saved: c.text });
  if (take === "disk") editor.become(c.text);
  void save();
}

export interface Loaded {
  name: string;
  text: string;
  version: string;
}

/** Before another text comes: nothing of this one is lost. */
async function leave(): Promise<void> {
  await keeping;
  if (open.value?.name) await save();
}

export async function openFile(name: string): Promise<void> {
  try {
    await leave();
    const f = await ask<Loaded>("file", { name });
    take({ name, example: "", base: f.version, saved: f.text, kind: "", instrument: "" }, f.text);
    const draft = draftOf(name, f.version);
    if (draft !== null && draft !== f.text) {
      editor.become(draft);
      say(t("draft.back"));
    }
    if (!isInstrument(name)) localStorage.setItem("last", name);
  } catch (e) {
    lost(e);
  }
}

/** Whether a file is that of an instrument: its text is shown, checked and saved like a piece's. */
export function isInstrument(name: string): boolean {
  return name.endsWith(".instrument");
}

/** The piece that was open before an instrument was. */
export function pieceBefore(): string {
  return localStorage.getItem("last") ?? "";
}

export async function openExample(name: string): Promise<void> {
  try {
    await leave();
    const e = await ask<{ text: string }>("example", { name });
    take({ name: "", example: name, base: "", saved: e.text, kind: "", instrument: "" }, e.text);
  } catch (e) {
    lost(e);
  }
}

/** Shows a file that is no piece: its paper, what it plays, what is found in it. */
export async function openOther(name: string, kind: "notes" | "holes", instrument = ""): Promise<void> {
  await leave();
  take({ name, example: "", base: "", saved: "", kind, instrument }, "");
}

function take(o: Open, text: string): void {
  conflict.set(null);
  open.set(o);
  saveState.set(o.kind ? "shown" : o.name ? "saved" : "example");
  editor.replaceAll(text, o.kind !== "");
  textChanged(false);
}

let keeping: Promise<void> | null = null;

/** Makes a file of the example that is looked at: at its first change, or because the person says so. */
export function keepExample(): Promise<void> {
  return (keeping ??= keep().finally(() => (keeping = null)));
}

async function keep(): Promise<void> {
  const o = open.value;
  if (!o || o.name || !o.example) return;
  const taken = new Set(files.value.map((f) => f.name));
  let n = 1;
  const name = () => (n === 1 ? o.example : `${o.example}-${n}`);
  while (taken.has(`${name()}.piece`)) n++;
  try {
    const made = await ask<{ name: string }>("new", { name: name(), example: o.example });
    const f = await ask<Loaded>("file", { name: made.name });
    // The text stays where it is, with its cursor and what can be undone in it.
    open.set({ ...o, name: f.name, example: "", base: f.version, saved: f.text });
    localStorage.setItem("last", f.name);
    say(t("example.kept", { name: f.name }));
    await listFiles();
    await save();
  } catch (e) {
    lost(e);
  }
}

export async function listFiles(): Promise<void> {
  const { files: list } = await get<{ files: FileEntry[] }>("files");
  files.set(list);
  await listOthers();
}

/** Looks again for the files that are no pieces. */
export async function listOthers(): Promise<void> {
  others.set(await get<OtherFile[]>("others"));
}
