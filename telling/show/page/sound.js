// Sound: notes of the bank, each placed, made as loud as it has to be, and
// damped where it ends. The same graph plays to the hall and, for tests, into
// memory.

/** The bank's bytes. */
function bankBytes() {
  const text = atob($("bank").textContent.trim());
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  return bytes.buffer;
}

/** The bank's samples; null where the browser cannot read them. */
const bank = (async () => {
  if (!data.bank.length) return null;
  await new Promise((done) => setTimeout(done, 0)); // the page is shown first
  return new OfflineAudioContext(1, 1, data.rate).decodeAudioData(bankBytes());
})();
bank.catch(() => { $("note").textContent = say("no-sound"); });

const hammerSec = 0.001; // in which a hammer takes its share of what rings
const naturalLog60dB = 6.9;

/** Everything between the notes and the loudspeakers. */
class Desk {
  constructor(context, buffer) {
    this.context = context;
    this.buffer = buffer;
    this.out = context.createGain();
    this.mono(state.mono);
    const hold = context.createDynamicsCompressor(); // many notes at once stay below full scale
    hold.threshold.value = -6;
    hold.knee.value = 4;
    hold.ratio.value = 20;
    hold.attack.value = 0.002;
    hold.release.value = 0.12;
    this.out.connect(hold).connect(context.destination);
    this.places = new Map(); // piano and key -> where it stands between left and right
    this.ringing = new Map(); // the same -> the gain of its last note
    this.sources = new Set();
  }

  mono(on) {
    this.out.channelCount = on ? 1 : 2;
    this.out.channelCountMode = on ? "explicit" : "max";
  }

  place(piano, key) {
    const name = piano * 128 + key;
    let pan = this.places.get(name);
    if (!pan) {
      const { seat, width } = data.pianos[piano];
      pan = this.context.createStereoPanner();
      pan.pan.value = Math.max(-1, Math.min(1, seat + width * (key - 64.5) / 43.5));
      pan.connect(this.out);
      this.places.set(name, pan);
    }
    return pan;
  }

  /** Plays event i of a set from `into` seconds of it on. */
  strike(set, i, gain, when, into, slow) {
    const tone = data.bank[set.tone[i]];
    const piano = set.piano ? set.piano[i] : 0;
    const held = set.len[i] / 1e6 / slow - into;
    const rate = set.rate?.[i] ?? 1; // faster than the note of the bank
    const length = tone.len / data.rate / rate - into;
    if (held <= 0 || length <= 0) return;
    const source = this.context.createBufferSource(), loud = this.context.createGain();
    source.buffer = this.buffer;
    source.playbackRate.value = rate;
    loud.gain.setValueAtTime(gain * set.gain[i] / 1000, when);
    const name = piano * 128 + tone.key, before = this.ringing.get(name);
    if (before && before.until > when && before.end > when) { // it rings, and goes on as far as the hammer lets it
      before.gain.cancelScheduledValues(when);
      before.gain.setTargetAtTime(before.level * tone.kept, when, hammerSec);
      if (tone.t60 > 0) {
        before.gain.setTargetAtTime(0, when + Math.max(held, 0.02), tone.t60 / naturalLog60dB);
        before.source.stop(when + Math.max(held, 0.02) + 1.3 * tone.t60);
      }
    }
    let until = length;
    if (tone.t60 > 0 && held < length) {
      loud.gain.setTargetAtTime(0, when + held, tone.t60 / naturalLog60dB);
      until = Math.min(length, held + 1.3 * tone.t60);
    }
    const level = gain * set.gain[i] / 1000;
    this.ringing.set(name, { gain: loud.gain, source, level, end: when + held, until: when + until });
    source.connect(loud).connect(this.place(piano, tone.key));
    source.start(when, tone.start / data.rate + into * rate, length * rate);
    source.stop(when + until);
    this.sources.add(source);
    source.onended = () => { this.sources.delete(source); loud.disconnect(); };
  }

  stop() {
    const now = this.context.currentTime;
    for (const { gain } of this.ringing.values()) {
      gain.cancelScheduledValues(now);
      gain.setTargetAtTime(0, now, 0.015);
    }
    for (const source of this.sources) source.stop(now + 0.1);
    this.ringing.clear();
  }
}

/** The events of a step, in order of time, as places in their set. */
function notesOf(step) {
  if (!step.notes) {
    const { events, voices, from, to } = step.sound, set = data.events[events], heard = new Set([-1, ...voices]);
    step.notes = [];
    for (let i = 0; i < set.at.length; i++) {
      if (set.at[i] < to && set.at[i] + set.len[i] > from && heard.has(set.voice[i])) step.notes.push(i);
    }
  }
  return step.notes;
}

/** How much faster than written the piece goes. */
const pace = () => current().sound.rate * state.slow;

/** Strikes the notes of a step that begin in [from, to), and, at the start, those that sound already. */
function strikeAll(desk, step, from, to, zero, speed, first) {
  if (step.pulses) {
    if (first) roll(desk, step, from, zero, speed);
    return;
  }
  const set = data.events[step.sound.events];
  for (const i of notesOf(step)) {
    const at = set.at[i];
    if (at >= to) break;
    if (at >= from) desk.strike(set, i, step.sound.gain, zero + (at - from) / 1e6 / speed, 0, speed);
    else if (first && at + set.len[i] > from) desk.strike(set, i, step.sound.gain, zero, (from - at) / 1e6 / speed, speed);
  }
}

const ahead = 0.35; // seconds of sound that are handed over in advance

/** The player: sound and the clock that everything else follows. */
const player = {
  desk: null, context: null, timer: 0, zero: 0, base: 0, handed: 0, speed: 1,

  /** Begins to play the step from state.at on. */
  async play() {
    const step = current();
    if (!step.sound || state.playing) return;
    let buffer = null;
    try {
      this.context ??= new AudioContext();
      this.context.resume();
      $("note").textContent = say("loading");
      buffer = await bank;
      $("note").textContent = "";
    } catch {
      $("note").textContent = say("no-sound");
    }
    if (step !== current() || state.playing) return;
    if (state.at >= step.sound.to || state.at < step.sound.from) state.at = step.sound.from;
    this.desk?.stop();
    this.desk = buffer && new Desk(this.context, buffer);
    this.speed = pace();
    this.base = this.handed = state.at;
    this.zero = this.now() + 0.08;
    state.playing = state.started = true;
    this.hand(true);
    this.timer = setInterval(() => this.hand(false), 60);
    shown();
  },

  pause() {
    if (!state.playing) return;
    state.at = Math.min(this.position(), current().sound.to);
    state.playing = false;
    clearInterval(this.timer);
    this.desk?.stop();
    shown();
  },

  /** Seconds of a clock that goes on while sound goes on. */
  now() {
    const running = this.desk && this.context.state === "running";
    return running ? this.context.currentTime : performance.now() / 1000;
  },

  /** Where the ear is. */
  position() {
    const late = this.desk ? this.context.outputLatency || 0 : 0;
    return Math.max(this.base, this.base + (this.now() - late - this.zero) * 1e6 * this.speed);
  },

  hand(first) {
    const step = current();
    const to = Math.min(step.sound.to, this.base + (this.now() + ahead - this.zero) * 1e6 * this.speed);
    if (this.desk && to > this.handed) {
      strikeAll(this.desk, step, this.handed, to, this.zero + (this.handed - this.base) / 1e6 / this.speed, this.speed, first);
      this.handed = to;
    }
  },

  /** Goes on from where it is, after the speed has changed. */
  again() {
    if (!state.playing) return;
    this.pause();
    this.play();
  },
};

/** A sine of 1 kHz, 20 dB below full scale, into one channel or both. */
function sineInto(context, side) {
  const sine = context.createOscillator(), gain = context.createGain(), merge = context.createChannelMerger(2);
  sine.frequency.value = 1000;
  gain.gain.value = 0.1;
  sine.connect(gain);
  if (side !== "right") gain.connect(merge, 0, 0);
  if (side !== "left") gain.connect(merge, 0, 1);
  merge.connect(context.destination);
  sine.start();
  return sine;
}

/** The test tone. */
const tone = {
  node: null,
  start(side) {
    this.stop();
    player.context ??= new AudioContext();
    player.context.resume();
    this.node = sineInto(player.context, side);
  },
  stop() {
    this.node?.stop();
    this.node = null;
  },
};

/** A second of the test tone, made in memory. */
function toneRendered(side) {
  const context = new OfflineAudioContext(2, 48000, 48000);
  sineInto(context, side);
  return context.startRendering();
}

/** So many seconds of a step's sound, made in memory. */
async function rendered(number, from, sec, sampleRate = 48000) {
  const step = data.steps[number - 1];
  const context = new OfflineAudioContext(2, Math.ceil(sec * sampleRate), sampleRate);
  const desk = new Desk(context, await bank);
  const speed = step.sound.rate * state.slow;
  strikeAll(desk, step, from, Math.min(step.sound.to, from + sec * 1e6 * speed), 0, speed, true);
  return context.startRendering();
}
