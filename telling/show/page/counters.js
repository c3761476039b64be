// Counters: where each voice is in its series, and what that looks like.

/** The items of a voice in the step. */
const itemsOf = (step, voice) => step.items || data.voices[voice].items;

/** Where a voice is: null fields before its start and after its end. */
function countAt(step, voice, at) {
  const line = data.voices[voice], items = itemsOf(step, voice), i = lastAt(items.at, at);
  const count = { voice, name: line.name, notes: line.notes, item: i, ended: at >= items.end, begun: i >= 0 };
  count.note = 0;
  for (let k = i; k >= 0; k--) {
    if (items.note[k]) {
      count.note = items.note[k];
      break;
    }
  }
  if (i < 0) return { ...count, talea: 0, taleaN: 0, color: 0, colorN: 0, silent: true };
  return {
    ...count, talea: items.talea[i] + 1, taleaOf: line.talea.length, taleaN: items.taleaN[i],
    color: items.color[i] + 1, colorOf: line.color.length, colorN: items.colorN[i], silent: !items.note[i],
  };
}

/** Where all voices of the step are. */
const counts = (at) => current().lines.map((voice) => countAt(current(), voice, at));

/** What a step shows of its counters; made when the step is first shown. */
function counterView(step, box) {
  if (!step.sound || step.claps) return null;
  if (step.pulses) return pulsesView(step, box);
  if (step.chips && step.lines.length === 1) return chipsView(step, box);
  return linesView(step, box);
}

/** Sets text only where it changes. */
function put(e, text) {
  if (e.textContent !== text) e.textContent = text;
}

/** One voice: the members of both series, the one that sounds marked. */
function chipsView(step, box) {
  const line = data.voices[step.lines[0]];
  const rows = [];
  const alone = step.items ? "color" : step.counted ? "talea" : "";
  for (const [of, members, name] of [["talea", line.talea, "duration"], ["color", line.color, "pitch"]]) {
    if (alone && alone !== of) continue;
    const big = make("span", "big"), text = make("span", "of"), tape = make("div"), strip = make("div", "strip", tape);
    const chips = members.map((m) => make("span", m.startsWith("(") ? "silent" : "", m));
    tape.append(...chips);
    rows.push({ of, name, big, text, tape, strip, chips, on: -1 });
    box.append(make("div", "count", big, text, strip));
  }
  const units = make("div", "units"), said = make("div", "said");
  if (step.counted) box.append(units);
  box.append(said);
  box.classList.toggle("counted", step.counted);
  box.classList.toggle("both", !alone);
  const fit = () => rows.forEach((r) => {
    r.tape.classList.remove("tight");
    if (r.tape.scrollWidth > r.strip.clientWidth + 1) r.tape.classList.add("tight");
    r.wide = r.strip.clientWidth;
  });
  return (at) => {
    if (rows[0].strip.clientWidth !== rows[0].wide) fit();
    const c = countAt(step, step.lines[0], at);
    for (const r of rows) {
      const n = c[r.of];
      put(r.big, n ? String(n) : "–");
      put(r.text, n ? `${say("of", { n: say(r.name) + " " + n, of: c[r.of + "Of"] })}, ${say("round", { n: c[r.of + "N"] })}` : say("not-yet"));
      mark(r, n - 1);
    }
    if (step.counted) countUnits(units, line, c, at, step);
    const end = step.endsAt >= 0 && at >= step.endsAt - 1000;
    put(said, end ? say("both-end") : "");
  };
}

/** Marks a member and brings it into sight. */
function mark(row, i) {
  if (row.on === i) return;
  row.chips[row.on]?.classList.remove("on");
  const chip = row.chips[i];
  chip?.classList.add("on");
  row.on = i;
  if (!chip) return;
  const room = row.strip.clientWidth, all = row.tape.scrollWidth;
  const left = all <= room ? 0 : Math.max(0, Math.min(all - room, chip.offsetLeft + chip.offsetWidth / 2 - room / 2));
  row.tape.style.transform = `translateX(${-left}px)`;
}

/** The units of the duration that sounds, those that have begun filled. */
function countUnits(box, line, c, at, step) {
  if (c.item < 0) return;
  const items = itemsOf(step, c.voice), units = Math.ceil(line.units[c.talea - 1] - 1e-9);
  if (units > 24) return;
  const start = items.at[c.item], end = items.at[c.item + 1] ?? items.end;
  const gone = Math.min(units, Math.floor((at - start) / (end - start) * line.units[c.talea - 1] + 1e-6) + 1);
  while (box.children.length > units) box.lastChild.remove();
  while (box.children.length < units) box.append(make("i"));
  [...box.children].forEach((dot, i) => dot.classList.toggle("on", i < gone));
}

/** A line's rim, as a sample. */
function sample(line) {
  const ns = "http://www.w3.org/2000/svg", svg = document.createElementNS(ns, "svg"), path = document.createElementNS(ns, "path");
  svg.setAttribute("viewBox", "0 0 46 14");
  svg.setAttribute("aria-hidden", "true");
  path.setAttribute("d", "M5 7h36");
  path.setAttribute("stroke", line.hue);
  path.setAttribute("stroke-width", "6");
  path.setAttribute("stroke-linecap", "round");
  if (line.dash) path.setAttribute("stroke-dasharray", line.dash.map((d) => d * 6).join(" "));
  svg.append(path);
  return svg;
}

/** Several voices: how far each is; of a meeting, how long until then. */
function linesView(step, box) {
  const down = make("div", "down"), table = make("div", "lines" + (step.lines.length > 6 ? " many" : ""));
  if (step.meet) box.append(down);
  const few = step.lines.length <= 12;
  const rows = few ? step.lines.map((voice) => {
    const line = data.voices[voice], note = make("span", "note"), name = make("span", "", line.name);
    table.append(sample(line), name, note);
    return { voice, name, note };
  }) : [];
  box.append(table);
  return (at) => {
    for (const r of rows) {
      const c = countAt(step, r.voice, at);
      put(r.note, c.ended ? say("ended") : c.note ? say("note", { n: c.note, of: c.notes }) : say("not-yet"));
      r.name.classList.toggle("off", c.ended || !c.note);
    }
    if (step.meet) countDown(down, step, at);
  };
}

function countDown(down, step, at) {
  const left = (step.meet.at - at) / 1e6 / pace(), now = left <= 0.001 && left > -1;
  const what = step.meet.place ? "place" : "strike";
  put(down, now ? say("now") : left > 0 ? say(what + "-in", { sec: decimal(left, 1) }) : say(what + "-ago", { sec: decimal(-left, 1) }));
  down.classList.toggle("now", now);
}
