// What the tests of the page's scripts stand on: the modules as tsc makes them
// (npm run check), files of the repository, and the little of a browser that the
// modules touch when they are loaded.
import { readFileSync, readdirSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import vm from "node:vm";

globalThis.localStorage = { getItem: () => null, setItem: () => {} };

const here = import.meta.dirname;
const top = path.join(here, "..", "..", "..");
const require = createRequire(import.meta.url);

/** The bytes of a file of the repository. */
export const bytesOf = (name) => readFileSync(path.join(top, name));

/** A JSON file of the repository. */
export const dataOf = (name) => JSON.parse(bytesOf(name).toString());

/** A module of the page, by its name below src. */
export const load = (name) => require(path.join(here, "../node_modules/.test/src", name));

/** A module of the tests that tsc has made. */
export const loadTest = (name) => require(path.join(here, "../node_modules/.test/test", name));

/** Values that a classic script of the lecture's page declares. */
export function lecture(script, names, globals = {}) {
  const source = bytesOf(`telling/show/page/${script}`).toString();
  return vm.runInNewContext(`${source}\n;({ ${names.join(", ")} })`, { ...globals });
}

/** All sources of the page, by their names below src. */
export function sources() {
  const src = path.join(here, "../src");
  const names = readdirSync(src, { recursive: true }).filter((n) => /\.tsx?$/.test(n) && statSync(path.join(src, n)).isFile());
  return new Map(names.sort().map((n) => [n, readFileSync(path.join(src, n), "utf8")]));
}
