// The open piece: its text, what the server makes of it, and its file, which
// is written within a second of every change and never over somebody else's.
import { ask, askBinary, get, Refusal, type FileEntry, type Session, type Splice } from "../api";
import { Cell } from "../cell";
import { complaints, files, plan, say, session, stale, trouble, work } from "../state";
import { t } from "../words";
import { workOf, type Complaint, type Finding, type Plan } from "../work";
import * as editor from "./editor";

export interface Open {
  name: string; // empty: an example, which is not saved
  example: string;
  base: string; // version of the file that the text comes from
  saved: string; // text of that version
}

export type SaveState = "saved" | "typing" | "saving" | "failed" | "example" | "conflict";

export const open = new Cell<Open | null>(null);
export const saveState = new Cell<SaveState>("saved");
/** Another program has changed the file: its text, until the person chooses. */
export const conflict = new Cell<{ text: string; version: string } | null>(null);
/** Milliseconds from the last change of the text to its roll. */
export const latency = new Cell(0);

/** This tab, so that it knows its own savings. */
export const tab = Math.random().toString(36).slice(2);

const saveAfter = 400; // milliseconds of quiet
const saveWithin = 900; // of typing

// ---- analysis: one question at a time, always of the latest text

let asking = false;
let again = false;
let changedAt = 0;

export async function analyse(): Promise<void> {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  do {
    again = false;
    const since = changedAt;
    try {
      const answer = await askBinary("work", { name: open.value?.name ?? "", text: editor.text() });
      const errors = (answer.json.errors ?? []) as Complaint[];
      if (again && errors.length > 0) continue; // typed on: it may be mended already
      complaints.set(errors);
      stale.set(!answer.json.ok);
      if (answer.json.ok) {
        const next = workOf(answer);
        if (next.id !== work.value?.id) {
          work.set(next);
          planLater();
        }
      }
      if (since) latency.set(performance.now() - since);
      mark();
      trouble.set("");
    } catch (e) {
      lost(e);
    }
  } while (again);
  asking = false;
}

// The plan takes longer where voices are many: it waits for a pause in typing.

const planAfter = 120; // milliseconds
let planning = 0;
let asked = false;

function planLater(): void {
  clearTimeout(planning);
  planning = window.setTimeout(askPlan, planAfter);
}

async function askPlan(): Promise<void> {
  if (asked) return planLater();
  const w = work.value;
  if (!w) return;
  asked = true;
  try {
    const answer = await ask<Plan>("plan", { id: w.id });
    if (work.value === w) plan.set(answer);
  } catch (e) {
    if (!(e instanceof Refusal)) lost(e); // else the text has gone on meanwhile
  }
  asked = false;
}

/** Errors, and the findings' lines, in the margin of the text. */
function mark(): void {
  const marks = complaints.value.map((c) => ({
    from: c.from,
    to: Math.max(c.to, c.from + 1),
    severity: "error" as const,
    message: c.hint ? `${c.problem}\n${c.hint}` : c.problem,
  }));
  if (marks.length === 0 && work.value) editor.mark(work.value.findings.flatMap(findingMarks));
  else editor.mark(marks);
}

function findingMarks(f: Finding) {
  if (f.severity === "note") return [];
  const p = f.places.find((p) => p.line > 0);
  if (!p) return [];
  const severity = f.severity === "forbids" ? ("error" as const) : ("warning" as const);
  return [{ from: p.from, to: p.to, severity, message: `${t(`severity.${f.severity}`)}: ${f.message}` }];
}

// ---- saving

let quiet = 0;
let latest = 0;

editor.onChange((text) => {
  changedAt = performance.now();
  void analyse();
  const o = open.value;
  if (!o) return;
  if (!o.name) return saveState.set("example");
  keepDraft(o, text);
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

async function write(): Promise<void> {
  const o = open.value;
  const text = editor.text();
  if (!o?.name || conflict.value || text === o.saved) {
    if (o?.name && !conflict.value) saveState.set("saved");
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

// ---- what is not saved yet outlives the page

function draftKey(name: string): string {
  return `draft ${session.value?.folder ?? ""} ${name}`;
}

function keepDraft(o: Open, text: string): void {
  try {
    localStorage.setItem(draftKey(o.name), JSON.stringify({ base: o.base, text }));
  } catch {
    // no room: the file is written within a second anyway
  }
}

function dropDraft(name: string): void {
  localStorage.removeItem(draftKey(name));
}

// ---- opening

interface Loaded {
  name: string;
  text: string;
  version: string;
}

export async function openFile(name: string): Promise<void> {
  try {
    if (open.value?.name) await save();
    const f = await ask<Loaded>("file", { name });
    take({ name, example: "", base: f.version, saved: f.text }, f.text);
    const draft = JSON.parse(localStorage.getItem(draftKey(name)) ?? "null");
    if (draft && draft.base === f.version && draft.text !== f.text) {
      editor.become(draft.text);
      say(t("draft.back"));
    }
    localStorage.setItem("last", name);
  } catch (e) {
    lost(e);
  }
}

export async function openExample(name: string): Promise<void> {
  try {
    const e = await ask<{ text: string }>("example", { name });
    take({ name: "", example: name, base: "", saved: e.text }, e.text);
  } catch (e) {
    lost(e);
  }
}

function take(o: Open, text: string): void {
  conflict.set(null);
  open.set(o);
  saveState.set(o.name ? "saved" : "example");
  changedAt = 0;
  editor.replaceAll(text);
  void analyse();
}

/** Makes a file of the example that is looked at, with the changes made to it. */
export async function keepExample(): Promise<void> {
  const o = open.value;
  if (!o || o.name) return;
  const text = editor.text();
  for (let n = 1; n < 100; n++) {
    try {
      const { name } = await ask<{ name: string }>("new", { name: n === 1 ? o.example : `${o.example}-${n}`, example: o.example });
      await listFiles();
      await openFile(name);
      editor.become(text);
      return;
    } catch (e) {
      if (!(e instanceof Refusal) || e.status !== 409) return lost(e);
    }
  }
}

export async function listFiles(): Promise<void> {
  const { files: list } = await get<{ files: FileEntry[] }>("files");
  files.set(list);
}

// ---- changes by fields and remedies

/** Writes one attribute of a block; null takes it away. Gives back what is wrong, or an empty text. */
export async function setAttribute(path: string[], attr: string, value: string | null): Promise<string> {
  for (let tries = 0; tries < 3; tries++) {
    const text = editor.text();
    try {
      const s = await ask<Splice>("set", { text, path, attr, value });
      if (editor.text() !== text) continue; // typed meanwhile
      if (s.from !== s.to || s.insert) editor.splice(s.from, s.to, s.insert);
      return "";
    } catch (e) {
      if (e instanceof Refusal && e.status === 422) return e.message;
      lost(e);
      return "";
    }
  }
  return "";
}

export async function remedy(finding: Finding): Promise<void> {
  const text = editor.text();
  try {
    const s = await ask<Splice>("remedy", { name: open.value?.name ?? "", text, finding: finding.id });
    if (editor.text() !== text) return;
    editor.splice(s.from, s.to, s.insert, true);
    say(t("remedy.done", { what: s.label ?? s.insert.trim() }));
  } catch (e) {
    if (e instanceof Refusal && e.status === 422) say(e.message);
    else lost(e);
  }
}

// ---- when the server is away

let retry = 0;

function lost(e: unknown): void {
  const away = !(e instanceof Refusal) || e.status === 401 || e.status === 403;
  if (!away) return say(e instanceof Error ? e.message : String(e));
  trouble.set(t(e instanceof Refusal ? "server.other" : "server.away"));
  clearTimeout(retry);
  retry = window.setTimeout(comeBack, 2000);
}

async function comeBack(): Promise<void> {
  try {
    session.set(await get<Session>("session"));
    await listFiles();
  } catch (e) {
    return lost(e);
  }
  trouble.set("");
  say(t("server.back"));
  listen();
  await save();
  void analyse();
}

// ---- what others do

let events: EventSource | null = null;
const jobWatchers = new Set<(job: unknown) => void>();

export function watchJobs(tell: (job: unknown) => void): () => void {
  jobWatchers.add(tell);
  return () => jobWatchers.delete(tell);
}

/** Follows what happens to the folder and the open file. */
export function listen(): void {
  events?.close();
  const name = open.value?.name ?? "";
  events = new EventSource(`/api/watch?${new URLSearchParams({ name, tab })}`);
  const on = (kind: string, act: (data: any) => void) =>
    events!.addEventListener(kind, (e) => act(JSON.parse((e as MessageEvent).data)));
  on("saved", (d) => d.tab !== tab && void others(d));
  on("disk", (d) => void others(d));
  on("files", (d) => {
    const o = open.value;
    if (o && d.renamed === o.name && d.to) open.set({ ...o, name: d.to });
    void listFiles();
  });
  on("job", (d) => jobWatchers.forEach((tell) => tell(d)));
}

/** Somebody else has written the file: take it when nothing is lost, else ask. */
async function others(d: { name: string; version: string; text?: string; tab?: string }): Promise<void> {
  await saving; // its answer may be on the way
  const o = open.value;
  if (!o || o.name !== d.name || o.base === d.version || d.version === "") return;
  let text = d.text;
  if (text === undefined) {
    try {
      text = (await ask<Loaded>("file", { name: d.name })).text;
    } catch (e) {
      return lost(e);
    }
  }
  const clean = editor.text() === o.saved;
  if (d.tab !== undefined && clean) {
    open.set({ ...o, base: d.version, saved: text });
    editor.become(text);
    saveState.set("saved");
    return;
  }
  if (text === editor.text()) {
    open.set({ ...o, base: d.version, saved: text });
    return saveState.set("saved");
  }
  saveState.set("conflict");
  conflict.set({ text, version: d.version });
}

let watched = "";
open.watch((o) => {
  const name = o?.name ?? "";
  if (name === watched && events) return;
  watched = name;
  listen();
});
addEventListener("pagehide", () => void save());
