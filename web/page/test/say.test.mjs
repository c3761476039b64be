// The pages say times and lengths as package say does.
import assert from "node:assert/strict";
import test from "node:test";
import { dataOf, lecture, load } from "./page.mjs";

const cases = dataOf("text/say/testdata/cases.json");
const { clock, length, lengthUnit } = load("format.js");

test("times on the workbench", () => {
  for (const [sec, places, said] of cases.clock) assert.equal(clock(sec, places), said);
});

test("lengths on the workbench", () => {
  for (const [mm, said] of cases.paper) assert.equal(length(mm), said);
});

// 1 ft 2.5 in are 12 + 2.5 inches of 25.4 mm: 368.3 mm.
test("lengths in feet", () => {
  lengthUnit.set("feet");
  assert.equal(length(368.3), "1 ft 2.5 in");
  assert.equal(length(-368.3), "-1 ft 2.5 in");
  assert.equal(length(25.4), "1.0 in");
  lengthUnit.set("mm");
});

// The lecture's clocks count full seconds, so they are held to the cases that are whole.
test("times in the lecture", () => {
  const document = { getElementById: () => ({ textContent: '{"mono": false}' }) };
  const { minutes } = lecture("start.js", ["minutes"], { document, matchMedia: () => ({}) });
  let n = 0;
  for (const [sec, , said] of cases.clock) {
    if (!Number.isInteger(sec) || sec < 0) continue;
    assert.equal(minutes(sec), said.replace(/\.\d+$/, ""));
    n++;
  }
  assert.ok(n >= 4);
});
