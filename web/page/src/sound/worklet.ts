// Mixes the notes of a piece, in the audio thread. It gets events ordered by
// start, samples of whole undamped notes, and where in the music to be; it
// gives back where it is. Music time runs at the rate; notes keep their pitch.

declare const sampleRate: number;
declare const currentTime: number;
declare class AudioWorkletProcessor {
  readonly port: MessagePort;
}
declare function registerProcessor(name: string, maker: typeof AudioWorkletProcessor): void;

interface Sample {
  left: Float32Array;
  right: Float32Array;
  fall: number; // factor a frame by which the damped note fades
}

/** One note that sounds. */
interface Sounding {
  sample: Sample;
  at: number; // frame of the sample
  gain: number;
  damping: number; // of the damper, 1 while it is off
  end: number; // seconds of music at which the damper falls
  voice: number;
  piano: number;
}

const mostNotes = 160;
const reportEvery = 1024; // frames
const quickFade = 0.995; // a frame: notes cut off by a jump fade within 20 ms

class Mixer extends AudioWorkletProcessor {
  private start = new Float64Array(0);
  private end = new Float64Array(0);
  private voice = new Int32Array(0);
  private piano = new Uint8Array(0);
  private name = new Int32Array(0); // of the sample
  private readonly samples = new Map<number, Sample>();
  private sounding: Sounding[] = [];
  private leaving: Sounding[] = [];
  private next = 0; // event
  private sec = 0;
  private playing = false;
  private rate = 1;
  private loop: [number, number] | null = null;
  private gains = new Float32Array(0); // of voices
  private pans: [number, number][] = [[1, 1]];
  private until = 0;
  private frames = 0;
  private peak = 0; // since the last report

  constructor() {
    super();
    this.port.onmessage = (e) => this.take(e.data);
  }

  private take(m: any): void {
    switch (m.type) {
      case "events":
        this.start = m.start;
        this.end = m.end;
        this.voice = m.voice;
        this.piano = m.piano;
        this.name = m.name;
        this.until = m.until;
        this.find();
        break;
      case "sample":
        this.samples.set(m.name, { left: m.left, right: m.right, fall: m.release > 0 ? 10 ** (-3 / (m.release * sampleRate)) : 1 });
        break;
      case "drop":
        this.samples.delete(m.name);
        break;
      case "gains":
        this.gains = m.gains;
        break;
      case "pans":
        this.pans = m.pans;
        break;
      case "rate":
        this.rate = m.rate;
        break;
      case "loop":
        this.loop = m.loop;
        break;
      case "play":
        this.jump(m.sec);
        this.playing = true;
        this.report();
        break;
      case "pause":
        this.playing = false;
        this.silence();
        this.report();
        break;
      case "seek":
        this.jump(m.sec);
        this.report();
        break;
    }
  }

  private silence(): void {
    this.leaving.push(...this.sounding);
    this.sounding = [];
  }

  private jump(sec: number): void {
    this.silence();
    this.sec = sec;
    this.find();
  }

  /** The first event that begins now or later. */
  private find(): void {
    let low = 0;
    let high = this.start.length;
    while (low < high) {
      const mid = (low + high) >>> 1;
      if (this.start[mid] < this.sec - 1e-9) low = mid + 1;
      else high = mid;
    }
    this.next = low;
  }

  private report(): void {
    this.port.postMessage({ sec: this.sec, time: currentTime, playing: this.playing, peak: this.peak });
    this.peak = 0;
  }

  process(_: Float32Array[][], outputs: Float32Array[][]): boolean {
    const [left, right = left] = outputs[0];
    const n = left.length;
    if (this.playing) {
      const step = this.rate / sampleRate;
      let to = this.sec + n * step;
      if (this.loop && this.sec < this.loop[1] && to >= this.loop[1]) {
        this.jump(this.loop[0]);
        to = this.sec + n * step;
      }
      this.strike(to, step);
      this.sec = to;
      if (this.sec > this.until && !this.loop) {
        this.playing = false;
        this.report();
      }
    }
    this.mix(this.sounding, left, right, n);
    this.fade(left, right, n);
    for (let i = 0; i < n; i++) {
      left[i] = bound(left[i]);
      right[i] = bound(right[i]);
      this.peak = Math.max(this.peak, Math.abs(left[i]), Math.abs(right[i]));
    }
    this.frames += n;
    if (this.playing && this.frames >= reportEvery) {
      this.frames = 0;
      this.report();
    }
    return true;
  }

  /** Begins the notes up to a time, each at its own frame. */
  private strike(to: number, step: number): void {
    while (this.next < this.start.length && this.start[this.next] < to) {
      const i = this.next++;
      const sample = this.samples.get(this.name[i]);
      if (!sample || this.gains[this.voice[i]] === 0) continue;
      if (this.sounding.length >= mostNotes) this.leaving.push(this.sounding.shift()!);
      this.sounding.push({
        sample,
        at: -Math.max(0, Math.round((this.start[i] - this.sec) / step)),
        gain: 1,
        damping: 1,
        end: this.end[i],
        voice: this.voice[i],
        piano: this.piano[i],
      });
    }
  }

  private mix(notes: Sounding[], left: Float32Array, right: Float32Array, n: number): void {
    let kept = 0;
    const step = this.rate / sampleRate;
    const began = this.sec - n * step;
    for (const note of notes) {
      const { left: l, right: r, fall } = note.sample;
      const target = note.voice < this.gains.length ? this.gains[note.voice] : 1;
      const [gl, gr] = this.pans[note.piano] ?? [1, 1];
      const off = (note.end - began) / step; // frame at which the damper falls
      for (let i = 0; i < n; i++, note.at++) {
        if (note.at < 0) continue;
        if (note.at >= l.length) break;
        if (i >= off) note.damping *= fall;
        note.gain += (target - note.gain) * 0.004;
        const g = note.gain * note.damping;
        left[i] += l[note.at] * g * gl;
        right[i] += r[note.at] * g * gr;
      }
      if (note.at < l.length && note.damping > 1e-4) notes[kept++] = note;
    }
    notes.length = kept;
  }

  /** Lets the notes go that a jump or a pause has cut off. */
  private fade(left: Float32Array, right: Float32Array, n: number): void {
    let kept = 0;
    for (const note of this.leaving) {
      const { left: l, right: r } = note.sample;
      const [gl, gr] = this.pans[note.piano] ?? [1, 1];
      for (let i = 0; i < n; i++, note.at++) {
        if (note.at < 0) continue;
        if (note.at >= l.length) break;
        note.damping *= quickFade;
        const g = note.gain * note.damping;
        left[i] += l[note.at] * g * gl;
        right[i] += r[note.at] * g * gr;
      }
      if (note.at >= 0 && note.at < l.length && note.damping > 1e-4) this.leaving[kept++] = note;
    }
    this.leaving.length = kept;
  }
}

/** Straight up to 0.7, then bent so that no sum of notes passes 1. */
function bound(x: number): number {
  const a = Math.abs(x);
  if (a <= 0.7) return x;
  return Math.sign(x) * (0.7 + 0.3 * Math.tanh((a - 0.7) / 0.3));
}

registerProcessor("mixer", Mixer as unknown as typeof AudioWorkletProcessor);
