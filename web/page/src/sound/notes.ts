// The samples of notes, fetched as the music needs them: those that sound
// first, first.
import { after, type Events } from "../work";

/** Lengths in which notes are asked for, seconds. */
const lengths = [0.5, 1, 2, 4, 8, 16];
const atATime = 6;
const mostBytes = 350e6;

export interface Wanted {
  name: number;
  key: number;
  level: number;
  voicing: Voicing;
  sec: number;
}

/** What a piano sounds like; copy tells pianos that are alike apart. */
export interface Voicing {
  hammers: string;
  tuning: string;
  copy: number;
}

const none: Voicing = { hammers: "metal", tuning: "", copy: 0 };
const numbers = new Map<string, number>();

/** A number of each voicing that has been heard. */
function numberOf(v: Voicing): number {
  const name = `${v.hammers} ${v.copy} ${v.tuning}`;
  let n = numbers.get(name);
  if (n === undefined) numbers.set(name, (n = numbers.size));
  return n;
}

/** Levels are heard in sixteen steps: the nearest multiple of eight. */
function heardLevel(level: number): number {
  return Math.min(127, Math.max(8, Math.round(level / 8) * 8));
}

function nameOf(key: number, level: number, voicing: number): number {
  return (voicing * 128 + key) * 128 + level;
}

/** The sample that each event sounds. voicings: of each piano. */
export function names(events: Events, voicings: Voicing[]): Int32Array {
  const out = new Int32Array(events.start.length);
  const numbered = voicings.map(numberOf);
  for (let i = 0; i < out.length; i++) {
    out[i] = nameOf(events.key[i], heardLevel(events.level[i]), numbered[events.piano[i]] ?? 0);
  }
  return out;
}

/** What a stretch of events needs, in order of first use, each as long as its longest note. */
function wants(events: Events, voicings: Voicing[], from: number, to: number, rate: number): Wanted[] {
  const found = new Map<number, Wanted>();
  for (let i = from; i < to; i++) {
    const level = heardLevel(events.level[i]);
    const voicing = voicings[events.piano[i]] ?? none;
    const name = nameOf(events.key[i], level, numberOf(voicing));
    const sec = (events.end[i] - events.start[i]) / rate + 0.3;
    const w = found.get(name);
    if (!w) found.set(name, { name, key: events.key[i], level, voicing, sec });
    else if (sec > w.sec) w.sec = sec;
  }
  return [...found.values()];
}

/** Fetches samples and hands them to the mixer. */
export class Notes {
  private readonly have = new Map<number, { sec: number; bytes: number }>();
  private bytes = 0;
  private queue: Wanted[] = [];
  private busy = new Set<number>();
  private waiting: { names: Set<number>; done: () => void }[] = [];

  constructor(
    private readonly version: () => string,
    private readonly give: (name: number, left: Float32Array, right: Float32Array, release: number) => void,
    private readonly drop: (name: number) => void,
  ) {}

  /** Loads what the music needs from a time on; resolves when the first moments can be heard. */
  prepare(events: Events, voicings: Voicing[], sec: number, rate: number): Promise<void> {
    const from = after(events.start, sec - 1e-6);
    const soon = after(events.start, sec + 1.5 * rate);
    const first = wants(events, voicings, from, soon, rate).filter((w) => this.lacks(w));
    const later = wants(events, voicings, soon, events.start.length, rate);
    const seen = new Set(first.map((w) => w.name));
    this.queue = [...first, ...later.filter((w) => !seen.has(w.name) && this.lacks(w))];
    this.pump();
    if (first.length === 0) return Promise.resolve();
    return new Promise((done) => this.waiting.push({ names: seen, done }));
  }

  private lacks(w: Wanted): boolean {
    const h = this.have.get(w.name);
    return !h || (h.sec < lengths[lengths.length - 1] && h.sec < w.sec);
  }

  private pump(): void {
    while (this.busy.size < atATime && this.queue.length > 0 && this.bytes < mostBytes) {
      const w = this.queue.shift()!;
      if (this.busy.has(w.name) || !this.lacks(w)) {
        this.settle(w.name);
        continue;
      }
      this.busy.add(w.name);
      void this.load(w).finally(() => {
        this.busy.delete(w.name);
        this.settle(w.name);
        this.pump();
      });
    }
  }

  private settle(name: number): void {
    this.waiting = this.waiting.filter((w) => {
      w.names.delete(name);
      if (w.names.size > 0) return true;
      w.done();
      return false;
    });
  }

  private async load(w: Wanted): Promise<void> {
    const sec = lengths.find((l) => l >= w.sec) ?? lengths[lengths.length - 1];
    const query = new URLSearchParams({
      v: this.version(),
      key: String(w.key),
      level: String(w.level),
      hammers: w.voicing.hammers,
      tuning: w.voicing.tuning,
      piano: String(w.voicing.copy),
      sec: String(sec),
    });
    try {
      const response = await fetch(`api/note?${query}`);
      if (!response.ok) throw new Error(response.statusText);
      const both = new Float32Array(await response.arrayBuffer());
      const n = both.length >> 1;
      const left = new Float32Array(n);
      const right = new Float32Array(n);
      for (let i = 0; i < n; i++) {
        left[i] = both[2 * i];
        right[i] = both[2 * i + 1];
      }
      const old = this.have.get(w.name);
      this.have.delete(w.name);
      this.have.set(w.name, { sec, bytes: n * 8 });
      this.bytes += n * 8 - (old?.bytes ?? 0);
      this.give(w.name, left, right, Number(response.headers.get("X-Release-Sec") ?? 0.1));
      this.makeRoom();
    } catch {
      this.have.set(w.name, { sec: Infinity, bytes: 0 }); // silent: the strings of this key are not to be had
    }
  }

  private makeRoom(): void {
    for (const [name, { bytes }] of this.have) {
      if (this.bytes < mostBytes * 0.9) return;
      this.have.delete(name);
      this.bytes -= bytes;
      this.drop(name);
    }
  }
}
