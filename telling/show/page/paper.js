// The moving paper: the holes of the roll in their places, going down over the
// bar. One canvas; a paper for each piano.

const canvas = $("paper");
const pen = canvas.getContext("2d");

/** The part of a paper across that is shown: its ports in use, or all of it. */
function view(p) {
  if (!p.view) {
    let low = Infinity, high = -Infinity;
    for (const port of p.slots.port) {
      low = Math.min(low, p.ports[port]);
      high = Math.max(high, p.ports[port]);
    }
    if (low > high) [low, high] = [p.width * 0.3, p.width * 0.7];
    const room = Math.max(high - low + 24, Math.min(p.width, 130)), middle = (low + high) / 2;
    const from = Math.max(-6, Math.min(p.width + 6 - room, middle - room / 2));
    p.view = room > 0.8 * p.width ? { from: -6, width: p.width + 12 } : { from, width: room };
    p.first = p.slots.open.map((o) => o[0]);
  }
  return p.view;
}

const look = {};

/** Takes the colours of the style sheet. */
function dress() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["bench", "paper", "brass-2", "faint"]) look[name] = style.getPropertyValue("--" + name).trim();
  look.dark = document.documentElement.dataset.theme === "dark";
  look.hole = look.dark ? "#171411" : "#241f1a";
}

/** Draws the papers of the step at a place in time. */
function drawPaper(at) {
  const wide = canvas.clientWidth, high = canvas.clientHeight, dots = Math.min(2, devicePixelRatio || 1);
  if (canvas.width !== Math.round(wide * dots) || canvas.height !== Math.round(high * dots)) {
    canvas.width = Math.round(wide * dots);
    canvas.height = Math.round(high * dots);
  }
  pen.setTransform(dots, 0, 0, dots, 0, 0);
  pen.fillStyle = look.bench;
  pen.fillRect(0, 0, wide, high);
  const step = current(), papers = data.rolls[step.roll].map((i) => data.papers[i]);
  const gap = 16, room = (wide - gap * (papers.length + 1)) / papers.length;
  papers.forEach((p, i) => {
    pen.save();
    pen.beginPath();
    pen.rect(gap + i * (room + gap), 0, room, high);
    pen.clip();
    pen.translate(gap + i * (room + gap), 0);
    drawRoll(p, step, at, room, high);
    pen.restore();
  });
}

function drawRoll(p, step, at, wide, high) {
  const { from, width } = view(p), scale = wide / width; // pixels a millimetre
  const barAt = p.up ? high * 0.24 : high * 0.76;
  const sec = still.matches && state.playing ? Math.floor(at / 2e6) * 2 : at / 1e6;
  const row = along(p, sec), now = along(p, at / 1e6);
  const x = (mm) => (p.bassRight ? from + width - mm : mm - from) * scale;
  const y = (mm) => barAt + (p.up ? 1 : -1) * (mm - row) * scale;
  const heard = step.sound ? new Set(step.sound.voices) : null;

  pen.fillStyle = look.paper;
  const edge = Math.min(x(0), x(p.width));
  pen.fillRect(edge, 0, p.width * scale, high);
  pen.strokeStyle = look.dark ? "#00000030" : "#00000012"; // the ports' lines, hardly seen
  pen.lineWidth = 1;
  pen.beginPath();
  for (let i = 0; i < p.ports.length; i += 12) {
    pen.moveTo(x(p.ports[i]), 0);
    pen.lineTo(x(p.ports[i]), high);
  }
  pen.stroke();

  // Slots that can be seen, by voice and by whether they sound.
  const lowest = row - (p.up ? barAt : high - barAt) / scale - p.die, highest = row + (p.up ? high - barAt : barAt) / scale + p.die;
  const groups = new Map(), open = [];
  for (let i = Math.max(0, lastAt(p.first, lowest * 100 - p.slots.longest)); i < p.first.length && p.first[i] <= highest * 100; i++) {
    const o = p.slots.open[i], voice = p.slots.voice[i];
    if (o[o.length - 1] < lowest * 100) continue;
    const on = !heard || voice < 0 || heard.has(voice);
    const sounds = on && state.started && o[0] / 100 - p.die / 2 <= now && now <= o[o.length - 1] / 100 + p.die / 2;
    const group = `${voice}|${on ? (sounds ? 2 : 1) : 0}`;
    if (!groups.has(group)) groups.set(group, []);
    groups.get(group).push(i);
    if (sounds) open.push(p.slots.port[i]);
  }
  const die = Math.max(2.5, p.die * scale);
  pen.lineCap = "round";
  for (const [group, slots] of groups) {
    const [voice, how] = group.split("|").map(Number), line = data.voices[voice];
    const path = new Path2D(), whole = new Path2D();
    for (const i of slots) {
      const o = p.slots.open[i], px = x(p.ports[p.slots.port[i]]);
      whole.moveTo(px, y(o[0] / 100));
      whole.lineTo(px, y(o[o.length - 1] / 100) + 0.01);
      for (let k = 0; k < o.length; k += 2) {
        path.moveTo(px, y(o[k] / 100));
        path.lineTo(px, y(o[k + 1] / 100) + 0.01);
      }
    }
    pen.globalAlpha = how ? 1 : 0.22;
    if (line && how) {
      pen.strokeStyle = line.hue;
      pen.lineWidth = die + (how === 2 ? 9 : 5);
      pen.stroke(whole);
      if (how === 1) {
        pen.strokeStyle = look.paper;
        pen.lineWidth = die + 1;
        pen.stroke(whole);
      }
    }
    pen.strokeStyle = how === 2 ? "#fff6df" : look.hole;
    pen.lineWidth = die;
    pen.stroke(path);
    pen.globalAlpha = 1;
  }
  drawBar(p, open, x, barAt + (p.up ? 1 : -1) * (row - now) * scale, scale, wide);
}

/** The brass bar; the ports that are open are lit. */
function drawBar(p, open, x, y, scale, wide) {
  const height = Math.max(9, p.bar * scale * 2.2);
  const metal = pen.createLinearGradient(0, y - height / 2, 0, y + height / 2);
  metal.addColorStop(0, "#e3c88d");
  metal.addColorStop(0.5, "#b8924a");
  metal.addColorStop(1, "#77571f");
  pen.globalAlpha = 0.82;
  pen.fillStyle = metal;
  pen.fillRect(0, y - height / 2, wide, height);
  pen.globalAlpha = 1;
  const lit = new Set(open), size = Math.max(2, p.bar * scale);
  for (let i = 0; i < p.ports.length; i++) {
    pen.fillStyle = lit.has(i) ? "#fffbe9" : "#2b2118";
    const grow = lit.has(i) ? 1.6 : 1;
    pen.fillRect(x(p.ports[i]) - size * grow / 2, y - size * grow / 2, size * grow, size * grow);
  }
}
