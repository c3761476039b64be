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

/** A time as 1:23.4; with places 0 as 1:23. */
export function clock(sec: number, places = 1): string {
  const scale = 10 ** places;
  const whole = Math.round(Math.abs(sec) * scale);
  const minutes = Math.floor(whole / (60 * scale));
  const rest = ((whole - minutes * 60 * scale) / scale).toFixed(places);
  return `${sec < 0 && whole > 0 ? "−" : ""}${minutes}:${rest.padStart(places ? places + 3 : 2, "0")}`;
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
    return Math.abs(mm) >= 999.95 ? `${measure(mm / 1000, 3)} m` : `${measure(mm, places)} mm`;
  }
  const inches = Math.abs(mm) / 25.4;
  const feet = Math.floor(inches / 12 + 1e-9);
  return `${mm < 0 ? "−" : ""}${feet ? `${feet} ft ` : ""}${number(inches - feet * 12, Math.max(1, places))} in`;
}

/** A short time in words of seconds or milliseconds. */
export function span(sec: number): string {
  return sec < 1 ? `${number(sec * 1000, sec < 0.01 ? 2 : 0)} ms` : `${number(sec, 2)} s`;
}

export function bytes(n: number): string {
  return n < 1000 ? `${n} B` : n < 1e6 ? `${number(n / 1000, 1)} kB` : `${number(n / 1e6, 1)} MB`;
}
