// The hues of the bench, for what is painted on canvases. The style sheet has
// the same ones for everything else.
import { Cell } from "../cell";

export interface Palette {
  bench: string;
  paper: string;
  paperShade: string;
  edge: string;
  hole: string;
  ink: string; // on the bench
  second: string;
  print: string; // on the paper
  printFaint: string;
  line: string;
  panel: string;
  brass: string;
  brassLight: string;
  brassDark: string;
  engraved: string;
  red: string;
  amber: string;
}

const light: Palette = {
  bench: "#e4dccb",
  paper: "#f3ecdc",
  paperShade: "#e2d8c2",
  edge: "#c4b99f",
  hole: "#1f1b16",
  ink: "#1f1b16",
  second: "#5f574e",
  print: "#3a332a",
  printFaint: "#b3a88f",
  line: "#cbbfa6",
  panel: "#f7f2e7",
  brass: "#b98f45",
  brassLight: "#e6cd94",
  brassDark: "#7b5b24",
  engraved: "#2a2012",
  red: "#a8231a",
  amber: "#b06a00",
};

const dark: Palette = {
  bench: "#1d1a17",
  paper: "#cfc6b3",
  paperShade: "#b8ae99",
  edge: "#8d8371",
  hole: "#14110e",
  ink: "#efe7d6",
  second: "#b3a998",
  print: "#2b251d",
  printFaint: "#958a76",
  line: "#4a433a",
  panel: "#26221e",
  brass: "#a37c38",
  brassLight: "#d2b273",
  brassDark: "#5c431a",
  engraved: "#1a140a",
  red: "#ff8a78",
  amber: "#f0b35a",
};

export type Theme = "auto" | "light" | "dark";
const wish = matchMedia("(prefers-color-scheme: dark)");
const stored = localStorage.getItem("theme");

/** What the person asked for. */
export const theme = new Cell<Theme>(stored === "light" || stored === "dark" ? stored : "auto");
/** What is shown. */
export const isDark = new Cell(false);

function settle(): void {
  const on = theme.value === "auto" ? wish.matches : theme.value === "dark";
  document.documentElement.dataset.theme = on ? "dark" : "light";
  isDark.set(on);
}
theme.watch((v) => {
  localStorage.setItem("theme", v);
  settle();
});
wish.addEventListener("change", settle);
settle();

export function palette(): Palette {
  return isDark.value ? dark : light;
}

/** Whether the paper moves softly: holes fade while it moves, and no opening glows. */
export const calm = new Cell(localStorage.getItem("calm") === "on");
calm.watch((on) => localStorage.setItem("calm", on ? "on" : "off"));

const still = matchMedia("(prefers-reduced-motion: reduce)");

/** Whether nothing should move that need not. */
export function reducedMotion(): boolean {
  return still.matches;
}
