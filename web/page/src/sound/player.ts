// Plays the piece and knows at any moment which instant of the music is heard.
// Everything that moves on the screen asks it for that instant.
import { Cell } from "../cell";
import { animate, repaint } from "../look/frames";
import { alone, isSeen, say, session, silent, work } from "../state";
import { t } from "../words";
import type { Events, Work } from "../work";
import { score } from "../parts";
import { names, Notes, type Voicing } from "./notes";

/** What is played: "roll", "score", or the name of a further one that a view has added. */
export type Source = string;

/** A recording: it sounds by itself, and says which instant of the piece it is at. */
export interface Recording {
  start(sec: number, rate: number): Promise<void>;
  stop(): void;
  seek(sec: number): void;
  now(): number;
  rate(rate: number): void;
  volume(share: number): void;
}

/** Something else to be heard in the place of the roll. */
export interface Further {
  name: Source;
  label: string;
  events?: Events;
  recording?: Recording;
}
export const further = new Cell<Further[]>([]);

/** Adds what can be heard, in the place of what had that name; null takes it away. */
export function offer(name: Source, made: Omit<Further, "name"> | null): void {
  if (!made && !further.value.some((f) => f.name === name)) return;
  further.update((list) => [...list.filter((f) => f.name !== name), ...(made ? [{ name, ...made }] : [])]);
  if (!made && source.value === name) source.set("roll");
  else if (source.value === name) renew();
}

function chosen(): Further | undefined {
  return further.value.find((f) => f.name === source.value);
}

export const playing = new Cell(false);
export const loading = new Cell(false);
export const rate = new Cell(1);
export const source = new Cell<Source>("roll");
export const loop = new Cell<[number, number] | null>(null);
/** Hammers for all pianos; empty: each piano's own. */
export const hammers = new Cell("");
/** 0 to 1. */
export const volume = new Cell(Number(localStorage.getItem("volume") ?? 0.8));

export const rates = [0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4];

let via: Recording | null = null; // what sounds by itself just now
let context: AudioContext | null = null;
let mixer: AudioWorkletNode | null = null;
let loud: GainNode | null = null;
let ready: Promise<void> | null = null;

/** The instant last told by the mixer, and when that was on its clock. */
let told = { sec: 0, time: 0, peak: 0 };
/** Where and when the sound set in last: until that is heard, the paper waits. */
let began = { sec: 0, time: 0 };
let still = 0; // where the paper rests while nothing plays
let wanted = 0; // counts the presses of play
let asked = 0; // when play was pressed last
let delay = 0; // milliseconds from there until the mixer had begun and its first frames were out

const notes = new Notes(
  () => session.value?.soundVersion ?? "",
  (name, left, right, release) =>
    mixer?.port.postMessage({ type: "sample", name, left, right, release }, [left.buffer, right.buffer]),
  (name) => mixer?.port.postMessage({ type: "drop", name }),
);

/** Opens the sound device; browsers allow it from the first press of a key or button on. */
function open(): Promise<void> {
  return (ready ??= (async () => {
    context = new AudioContext({ sampleRate: 48000, latencyHint: "interactive" });
    await context.audioWorklet.addModule("worklet.js");
    mixer = new AudioWorkletNode(context, "mixer", { numberOfInputs: 0, outputChannelCount: [2] });
    loud = new GainNode(context, { gain: volume.value ** 2 });
    mixer.connect(loud).connect(context.destination);
    mixer.port.onmessage = ({ data }) => {
      told = data;
      if (data.playing && asked) {
        delay = performance.now() - asked + 1000 * (context!.outputLatency || context!.baseLatency || 0);
        asked = 0;
      }
      if (!data.playing && playing.value && !loading.value && !via) rest(data.sec);
    };
    sendAll();
  })());
}

/** The instant of the music that is heard now, in seconds. */
export function heard(): number {
  if (via && playing.value) {
    const sec = via.now();
    if (loop.value && sec >= loop.value[1]) via.seek(loop.value[0]);
    return sec;
  }
  if (!playing.value || !context) return still;
  const late = context.outputLatency || context.baseLatency || 0;
  if (context.currentTime - began.time < late) return began.sec;
  return told.sec + Math.min(0.25, context.currentTime - told.time - late) * rate.value;
}

/** For tests: the audio clock and what is known of it. */
export function soundState() {
  return { time: context?.currentTime ?? 0, heard: heard(), playing: playing.value, delay, peak: told.peak };
}

/** The score of the work that it is of, once it was asked for. */
let scored: { work: Work; events: Events } | null = null;

/** What is played: the roll, and in place of the score too until it has come. */
function events(w: Work): Events {
  const other = chosen()?.events;
  if (other) return other;
  return source.value === "score" && scored?.work === w ? scored.events : w.roll;
}

/** Gets the score when it is to be heard. */
async function fetchScore(w: Work): Promise<void> {
  if (source.value !== "score" || scored?.work === w) return;
  try {
    scored = { work: w, events: await score(w) };
  } catch {
    return; // the text has gone on
  }
  if (work.value === w) tellMixer();
}

function voicingsOf(w: Work): Voicing[] {
  return w.pianos.map((p, copy) => ({ hammers: hammers.value || p.hammers, tuning: p.tuning, copy }));
}

/** Tells the mixer all that it has to know. */
function sendAll(): void {
  const w = work.value;
  if (!mixer || !w) return;
  const e = events(w);
  mixer.port.postMessage({
    type: "events",
    start: e.start.slice(),
    end: e.end.slice(),
    voice: e.voice.slice(),
    piano: e.piano.slice(),
    name: names(e, voicingsOf(w)),
    until: w.durationSec + 1.5,
  });
  mixer.port.postMessage({ type: "rate", rate: rate.value });
  mixer.port.postMessage({ type: "loop", loop: loop.value });
  mixer.port.postMessage({ type: "pans", pans: w.pianos.map((_, i) => pan(i, w.pianos.length)) });
  sendGains();
}

/** Several pianos stand side by side. */
function pan(i: number, n: number): [number, number] {
  if (n < 2) return [1, 1];
  const x = (i / (n - 1)) * 0.7 - 0.35;
  return [Math.min(1, 1 - x), Math.min(1, 1 + x)];
}

function sendGains(): void {
  const w = work.value;
  if (!mixer || !w) return;
  const gains = Float32Array.from(w.voices, (v) =>
    !isSeen(v.index) || silent.value.has(v.index) ? 0 : 1,
  );
  mixer.port.postMessage({ type: "gains", gains });
}

function rest(sec: number): void {
  still = sec;
  playing.set(false);
  loading.set(false);
  animate(false);
}

export async function play(from = heard()): Promise<void> {
  const w = work.value;
  if (!w) return;
  const mine = ++wanted;
  asked = performance.now();
  let sec = from >= w.durationSec - 0.01 ? 0 : from;
  if (loop.value && (sec < loop.value[0] || sec >= loop.value[1])) sec = loop.value[0];
  still = sec;
  if (via && playing.value) via.stop();
  via = chosen()?.recording ?? null;
  loading.set(true);
  if (via) return playRecording(via, sec, mine);
  try {
    const opened = open();
    void context?.resume();
    await opened;
    await fetchScore(w);
    await context!.resume();
    await notes.prepare(events(w), voicingsOf(w), sec, rate.value);
  } catch (e) {
    if (mine !== wanted) return;
    loading.set(false);
    say(t("sound.none", { why: e instanceof Error ? e.message : String(e) }));
    return;
  }
  if (mine !== wanted) return;
  loading.set(false);
  told = { sec, time: context!.currentTime, peak: 0 };
  began = told;
  mixer!.port.postMessage({ type: "play", sec });
  playing.set(true);
  animate(true);
}

/** Plays a recording: the paper follows it. */
async function playRecording(r: Recording, sec: number, mine: number): Promise<void> {
  mixer?.port.postMessage({ type: "pause" });
  asked = 0;
  r.volume(volume.value ** 2);
  try {
    await r.start(sec, rate.value);
  } catch (e) {
    if (mine === wanted) {
      loading.set(false);
      say(t("sound.none", { why: e instanceof Error ? e.message : String(e) }));
    }
    return;
  }
  if (mine !== wanted) return r.stop();
  loading.set(false);
  playing.set(true);
  animate(true);
}

/** A recording has come to its end, by itself. */
export function ended(r: Recording): void {
  if (via === r && playing.value) rest(r.now());
}

export function pause(): void {
  wanted++;
  const sec = heard();
  via?.stop();
  mixer?.port.postMessage({ type: "pause" });
  rest(sec);
  repaint();
}

export function toggle(): void {
  if (playing.value || loading.value) pause();
  else void play();
}

/** Plays from a time: for those who press a time somewhere. */
export function playFrom(sec: number): void {
  seek(sec);
  void play(sec);
}

/** Brings a time under the bar; the music goes on from there if it plays. */
export function seek(sec: number): void {
  const w = work.value;
  const most = w ? w.durationSec + 2 : 0;
  const to = Math.max(-60, Math.min(most, sec));
  still = to;
  if (playing.value && via) via.seek(to);
  else if (playing.value) {
    told = { ...told, sec: to, time: context!.currentTime };
    began = told;
    mixer!.port.postMessage({ type: "seek", sec: to });
    if (w) void notes.prepare(events(w), voicingsOf(w), to, rate.value);
  }
  repaint();
}

function renew(): void {
  tellMixer();
  if (work.value) void fetchScore(work.value);
}

function tellMixer(): void {
  sendAll();
  const w = work.value;
  if (w && playing.value && !via) void notes.prepare(events(w), voicingsOf(w), heard(), rate.value);
}

work.watch(renew);
source.watch(() => {
  const on = playing.value;
  if (on && (via || chosen()?.recording)) {
    const sec = heard();
    via?.stop();
    rest(sec);
    void play(sec);
  }
  renew();
});
hammers.watch(renew);
rate.watch((r) => {
  told = { ...told, sec: heard(), time: context?.currentTime ?? 0 };
  mixer?.port.postMessage({ type: "rate", rate: r });
  via?.rate(r);
});
loop.watch((l) => {
  mixer?.port.postMessage({ type: "loop", loop: l });
  repaint();
});
alone.watch(sendGains);
silent.watch(sendGains);
volume.watch((v) => {
  localStorage.setItem("volume", String(v));
  if (loud) loud.gain.value = v ** 2;
  via?.volume(v ** 2);
});
