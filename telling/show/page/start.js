// The page's data, its words, and where the lecture stands.

const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);

/** A word of the page with its gaps filled. */
function say(key, values = {}) {
  return data.words[key].replace(/\{(\w+)\}/g, (gap, name) => (name in values ? values[name] : gap));
}

/** A number with so many decimals, in the way of the language. */
const decimal = (x, places) => x.toFixed(places).replace(".", data.decimal);

/** Seconds as minutes and seconds. */
function minutes(sec) {
  const whole = Math.max(0, Math.floor(sec + 1e-6));
  const h = Math.floor(whole / 3600), m = Math.floor(whole / 60) % 60, s = String(whole % 60).padStart(2, "0");
  return h ? `${h}:${String(m).padStart(2, "0")}:${s}` : `${m}:${s}`;
}

/** The index of the last entry of an ascending list that is at most x; -1: none. */
function lastAt(list, x) {
  let low = 0, high = list.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (list[mid] <= x) low = mid + 1;
    else high = mid;
  }
  return low - 1;
}

const still = matchMedia("(prefers-reduced-motion: reduce)");

// Places in a step are microseconds of the piece.
const state = { step: 0, at: 0, playing: false, started: false, slow: 1, mono: data.mono };

const current = () => data.steps[state.step];

/** An element with a class, text and children. */
function make(name, kind = "", ...inside) {
  const e = document.createElement(name);
  if (kind) e.className = kind;
  e.append(...inside);
  return e;
}
