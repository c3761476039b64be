// The stage: which step is shown, and everything that moves in it.

const sections = [...document.querySelectorAll(".step")];
const views = new Map(); // step -> how its counters are set
const heads = new Map(); // step -> the playhead in its figure
const turning = new Map(); // wheel -> angle that it has, in degrees

/** Shows a step, from its start, silent. */
function go(number) {
  const index = Math.max(0, Math.min(data.steps.length - 1, number - 1));
  player.pause();
  tone.stop();
  state.step = index;
  state.started = false;
  state.at = current().sound ? current().sound.from : 0;
  sections.forEach((s, i) => { s.hidden = i !== index; });
  if (index >= lectureSteps) whatIf.show();
  else whatIf.from = index;
  if (!views.has(index)) {
    views.set(index, index >= lectureSteps ? drawMeetings : counterView(current(), sections[index].querySelector(".counters")));
    heads.set(index, playhead(current(), sections[index]));
  }
  document.body.classList.remove("large");
  try {
    history.replaceState(null, "", "#" + (index + 1));
  } catch { /* some browsers keep the address of a file as it is */ }
  talked();
  shown();
  if (current().sound?.auto) player.play();
}

/** What a remote's forward key does: play what has not been played, then go on. */
function forward() {
  if (current().sound && !state.started) player.play();
  else onward();
}

/** Goes on without playing. */
function onward() {
  if (goesOn()) go(follower() + 1);
}

/** How many steps the talk goes through; those after them are jumped to. */
const talkSteps = data.steps.filter((s) => !s.besides).length;

/** How many steps there are without the page that asks what if. */
const lectureSteps = data.whatif ? data.whatif.step : data.steps.length;

/** The place of the step that follows this one by itself: after the talk what if. */
const follower = () => (state.step === talkSteps - 1 && data.whatif ? data.whatif.step : state.step + 1);

/** Whether another step follows this one by itself. */
const goesOn = () => (state.step === talkSteps - 1 ? !!data.whatif : state.step < lectureSteps - 1);

/** Where this step is among its like. */
function where() {
  if (state.step < talkSteps) return say("step-of", { n: state.step + 1, of: talkSteps });
  if (state.step >= lectureSteps) return say("whatif");
  return say("besides-of", { n: state.step + 1 - talkSteps, of: lectureSteps - talkSteps });
}

const back = () => go(state.step >= lectureSteps ? whatIf.from + 1 : state.step);

function toggle() {
  if (state.playing) player.pause();
  else player.play();
}

/** From the start of the step. */
function again() {
  player.pause();
  if (!current().sound) return;
  state.at = current().sound.from;
  player.play();
}

/** Goes to a place of the step, in microseconds of the piece. */
function seek(at) {
  const { from, to } = current().sound, on = state.playing;
  player.pause();
  state.at = Math.max(from, Math.min(to, at));
  state.started = true;
  if (on && state.at < to) player.play();
  shown();
}

function setSlow(x) {
  state.slow = x;
  $("slow").querySelector("select").value = String(x);
  player.again();
  shown();
}

/** A line along the figure's axis of time, and its wheels; in both copies of it. */
function playhead(step, section) {
  const copies = [...section.querySelectorAll("figure.moving > svg")];
  if (!copies.length || !step.sound) return null;
  const wheels = copies.flatMap((svg) => (step.wheels || []).map((w) => ({ ...w, element: svg.querySelector(`[id$="-${w.layer}"]`) })));
  const lines = step.time ? copies.map((svg) => {
    const line = document.createElementNS("http://www.w3.org/2000/svg", "line"), box = svg.viewBox.baseVal;
    line.setAttribute("class", "playhead");
    line.setAttribute("y1", box.y);
    line.setAttribute("y2", box.y + box.height);
    svg.append(line);
    return line;
  }) : [];
  return (at) => {
    for (const line of lines) {
      const { from, to, fromMM, toMM } = step.time, share = (at / 1e6 - from) / (to - from);
      line.setAttribute("visibility", share < -0.001 || share > 1.001 ? "hidden" : "visible");
      const x = fromMM + share * (toMM - fromMM);
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
    }
    if (wheels.length && !still.matches) {
      const note = Math.max(0, countAt(step, step.lines[0], at).note - 1);
      wheels.forEach((w) => turn(w, w.sense * note * 360 / w.teeth));
    }
  };
}

/** Turns a wheel quickly, not at once, to an angle. */
function turn(w, angle) {
  const had = turning.get(w) ?? 0, next = Math.abs(angle - had) < 0.05 || !state.playing ? angle : had + (angle - had) * 0.3;
  turning.set(w, next);
  w.element?.setAttribute("transform", `rotate(${next} ${w.x} ${w.y})`);
}

let stale = true; // something has to be drawn though nothing plays

/** Sets what changes with the step and with playing, not with every frame. */
function shown() {
  const step = current(), body = document.body.classList;
  body.toggle("playing", state.playing);
  body.toggle("started", state.started);
  $("play").disabled = !step.sound;
  $("play").querySelector("span").textContent = say(state.playing ? "pause" : "play");
  $("back").disabled = state.step === 0;
  $("next").disabled = !goesOn();
  $("where").textContent = where();
  $("mono").checked = state.mono;
  document.querySelectorAll("#list button").forEach((b, i) => {
    if (i === state.step) b.setAttribute("aria-current", "step");
    else b.removeAttribute("aria-current");
  });
  canvas.setAttribute("aria-label", step.pulses ? say("pulses-about") : step.claps ? say("claps-about") : `${say("paper")}. ${say("paper-about")}`);
  stale = true;
}

/** One frame. */
function frame() {
  const began = performance.now();
  const step = current();
  if (state.playing) {
    state.at = player.position();
    if (state.at >= step.sound.to + 4e5 * pace()) finish();
  }
  if (state.playing || stale) {
    stale = false;
    const at = step.sound ? Math.min(state.at, step.sound.to) : 0;
    pictureOf(step)(at);
    views.get(state.step)?.(at);
    heads.get(state.step)?.(at);
    if (step.sound) {
      const share = (at - step.sound.from) / (step.sound.to - step.sound.from);
      $("progress").firstChild.style.width = 100 * share + "%";
      put($("time"), `${minutes(share * step.sec / state.slow)} / ${minutes(step.sec / state.slow + 0.5)}`);
    } else {
      $("progress").firstChild.style.width = "0";
      put($("time"), "");
    }
  }
  frames.count++;
  frames.ms += performance.now() - began;
  requestAnimationFrame(frame);
}
const frames = { count: 0, ms: 0 };

/** The end of a step: the last notes ring on. */
function finish() {
  state.at = current().sound.to;
  state.playing = false;
  clearInterval(player.timer);
  shown();
}
