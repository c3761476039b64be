// The page takes the server's answers apart as the server's own tests say they
// are made (web/contract_test.go writes them and holds the server to them).
import assert from "node:assert/strict";
import { readdirSync } from "node:fs";
import test from "node:test";
import { bytesOf, dataOf, load, loadTest, sources } from "./page.mjs";

const { decode } = load("container.js");
const { workOf, itemsOf, scoreOf, itemAt, after } = load("work.js");
const said = loadTest("answers.js");

function answer(name) {
  const bytes = bytesOf(`web/page/test/answers/${name}`);
  return decode(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}

// The numbers of testdata/small.json are worked by hand: see TestWork.
const byHand = dataOf("web/testdata/small.json");

test("arrays are those worked by hand", () => {
  const { arrays } = answer("work.bin");
  for (const [name, want] of Object.entries(byHand)) assert.deepEqual(Array.from(arrays[name]), want, name);
});

test("words are those of the server", () => {
  const { json } = answer("work.bin");
  assert.deepEqual({ ...json, id: "" }, { ...said.small, id: "" });
});

test("the analysis of a text", () => {
  const work = workOf(answer("work.bin"));
  assert.equal(work.title, "Small");
  assert.deepEqual(work.voices.map((v) => v.index), [0]);
  const n = work.pianos[0].slots.count;
  assert.equal(n, 6);
  for (const [name, list] of Object.entries(work.slots)) assert.equal(list?.length, n, `slots.${name}`);
  for (const [name, list] of Object.entries(work.roll)) assert.equal(list?.length, n, `roll.${name}`);
  assert.deepEqual(Array.from(work.slots.note), byHand.slot_note);
  assert.ok(Math.abs(work.slots.lead[2] - 30.48) < 1e-9); // 0.75 s of 40.64 mm
  assert.equal(work.pianos[0].ports[work.slots.port[2]].pitch, "C2");
});

test("the items of a voice, and the score", () => {
  const items = itemsOf(answer("items.bin"));
  const names = { at: "at", len: "len", color: "color", talea: "talea", note: "note", colorN: "color_n", taleaN: "talea_n" };
  for (const [name, theirs] of Object.entries(names)) assert.deepEqual(Array.from(items[name]), byHand[`item_${theirs}`], name);
  assert.equal(itemAt(items, 0.7), 2); // the silence from 0.625 s to 0.75 s
  assert.equal(after(items.at, 9), items.at.length);
  const score = scoreOf(answer("score.bin"));
  for (const [name, list] of Object.entries(score)) assert.deepEqual(Array.from(list), byHand[`ev_${name}`], name);
});

// A punch of 1.7272 mm: the first note's slot from 0 to 0.375 s of 40.64 mm/s,
// 15.24 mm, has its first centre at half a punch.
test("single punches", () => {
  const { arrays } = answer("punches.bin");
  assert.equal(arrays.punch_slot.length, arrays.punch_at.length);
  assert.equal(arrays.punch_slot[0], 0);
  assert.ok(Math.abs(arrays.punch_at[0] - 1.7272 / 2) < 1e-9);
});

test("mistakes and findings stand at their places", () => {
  const [mistake] = said.mistaken.errors;
  assert.equal(said.mistaken.ok, false);
  assert.equal(mistake.line, 2);
  assert.ok(said.thick.findings.length > 0 && said.thick.findings[0].places.length > 0);
  assert.ok(said.plan.pairs[0].meets.length > 0);
});

// What the page asks for is served, and nothing is served that it never asks for.
test("addresses", () => {
  const served = new Map();
  const tables = readdirSync(new URL("../../", import.meta.url)).filter((name) => name.endsWith(".go") && !name.endsWith("_test.go"));
  for (const name of tables) {
    for (const [, method, path] of bytesOf(`web/${name}`).toString().matchAll(/"(GET|POST) \/api\/([^"]+)"/g)) {
      served.set(path.replaceAll(/\{\w+\}/g, "*"), method);
    }
  }
  const asked = new Map();
  const take = (text, pattern, method) => {
    for (const [, path] of text.matchAll(pattern)) asked.set(path.replace(/\?.*/, "").replaceAll(/\$\{[^}]*\}/g, "*"), method);
  };
  for (const text of sources().values()) {
    take(text, /\b(?:ask|askBinary)(?:<[^(]*>)?\(\s*["`]([^"`]*)["`]/g, "POST");
    // The folder asks with the word of what is being done.
    if (/ask(?:<[^(]*>)?\(made\b/.test(text)) take(text, /"(copy|rename)"/g, "POST");
    take(text, /\.run\(\s*["`]([^"`]*)["`]/g, "POST"); // a job
    take(text, /\bget(?:Binary)?(?:<[^(]*>)?\(\s*["`]([a-z][^"`]*)["`]/g, "GET");
    take(text, /["`]api\/([a-z][^"`]*)["`]/g, "GET");
  }
  for (const [path, method] of served) assert.equal(asked.get(path), method, `/api/${path} is served`);
  for (const path of asked.keys()) {
    if (["lang", "file"].includes(path)) continue; // parameters of the page's own address, and the file by POST
    assert.ok(served.has(path), `/api/${path} is asked for`);
  }
});
