// A hole in words.
import { clock, length, span } from "../format";
import { t, tn } from "../words";
import type { Work } from "../work";
import { secAt } from "./transport";

export interface HoleText {
  title: string;
  lines: string[];
  voice: number;
}

export function describe(work: Work, pianoIndex: number, slot: number): HoleText {
  const piano = work.pianos[pianoIndex];
  const { slots } = work;
  const port = piano.ports[slots.port[slot]];
  const voice = slots.voice[slot];
  const name = voice >= 0 ? work.voices[voice].name : "";
  const role = t(`port.${port.role}`);
  const title = port.key >= 0 ? port.pitch : role;
  const from = secAt(piano.transport, slots.lead[slot]);
  const to = secAt(piano.transport, slots.trail[slot]);
  const lines = [];
  if (name) lines.push(slots.note[slot] > 0 ? t("hole.note", { voice: name, n: slots.note[slot] }) : t("hole.voice", { voice: name }));
  lines.push(t("hole.time", { at: clock(Math.max(0, from), 2), long: span(Math.max(0, to - from)) }));
  lines.push(t("hole.place", { along: length(slots.lead[slot]), across: length(port.across, 2), port: slots.port[slot] + 1 }));
  lines.push(
    tn("hole.punches", slots.punches[slot], { long: length(slots.trail[slot] - slots.lead[slot], 2) }),
  );
  return { title, lines, voice };
}
