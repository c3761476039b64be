// What if: the piece in another ratio, reckoned by the program itself, which is
// compiled for the browser and lies in the page. The prediction comes first, then
// the sound.

const soundsAfter = 1500; // milliseconds in which the prediction is read

const whatIf = {
  from: 0, // the step from which the page was called
  engine: null, pair: null, answer: null, wanted: null, busy: false, timer: 0,

  /** To the page and back. */
  turn() {
    if (!data.whatif) return;
    if (state.step >= lectureSteps) back();
    else go(lectureSteps + 1);
  },

  /** Called when the page is shown. */
  show() {
    if (this.pair) return;
    this.choose(0);
  },

  choose(n) {
    this.pair = data.whatif.pairs[n];
    const rows = data.whatif.ratios.map(({ ratio, label }) => [ratio, label]);
    if (!rows.some(([ratio]) => ratio === this.pair.written)) rows.unshift([this.pair.written, this.pair.written]);
    $("ratios").replaceChildren(...rows.map(([ratio, label]) => {
      const b = make("button", "", label);
      b.dataset.ratio = ratio;
      if (ratio === this.pair.written) b.append(make("small", "", " " + say("whatif-written")));
      b.addEventListener("click", () => this.ask(ratio));
      return b;
    }));
    this.ask(this.pair.written, false);
  },

  /** The program, begun when it is first asked. */
  begin() {
    this.engine ??= (async () => {
      const packed = Uint8Array.from(atob($("engine").textContent.trim()), (c) => c.charCodeAt(0));
      const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
      const go = new Go(), bytes = await new Response(stream).arrayBuffer();
      const { instance } = await WebAssembly.instantiate(bytes, go.importObject);
      go.run(instance);
      const said = JSON.parse(rollwrightEngine.open(JSON.stringify(data.whatif.source)));
      if (said.error) throw new Error(said.error);
      return rollwrightEngine;
    })();
    return this.engine;
  },

  /** Asks for a ratio; of several that come while one is worked on, the last. */
  async ask(ratio, sounds = true) {
    clearTimeout(this.timer);
    player.pause();
    this.wanted = { ratio, sounds };
    if (this.busy) return;
    this.busy = true;
    try {
      const engine = await this.begin();
      while (this.wanted) {
        const { ratio, sounds } = this.wanted;
        this.wanted = null;
        const { voice, against } = this.pair;
        this.take(JSON.parse(engine.ask(JSON.stringify({ voice, against, ratio }))), ratio, sounds);
        await new Promise((done) => setTimeout(done, 0)); // what has been asked meanwhile comes in
      }
    } catch {
      put($("predicted"), say("whatif-none-here"));
    } finally {
      this.busy = false;
    }
  },

  /** Puts an answer in the place of what was there. */
  take(answer, ratio, sounds) {
    document.querySelectorAll("#ratios button").forEach((b) => b.setAttribute("aria-pressed", String(b.dataset.ratio === ratio)));
    if (document.activeElement !== $("asked-text")) $("asked-text").value = ratio;
    if (answer.error) {
      $("predicted").replaceChildren(make("p", "", say("whatif-error")), make("p", "wrong", answer.error));
      return;
    }
    this.answer = answer;
    if (document.activeElement !== $("asked-slide")) $("asked-slide").value = Math.round(100 * answer.decimal);
    $("predicted").replaceChildren(...predicted(answer, this.pair).map((text) => make("p", "", text)));
    const step = data.steps[lectureSteps];
    data.events[this.set ??= data.events.length] = inTones(answer.events);
    step.sound.events = this.set;
    step.sound.to = Math.round(answer.length_s * 1e6);
    step.sec = answer.length_s;
    step.notes = null;
    step.say = [say("whatif-file", { set: answer.set })];
    const first = (this.papers ??= data.papers.length);
    answer.papers = answer.papers.filter((p) => p.slots.port.length || answer.papers.length === 1);
    answer.papers.forEach((p, i) => { data.papers[first + i] = { ...p, slots: { ...p.slots, port: p.slots.port ?? [], voice: p.slots.voice ?? [], open: p.slots.open ?? [] } }; });
    step.roll = this.rolls ??= data.rolls.length;
    data.rolls[step.roll] = answer.papers.map((_, i) => first + i);
    state.at = Math.min(state.at, step.sound.to);
    if (state.at >= step.sound.to) state.at = 0;
    shown();
    if (sounds) this.timer = setTimeout(() => { if (state.step === lectureSteps) player.play(); }, soundsAfter);
  },
};

/** The notes of the bank for events by key and level. */
function inTones(events) {
  const known = (whatIf.tones ??= data.whatif.tones.reduce((all, [piano, key, level, tone]) => {
    (all[piano] ??= new Map()).set(key, [...(all[piano].get(key) ?? []), [level, tone]]);
    return all;
  }, []));
  const out = { at: [], len: [], tone: [], gain: [], voice: [], piano: data.pianos.length > 1 ? [] : null, rate: [] };
  const nearest = (list, x, of) => list.reduce((a, b) => (Math.abs(of(b) - x) < Math.abs(of(a) - x) ? b : a));
  for (let i = 0; i < (events.at?.length ?? 0); i++) {
    const keys = known[events.piano[i]];
    if (!keys) continue;
    // A key that the piece as written never strikes sounds as its nearest, played so much faster or slower.
    const key = keys.has(events.key[i]) ? events.key[i] : nearest([...keys.keys()], events.key[i], (k) => k);
    const [level, tone] = nearest(keys.get(key), events.level[i], ([l]) => l);
    out.at.push(events.at[i]);
    out.len.push(events.len[i]);
    out.tone.push(tone);
    out.gain.push(Math.round(1000 * data.whatif.speeds[events.level[i]] / data.whatif.speeds[level]));
    out.voice.push(events.voice[i]);
    out.piano?.push(events.piano[i]);
    out.rate.push(2 ** ((events.key[i] - key) / 12));
  }
  return out;
}

/** A time for the hall: 1:23.4, or 12.3 s. */
function moment(sec) {
  const tenths = Math.round(sec * 10), rest = decimal((tenths % 600) / 10, 1);
  return tenths < 600 ? rest + " s" : `${Math.floor(tenths / 600)}:${rest.padStart(4, "0")}`;
}

/** What will happen, in sentences. */
function predicted({ whole, decimal: ratio, pairs, length_s: length }, { voice, against }) {
  const a = data.voices[voice].name, b = data.voices[against].name, pair = pairs[0], said = [];
  const about = decimal(ratio, 4);
  if (whole.length) said.push(say("whatif-whole", { a, b, p: whole[0], q: whole[1] }));
  else if (pair?.commensurable === "no") said.push(say("whatif-no-whole", { ratio: about }));
  else said.push(say(pair?.commensurable === "not known" ? "whatif-unknown" : "whatif-about", { ratio: about }));
  if (pair) {
    const { count, first, last } = pair.meetings, next = pair.next;
    if (count > 1) said.push(say("whatif-often", { n: count, first: moment(first.at_s.decimal), last: moment(last.at_s.decimal) }));
    else if (count === 1) said.push(say("whatif-once", { at: moment(first.at_s.decimal) }));
    else said.push(say("whatif-none"));
    if (count < 2 && next.answer === "never") said.push(say("whatif-never"));
    if (count < 2 && next.answer === "at") said.push(say("whatif-next", { at: moment(next.at.at_s.decimal) }));
    const near = pair.near_misses?.[0];
    if (near && near.distance_s.decimal < 0.1) said.push(say("whatif-near", { ms: decimal(near.distance_s.decimal * 1000, near.distance_s.decimal < 0.01 ? 1 : 0), at: moment(near.at_s) }));
  }
  said.push(say("whatif-length", { length: moment(length) }));
  return said;
}

const windowSec = 12; // that the chart shows at once

/** The strokes of all voices about a place of the piece, in microseconds, and where the two meet. */
function drawMeetings(at) {
  const chart = $("meetings"), answer = whatIf.answer, dots = Math.min(2, devicePixelRatio || 1);
  const wide = chart.clientWidth, high = chart.clientHeight;
  if (!answer || !wide) return;
  if (chart.width !== Math.round(wide * dots) || chart.height !== Math.round(high * dots)) {
    chart.width = Math.round(wide * dots);
    chart.height = Math.round(high * dots);
  }
  const c = chart.getContext("2d"), unit = parseFloat(getComputedStyle(chart).fontSize);
  c.setTransform(dots, 0, 0, dots, 0, 0);
  c.clearRect(0, 0, wide, high);
  const ink = getComputedStyle(chart).color, { voice, against } = whatIf.pair;
  const lanes = answer.onsets.map((_, i) => i).filter((i) => answer.onsets[i].length);
  const foot = 2.2 * unit, shown = lanes.length * 1.7 * unit > high - foot ? [against, voice] : lanes;
  const length = answer.length_s, page = Math.min(length, windowSec), from = Math.min(Math.max(0, at / 1e6 - page / 3), Math.max(0, length - page));
  const lane = (high - foot) / shown.length;
  c.font = `${0.8 * unit}px ${getComputedStyle(chart).fontFamily}`;
  const edge = 0.4 * unit, left = 2 * edge + Math.min(0.3 * wide, Math.max(...shown.map((i) => c.measureText(data.voices[i].name).width)));
  const x = (sec) => left + edge + (sec - from) / page * (wide - left - 2 * edge), y = (i) => (shown.indexOf(i) + 0.5) * lane;
  const meets = (answer.pairs[0]?.meetings.list ?? []).map((m) => m.at_s.decimal), all = (sec) => edge + sec / length * (wide - 2 * edge);
  c.textBaseline = "middle";
  c.strokeStyle = "#8c6a2f";
  c.lineWidth = 2;
  for (const sec of meets) { // a line from the one voice to the other
    if (sec < from || sec > from + page) continue;
    c.beginPath();
    c.moveTo(x(sec), y(voice));
    c.lineTo(x(sec), y(against));
    c.stroke();
  }
  for (const i of shown) {
    const list = answer.onsets[i], size = 0.32 * lane;
    c.fillStyle = ink;
    c.fillText(data.voices[i].name, edge, y(i), 0.3 * wide);
    c.strokeStyle = data.voices[i].hue;
    c.lineWidth = 4;
    c.beginPath();
    for (let k = Math.max(0, lastAt(list, (from - 0.1) * 1e6)); k < list.length && list[k] <= (from + page) * 1e6; k++) {
      if (list[k] < from * 1e6) continue;
      c.moveTo(x(list[k] / 1e6), y(i) - size);
      c.lineTo(x(list[k] / 1e6), y(i) + size);
    }
    c.stroke();
  }
  c.fillStyle = "#8c6a2f";
  for (const sec of meets) {
    for (const i of [voice, against]) {
      c.beginPath();
      if (sec >= from && sec <= from + page) c.arc(x(sec), y(i), 0.28 * unit, 0, 7);
      c.fill();
    }
  }
  // The whole piece below: every meeting, and where the piece is.
  const base = high - 0.9 * unit;
  c.fillStyle = "#00000018";
  c.fillRect(all(from), base - 0.7 * unit, all(from + page) - all(from), 1.4 * unit);
  c.strokeStyle = ink;
  c.lineWidth = 1;
  c.beginPath();
  c.moveTo(all(0), base);
  c.lineTo(all(length), base);
  c.stroke();
  c.strokeStyle = "#8c6a2f";
  c.lineWidth = 2;
  c.beginPath();
  for (const sec of meets) {
    c.moveTo(all(sec), base - 0.5 * unit);
    c.lineTo(all(sec), base + 0.5 * unit);
  }
  c.stroke();
  c.strokeStyle = "#b8924a";
  c.lineWidth = 3;
  for (const [place, top, end] of [[x(at / 1e6), 0, high - foot], [all(at / 1e6), base - 0.8 * unit, base + 0.8 * unit]]) {
    c.beginPath();
    c.moveTo(place, top);
    c.lineTo(place, end);
    c.stroke();
  }
}

/** Whom the fields and buttons of the page call. */
function asking() {
  if (!data.whatif) return;
  const select = $("asked-pair");
  data.whatif.pairs.forEach(({ voice, against }, i) => {
    select.append(Object.assign(make("option", "", `${data.voices[voice].name} : ${data.voices[against].name}`), { value: i }));
  });
  select.addEventListener("change", () => whatIf.choose(Number(select.value)));
  $("asked-slide").addEventListener("input", (e) => {
    const x = Number(e.target.value) / 100;
    $("asked-text").value = String(x);
    whatIf.ask(String(x));
  });
  $("asked-text").addEventListener("keydown", (e) => {
    if (e.key === "Enter") whatIf.ask(e.target.value.replace(",", "."));
  });
}
