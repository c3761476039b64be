// The page of the workbench begins here.
import { render } from "preact";
import { get, type Example, type Session } from "./api";
import { repaint } from "./look/frames";
import { calm } from "./look/palette";
import { App } from "./panels/app";
import { guideNewcomers } from "./panels/guide";
import { listenToKeys } from "./panels/keys";
import { gripState } from "./paper/grips";
import { painted } from "./paper/paper";
import { mountBench } from "./punch/punch";
import { playing, seek, soundState, source } from "./sound/player";
import { designState } from "./views/design";
import { lightState } from "./views/light";
import { meetState } from "./views/meet";
import { takeState } from "./views/take";
import { whatIfState } from "./views/whatif";
import { alone, complaints, examples, files, found, session, stale, trouble, work } from "./state";
import { latency } from "./text/analysis";
import { conflict, listFiles, open, openExample, openFile, saveState } from "./text/document";
import { text } from "./text/editor";
import { litHoles } from "./text/lit";
import { instruments } from "./text/language";
import { speak, t } from "./words";

async function words(offered: string[]): Promise<void> {
  const wanted = new URLSearchParams(location.search).get("lang");
  const tag = [wanted, ...navigator.languages].map((l) => l?.split("-")[0]).find((l) => l && offered.includes(l));
  if (!tag || tag === "en") return;
  speak(tag, await get(`words?lang=${encodeURIComponent(tag)}`));
}

async function begin(): Promise<void> {
  const s = await get<Session>("session");
  session.set(s);
  await words(s.lang ?? []);
  await Promise.all([
    listFiles(),
    get<Example[]>("examples").then((list) => examples.set(list)),
    get<{ name: string; title: string }[]>("instruments").then((list) => instruments.set(list)),
  ]);
  const asked = new URLSearchParams(location.search).get("file");
  const last = localStorage.getItem("last");
  const names = files.value.map((f) => f.name);
  const name = [asked, s.open, last].find((n) => n && names.includes(n)) ?? names[0];
  if (name) await openFile(name);
  else await openExample(examples.value[0]?.name ?? "");
  guideNewcomers();
}

render(<App />, document.getElementById("app")!);
listenToKeys();
mountBench();
// Canvases are drawn with the page's own faces once these have come.
void Promise.all(["12px 'Rollwright Sans'", "600 12px 'Rollwright Sans'", "12px 'Rollwright Serif'", "italic 12px 'Rollwright Serif'"].map((f) => document.fonts.load(f))).then(repaint);
begin().catch((e) => trouble.set(t("server.away") + ` (${e instanceof Error ? e.message : e})`));

// What measurements and tests ask for.
Object.assign(window, { bench: { soundState, painted, latency, found, work, complaints, stale, open, saveState, conflict, text, seek, source, take: takeState, design: designState, light: lightState, meet: meetState, grip: gripState, whatif: whatIfState, lit: litHoles, alone, calm, playing } });
