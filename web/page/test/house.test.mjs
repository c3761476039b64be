// The order of the page's sources: no circle of imports, types counted.
import assert from "node:assert/strict";
import path from "node:path";
import test from "node:test";
import { sources } from "./page.mjs";

test("no circle", () => {
  const all = sources();
  const imports = new Map();
  for (const [name, text] of all) {
    const found = [...text.matchAll(/^(?:import|export)[^;]*?from "(\.[^"]*)"|^import "(\.[^"]*)"/gm)].map((m) => m[1] ?? m[2]);
    imports.set(name, found.filter((f) => !f.endsWith(".json")).map((f) => {
      const at = path.posix.join(path.posix.dirname(name), f);
      const to = [at + ".ts", at + ".tsx"].find((n) => all.has(n));
      assert.ok(to, `${name} imports ${f}, which is not there`);
      return to;
    }));
  }
  const done = new Set();
  const walk = (name, way) => {
    assert.ok(!way.includes(name), `a circle: ${[...way.slice(way.indexOf(name)), name].join(" -> ")}`);
    if (done.has(name)) return;
    for (const to of imports.get(name)) walk(to, [...way, name]);
    done.add(name);
  };
  for (const name of all.keys()) walk(name, []);
  assert.equal(done.size, all.size);
});
