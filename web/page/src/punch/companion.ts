// The companion at the bench: the row to punch, as the server has it. The server
// keeps every row in the journal before it answers.
import { ask, Refusal } from "../api";
import { Cell } from "../cell";
import { open, save } from "../text/document";
import { t, tn } from "../words";
import type { Patch, Rolls, View } from "./answers";
import { speakRow, stopSpeaking } from "./voice";

/** How a roll that begins is parted into spools; 0 and none: not at all. */
export interface Parting {
  spoolMM: number;
  splitSec: number[];
}

/** What the person at the bench sees: nothing, the rolls to choose from, or a row. */
export type Mode = "shut" | "choose" | "work";
export const mode = new Cell<Mode>("shut");
export const rolls = new Cell<Rolls | null>(null);
export const parting = new Cell<Parting>({ spoolMM: 0, splitSec: [] });
export const view = new Cell<View | null>(null);
/** What a person types: a wrong hole, one that is missing, a row to look at. */
export type Asked = "slip" | "missed" | "to";
/** What stands in the place of the row. */
export const side = new Cell<"row" | Asked | "list">("row");
export const patches = new Cell<Patch[]>([]);
/** What there is to know now; it goes with the next thing that is done. */
export const message = new Cell("");
/** What is in the way, and whether it may go by itself. */
export const problem = new Cell("");
/** What is wrong with the slip that was typed. */
export const wrong = new Cell("");

interface At extends Parting {
  name: string;
  journal: string;
  bench: string;
}
let at: At | null = null;
const remembered = "punching";
const partings = "spools"; // those of a piece come back with it: its next spool ends where it was to end

function read<T>(key: string, none: T): T {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null") ?? none;
  } catch {
    return none;
  }
}

/** Shows the rolls of the open piece; the only one that has begun at once. */
export async function choose(): Promise<void> {
  const name = open.value?.name;
  if (!name) return;
  await save();
  parting.set(read<Record<string, Parting>>(partings, {})[name] ?? { spoolMM: 0, splitSec: [] });
  at = { name, journal: "", bench: "", ...parting.value };
  mode.set("choose");
  await listRolls();
  const list = rolls.value?.rolls ?? [];
  if (list.length === 1 && list[0].begun && !list[0].error) start(list[0].journal, "");
}

/** Parts the rolls that begin in another way. */
export async function part(now: Parting): Promise<void> {
  if (!at) return;
  parting.set(now);
  localStorage.setItem(partings, JSON.stringify({ ...read<Record<string, Parting>>(partings, {}), [at.name]: now }));
  await listRolls();
}

async function listRolls(): Promise<void> {
  const asked = parting.value;
  rolls.set(null);
  problem.set("");
  try {
    const list = await ask<Rolls>("punch", { name: at!.name, action: "rolls", ...asked });
    if (asked === parting.value) rolls.set(list);
  } catch (e) {
    if (asked === parting.value) problem.set(e instanceof Error ? e.message : String(e));
  }
}

/** Goes on with a roll, or begins it at a bench. */
export function start(journal: string, bench: string): void {
  if (!at) return;
  at = { ...at, journal, bench, ...parting.value };
  enter();
}

/** Goes on where the page was left without a word. */
export function resumeKept(): void {
  at = read<At | null>(remembered, null);
  if (at) enter();
}

function enter(): void {
  localStorage.setItem(remembered, JSON.stringify(at));
  view.set(null);
  side.set("row");
  mode.set("work");
  message.set("");
  problem.set("");
  order("open");
}

/** Leaves the bench; the journal is free for other programs. */
export function leave(): void {
  stopSpeaking();
  clearTimeout(retry);
  localStorage.removeItem(remembered);
  if (at && view.value) void ask("punch", { name: at.name, journal: at.journal, action: "close" }).catch(() => {});
  at = null;
  mode.set("shut");
}

// The journal is let go with the page, as far as the browser lets a page say so.
addEventListener("pagehide", () => {
  if (mode.value === "work" && at) void ask("punch", { name: at.name, journal: at.journal, action: "close" }, undefined, true).catch(() => {});
});
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && mode.value === "work") order("open"); // another tab may have gone on
});

let queue: Promise<void> = Promise.resolve();
let retry = 0;
let unsure = 0; // a row that was told while the server was away

/** Asks the companion; one after the other. The row is the one shown when it was asked. */
export function order(action: string, more: object = {}): void {
  const v = view.value;
  const to = at;
  if (!to) return;
  const body = { ...to, action, id: v?.id ?? "", row: v?.row ?? 0, ...more };
  queue = queue.then(() => act(body, to));
}

async function act(body: { action: string; row: number }, to: At): Promise<void> {
  if (at !== to) return;
  try {
    const answer = await ask<View>("punch", body);
    if (at === to) take(answer, body.action);
  } catch (e) {
    if (at === to) failed(e, body);
  }
}

function take(v: View, action: string): void {
  clearTimeout(retry);
  problem.set("");
  wrong.set("");
  const before = view.value;
  view.set(v);
  if (v.patch) patches.set(v.patch);
  message.set(tell(v, action));
  if (action === "slip") side.set("row");
  if (action === "list") side.set("list");
  if (v.paused) stopSpeaking();
  else if (!before || before.row !== v.row || before.id !== v.id || before.paused || before.done !== v.done || before.looking !== v.looking || v.finished !== before.finished) speakRow(v);
}

/** What there is to say beside the row. */
function tell(v: View, action: string): string {
  const missed = unsure;
  unsure = 0;
  if (missed && missed === v.row && !v.done && !v.looking && !v.finished) return t("punch.unsure", { row: missed });
  if (v.again) return t("punch.again");
  if (action === "slip") return v.said;
  if (action === "undo") return t(v.nothing ? "punch.undo.nothing" : "punch.undo.done");
  if (action === "next") return v.waits;
  if (action !== "open") return "";
  const all: string[] = [];
  if (v.damaged) all.push(tn("punch.damaged", v.damaged));
  if (v.patches) all.push(tn("punch.to.patch", v.patches));
  if (v.add) all.push(tn("punch.to.add", v.add));
  if (v.webMM) all.push(t("punch.web", { mm: v.webMM.toFixed(2) }));
  return all.join(" ");
}

function failed(e: unknown, body: { action: string; row: number }): void {
  clearTimeout(retry);
  const told = e instanceof Refusal;
  const text = e instanceof Error ? e.message : String(e);
  if (told && e.status === 422 && body.action === "slip") return wrong.set(text);
  if (body.action === "next") unsure = body.row;
  const strange = told && (e.status === 401 || e.status === 403);
  problem.set(strange ? t("punch.other") : told ? text : t("punch.away"));
  if (!told || e.status === 423 || strange) retry = window.setTimeout(() => order("open"), 2000);
}

/** For so long after a row the key does nothing: foot switches bounce, and nobody cranks and punches so fast. */
export const settleMS = 700;
let pressed = -Infinity;

/** Whether there is nothing to punch at the row: going on counts nothing. */
export const onlyShown = (v: View): boolean => v.done || v.looking;

/** The row is punched. */
export function next(): void {
  const v = view.value;
  if (!v || problem.value || side.value === "slip") return;
  if (side.value === "list") return side.set("row");
  if (v.paused) return order("resume");
  if (v.finished) return;
  const since = performance.now() - pressed;
  pressed = performance.now(); // from a row looked back at as well: a bounce must not count the row after it
  if (!onlyShown(v) && since < settleMS) return;
  if (more.value) return onward();
  order("next");
}

/** Whether the row goes on below what is shown of it: a small screen shows a large row in parts. */
export const more = new Cell(false);
let onward: () => void = () => {};
/** Says how the next part of the row is shown. */
export function whatIsMore(show: () => void): void {
  onward = show;
}

export function back(): void {
  if (side.value !== "row") return side.set("row");
  if (view.value?.paused) return order("resume");
  order("back");
}

/** Has the way told to the row that is looked back at. */
export function go(): void {
  if (side.value !== "row") return side.set("row");
  if (view.value?.looking) order("go");
}

export function list(): void {
  if (side.value === "list") side.set("row");
  else order("list");
}

export function pause(): void {
  side.set("row");
  order(view.value?.paused ? "resume" : "pause");
}
