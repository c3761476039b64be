// Numbers as a person reads them, always with their unit.
import { Cell } from "./cell";
import { language } from "./words";

/** How lengths are shown. */
export type LengthUnit = "mm" | "feet";
export const lengthUnit = new Cell<LengthUnit>(localStorage.getItem("length") === "feet" ? "feet" : "mm");
lengthUnit.watch((u) => localStorage.setItem("length", u));

export function changeUnit(): void {
  lengthUnit.update((u) => (u === "mm" ? "feet" : "mm"));
}

// Times and lengths are said as package say of the server says them; both are
// held to text/say/testdata/cases.json.

/** Halves count up, and so does what arithmetic has left a billionth below one. */
const rounded = (x: number, scale: number): number => Math.floor(x * scale + 0.5 + 1e-9);

/** A time as 1:23.4, from an hour on as 1:06:40.0; with places 0 as 1:23. */
export function clock(sec: number, places = 1): string {
  const scale = 10 ** places;
  const n = rounded(Math.abs(sec), scale);
  const whole = Math.floor(n / scale);
  const two = (x: number): string => String(x).padStart(2, "0");
  const minutes = Math.floor(whole / 60);
  const hours = Math.floor(whole / 3600);
  const start = hours ? `${hours}:${two(minutes % 60)}` : String(minutes);
  const part = places ? `.${String(n % scale).padStart(places, "0")}` : "";
  return `${sec < 0 && n > 0 ? "-" : ""}${start}:${two(whole % 60)}${part}`;
}

export function number(x: number, places = 0): string {
  return x.toLocaleString(language.value, { minimumFractionDigits: places, maximumFractionDigits: places });
}

/** A number of a measure: without marks between thousands, as lengths are written. */
export function measure(x: number, places = 0): string {
  return x.toLocaleString(language.value, { minimumFractionDigits: places, maximumFractionDigits: places, useGrouping: false });
}

/** A place along the paper in the unit that the person chose: millimetres up to a metre, then metres to the millimetre. */
export function length(mm: number, places = 1): string {
  if (lengthUnit.value === "mm") {
    if (Math.abs(mm) >= 999.95) return `${measure(rounded(mm, 1) / 1000, 3)} m`;
    return `${measure(rounded(mm, 10 ** places) / 10 ** places, places)} mm`;
  }
  const inches = Math.abs(mm) / 25.4;
  const feet = Math.floor(inches / 12 + 1e-9);
  return `${mm < 0 ? "-" : ""}${feet ? `${feet} ft ` : ""}${number(inches - feet * 12, Math.max(1, places))} in`;
}

/** A short time in words of seconds or milliseconds. */
export function span(sec: number): string {
  return sec < 1 ? `${number(sec * 1000, sec < 0.01 ? 2 : 0)} ms` : `${number(sec, 2)} s`;
}

export function bytes(n: number): string {
  return n < 1000 ? `${n} B` : n < 1e6 ? `${number(n / 1000, 1)} kB` : `${number(n / 1e6, 1)} MB`;
}
