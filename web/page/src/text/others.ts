// What others do to the folder and to the open file: other tabs, other
// programs, and the jobs of the server.
import { ask } from "../api";
import { analyse } from "./analysis";
import { lost, onReturn } from "./away";
import { conflict, listFiles, open, save, saved, saveState, tab, type Loaded } from "./document";
import * as editor from "./editor";
import { say } from "../state";
import { t } from "../words";

let events: EventSource | null = null;
const jobWatchers = new Set<(job: unknown) => void>();

export function watchJobs(tell: (job: unknown) => void): () => void {
  jobWatchers.add(tell);
  return () => jobWatchers.delete(tell);
}

/** Follows what happens to the folder and the open file. */
export function listen(): void {
  events?.close();
  const name = open.value?.kind ? "" : (open.value?.name ?? ""); // what is no piece is not written here
  events = new EventSource(`api/watch?${new URLSearchParams({ name, tab })}`);
  const on = (kind: string, act: (data: any) => void) =>
    events!.addEventListener(kind, (e) => act(JSON.parse((e as MessageEvent).data)));
  on("saved", (d) => d.tab !== tab && void others(d));
  on("disk", (d) => void others(d));
  on("files", (d) => {
    const o = open.value;
    if (o && d.renamed === o.name && d.to) open.set({ ...o, name: d.to });
    void listFiles();
  });
  on("job", (d) => jobWatchers.forEach((tell) => tell(d)));
}

/** Somebody else has written the file: take it when nothing is lost, else ask. */
async function others(d: { name: string; version: string; text?: string; tab?: string }): Promise<void> {
  await saved(); // its answer may be on the way
  const o = open.value;
  if (!o || o.kind || o.name !== d.name || o.base === d.version || d.version === "") return;
  let text = d.text;
  if (text === undefined) {
    try {
      text = (await ask<Loaded>("file", { name: d.name })).text;
    } catch (e) {
      return lost(e);
    }
  }
  const clean = editor.text() === o.saved;
  if (clean) {
    open.set({ ...o, base: d.version, saved: text });
    if (d.tab === undefined && text !== editor.text()) say(t("save.elsewhere", { name: o.name }));
    editor.become(text);
    saveState.set("saved");
    return;
  }
  if (text === editor.text()) {
    open.set({ ...o, base: d.version, saved: text });
    return saveState.set("saved");
  }
  saveState.set("conflict");
  conflict.set({ text, version: d.version });
}

let watched = "";
open.watch((o) => {
  const name = o?.name ?? "";
  if (name === watched && events) return;
  watched = name;
  listen();
});
addEventListener("pagehide", () => void save());

onReturn(() => {
  listen();
  void listFiles();
  void save().then(analyse);
});
