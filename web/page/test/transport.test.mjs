// The scripts of both pages put times on paper as instrument.Transport does.
import assert from "node:assert/strict";
import test from "node:test";
import { dataOf, lecture, load } from "./page.mjs";

const { alongAt, secAt, speedAt } = load("paper/transport.js");
const { along } = lecture("transport.js", ["along"]);

function near(got, want, what) {
  assert.ok(Math.abs(got - want) <= 1e-10 * Math.max(1, Math.abs(want)), `${what}: ${got}, want ${want}`);
}

for (const c of dataOf("paper/instrument/testdata/transport.json")) {
  test(c.name, () => {
    const v0 = ((c.roll_tempo / 10) * 304.8) / 60; // the trade's tempo: ten times the feet a minute
    const bench = { spool: c.spool, v0, radius: c.radius_mm, thickness: c.thickness_mm, slowing: c.slowing_per_mm };
    const paper = { speed: v0, radius: c.radius_mm, thickness: c.thickness_mm, slowing: c.slowing_per_mm };
    assert.ok(c.along_sec_speed.length > 0);
    for (const [mm, sec, speed] of c.along_sec_speed) {
      near(alongAt(bench, sec), mm, "the row on the workbench");
      near(secAt(bench, mm), sec, "the time on the workbench");
      near(speedAt(bench, sec), speed, "the speed on the workbench");
      near(along(paper, sec), mm, "the row in the lecture");
    }
  });
}
