// Steps with time of their own: two pulses that become tones, and two halves of the
// hall that clap. The canvas of the paper shows them.

/** How many pulses of the slow voice have begun by a time: show.phase. */
function phase(p, sec) {
  const grow = Math.log(p.to / p.from) / p.ramp, ramp = (s) => p.from / grow * Math.expm1(grow * s);
  const held = p.hold * p.from, tone = p.hold + p.ramp, total = 2 * tone + p.tone;
  if (sec <= p.hold) return sec * p.from;
  if (sec <= tone) return held + ramp(sec - p.hold);
  if (sec <= tone + p.tone) return held + ramp(p.ramp) + (sec - tone) * p.to;
  return 2 * phase(p, total / 2) - phase(p, total - sec);
}

/** Pulses a second of the slow voice at a time. */
function pulseRate(p, sec) {
  const tone = p.hold + p.ramp, total = 2 * tone + p.tone, s = Math.min(sec, total - sec);
  return p.from * (p.to / p.from) ** (Math.max(0, Math.min(p.ramp, s - p.hold)) / p.ramp);
}

/** All pulses of a step as one sound: thousands of notes a second are too many for players of notes. */
function tapeOf(step, desk) {
  if (step.tape) return step.tape;
  const set = data.events[step.sound.events], from = desk.buffer.getChannelData(0);
  const length = Math.ceil((step.sound.to - step.sound.from) / 1e6 * data.rate);
  const tape = desk.context.createBuffer(1, length, data.rate), out = tape.getChannelData(0);
  for (let i = 0; i < set.at.length; i++) {
    const { start, len } = data.bank[set.tone[i]], gain = set.gain[i] / 1000;
    const at = Math.round((set.at[i] - step.sound.from) / 1e6 * data.rate), end = Math.min(len, length - at);
    for (let k = 0; k < end; k++) out[at + k] += gain * from[start + k];
  }
  const peak = out.reduce((most, x) => Math.max(most, Math.abs(x)), 1e-9);
  for (let k = 0; k < length; k++) out[k] /= peak;
  return (step.tape = tape);
}

const tapePeak = 0.4; // a steady tone seems louder than notes that die away

/** Plays the tape from a place on; slower is lower, as pulses are. */
function roll(desk, step, at, when, speed) {
  const source = desk.context.createBufferSource(), loud = desk.context.createGain();
  source.buffer = tapeOf(step, desk);
  source.playbackRate.value = speed;
  loud.gain.value = tapePeak;
  source.connect(loud).connect(desk.out);
  source.start(when, (at - step.sound.from) / 1e6);
  desk.sources.add(source);
  source.onended = () => { desk.sources.delete(source); loud.disconnect(); };
}

/** Both pulses: how fast each is, and what is heard. */
function pulsesView(step, box) {
  const { slow, fast, ratio, name } = step.pulses, table = make("div", "lines"), said = make("div", "down");
  const rows = [[fast, ratio], [slow, 1]].map(([voice, times]) => {
    const line = data.voices[voice], note = make("span", "note");
    table.append(sample(line), make("span", "", line.name), note);
    return { note, times };
  });
  box.append(said, table);
  return (at) => {
    const rate = pulseRate(step.pulses, at / 1e6) * pace();
    for (const r of rows) put(r.note, say("pulses-rate", { n: decimal(rate * r.times, rate < 20 ? 1 : 0) }));
    put(said, at > 0 && rate >= 0.99 * step.pulses.to * pace() ? name : "");
  };
}

/** The ground of the canvas, and its size in pixels of the style sheet. */
function freshCanvas() {
  const wide = canvas.clientWidth, high = canvas.clientHeight, dots = Math.min(2, devicePixelRatio || 1);
  if (canvas.width !== Math.round(wide * dots) || canvas.height !== Math.round(high * dots)) {
    canvas.width = Math.round(wide * dots);
    canvas.height = Math.round(high * dots);
  }
  pen.setTransform(dots, 0, 0, dots, 0, 0);
  pen.fillStyle = look.bench;
  pen.fillRect(0, 0, wide, high);
  return { wide, high };
}

/** A strip of paper for each of two columns, with holes that come down to a line; returns the columns. */
function strips(wide, high) {
  const gap = 16, room = (wide - 3 * gap) / 2;
  pen.fillStyle = look.paper;
  return [0, 1].map((i) => {
    const x = gap + i * (room + gap);
    pen.fillRect(x, 0, room, high);
    return x + room / 2;
  });
}

/** Two strips with a hole for each pulse, as they come over the bar. */
function drawPulses(at) {
  const { wide, high } = freshCanvas(), columns = strips(wide, high), p = current().pulses, bar = high * 0.76;
  const now = phase(p, at / 1e6), shownSec = 1.2, size = Math.min(0.2 * wide, 90);
  [[p.slow, 1], [p.fast, p.ratio]].forEach(([voice, times], i) => {
    const line = data.voices[voice], above = phase(p, at / 1e6 + shownSec) * times, below = phase(p, Math.max(0, at / 1e6 - shownSec / 3)) * times;
    const fine = above - now * times > 150; // no eye takes the holes apart any more
    pen.strokeStyle = line.hue;
    pen.lineWidth = size * 0.5;
    if (fine) {
      pen.globalAlpha = 0.6;
      pen.beginPath();
      pen.moveTo(columns[i], 0);
      pen.lineTo(columns[i], high);
      pen.stroke();
      pen.globalAlpha = 1;
      return;
    }
    pen.lineWidth = 5;
    pen.fillStyle = look.hole;
    for (let n = Math.ceil(below); n <= above; n++) {
      // Places between two pulses by the rate of now: near the bar the paper moves evenly.
      const y = bar - (n - now * times) / Math.max(1e-9, above - now * times) * bar;
      pen.beginPath();
      pen.ellipse(columns[i], y, size * 0.25, Math.min(9, size * 0.1), 0, 0, 7);
      pen.fill();
      pen.stroke();
    }
  });
  barAcross(wide, bar);
}

function barAcross(wide, y) {
  pen.fillStyle = "#b8924a";
  pen.globalAlpha = 0.82;
  pen.fillRect(0, y - 8, wide, 16);
  pen.globalAlpha = 1;
}

const lightSec = 0.22; // that a light stays on
const comingSec = 4; // that are seen ahead

/** Two strips, one for each half of the hall, with a light where it claps; the counting in above. */
function drawLights(at) {
  const { wide, high } = freshCanvas(), columns = strips(wide, high), c = current().claps, light = high * 0.76;
  const radius = Math.min(0.13 * wide, 0.12 * high);
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  [c.left, c.right].forEach((list, i) => {
    const last = lastAt(list, at), since = last < 0 ? Infinity : (at - list[last]) / 1e6;
    pen.fillStyle = look.hole;
    for (let k = Math.max(0, last + 1); k < list.length && list[k] < at + comingSec * 1e6; k++) {
      const y = light - (list[k] - at) / 1e6 / comingSec * light;
      pen.fillRect(columns[i] - radius, y - 7, 2 * radius, 14);
    }
    const on = state.started && since < lightSec;
    pen.beginPath();
    pen.arc(columns[i], light, radius, 0, 7);
    pen.fillStyle = on ? "#ffd98a" : look.bench;
    pen.fill();
    pen.lineWidth = 6;
    pen.strokeStyle = "#8c6a2f";
    pen.stroke();
    pen.fillStyle = on ? "#1f1b16" : look.dark ? "#f1eadc" : "#1f1b16";
    pen.font = `${Math.round(radius * 0.42)}px ${getComputedStyle(canvas).fontFamily}`;
    pen.fillText(say(i ? "right" : "left"), columns[i], light);
  });
  const beat = lastAt(c.count, at);
  if (state.started && at < c.left[0]) {
    pen.fillStyle = "#1f1b16";
    pen.font = `${Math.round(high * 0.22)}px ${getComputedStyle(canvas).fontFamily}`;
    for (const x of columns) pen.fillText(String(beat + 1), x, high * 0.3);
  }
}

/** What the canvas shows in a step. */
const pictureOf = (step) => (step.pulses ? drawPulses : step.claps ? drawLights : drawPaper);
