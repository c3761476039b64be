// What the page knows and shows at the moment.
import type { Example, FileEntry, OtherFile, Session } from "./api";
import { Cell } from "./cell";
import type { Complaint, Finding, Parts, Plan, Work } from "./work";

export const session = new Cell<Session | null>(null);
export const files = new Cell<FileEntry[]>([]);
/** The files of the folder that are no pieces. */
export const others = new Cell<OtherFile[]>([]);
export const examples = new Cell<Example[]>([]);

/** The analysis of the last text without errors. */
export const work = new Cell<Work | null>(null);
/** The work whose findings are there; they come a little later, and until then those of the text before are shown. */
export const found = new Cell<Work | null>(null);
/** How its cycles run; it comes a little later. */
export const plan = new Cell<Plan | null>(null);
/** What is wrong with the text as it stands. */
export const complaints = new Cell<Complaint[]>([]);
/** The blocks of the text as it stands, mistakes or not. */
export const outline = new Cell<Parts>({ list: [], top: {} });
/** Whether nothing is wrong with the text, but no voice is in it yet. */
export const empty = new Cell(false);
/** Whether the work is of an older text, because the present one has errors. */
export const stale = new Cell(false);

/** The piano whose paper is shown. */
export const piano = new Cell(0);
/** The voices that alone are seen and heard; none: all are. */
export const alone = new Cell<ReadonlySet<number>>(new Set());
/** Whether a voice is seen and heard. */
export function isSeen(voice: number): boolean {
  return alone.value.size === 0 || alone.value.has(voice);
}
/** Voices that are not heard. */
export const silent = new Cell<ReadonlySet<number>>(new Set());
/** The voice that cards, cycles and the ruler are about. */
export const chosen = new Cell(0);
/** The pair of voices whose meetings are shown; -1: none. */
export const pair = new Cell(-1);
/** The place of a finding that is shown. */
export const shown = new Cell<{ finding: Finding; place: number } | null>(null);

export type LeftTab = "text" | "voices" | "folder";
/** The name of a view; views/table.tsx has them. */
export type RightTab = string;
export type Page = "paper" | "left" | "right";

export const leftTab = new Cell<LeftTab>("text");
export const rightTab = new Cell<RightTab>("findings");
export const leftOpen = new Cell(localStorage.getItem("left") !== "shut");
export const rightOpen = new Cell(localStorage.getItem("right") !== "shut");
leftOpen.watch((v) => localStorage.setItem("left", v ? "open" : "shut"));
rightOpen.watch((v) => localStorage.setItem("right", v ? "open" : "shut"));
/** Which of the three pages a narrow screen shows. */
export const page = new Cell<Page>("paper");

/** A sentence for everyone, read aloud by screen readers. */
export const notice = new Cell("");
/** What is read aloud and not shown, because it can be seen. */
export const spoken = new Cell("");
/** Something in the way: shown until it is over. */
export const trouble = new Cell("");

/** Says something in passing. */
let fading = 0;
export function say(text: string): void {
  notice.set("");
  notice.set(text);
  clearTimeout(fading);
  fading = window.setTimeout(() => notice.set(""), 6000);
}

export function showLeft(tab: LeftTab): void {
  leftTab.set(tab);
  leftOpen.set(true);
  page.set("left");
}

export function showRight(tab: RightTab): void {
  rightTab.set(tab);
  rightOpen.set(true);
  page.set("right");
}
