// The second window: what to say, what comes next, how much time is left.

const clock = { from: 0 };

/** The talk has begun. */
function talked() {
  if (!clock.from && state.step > 0) clock.from = Date.now();
}

const speaker = { window: null, parts: {} };

const speakerStyle = `
  body { margin: 0; padding: 20px 26px; background: #1d1a17; color: #f1eadc; font: 20px/1.4 system-ui, sans-serif; font-variant-numeric: tabular-nums; }
  h1 { font-size: 30px; margin: 0 0 8px; font-weight: normal; } p { margin: 0 0 10px; max-width: 40em; } .say { font-size: 24px; min-height: 7em; }
  .times { display: grid; grid-template-columns: repeat(3, auto); gap: 2px 30px; justify-content: start; margin: 0 0 18px; } .times dt { color: #b9af9f; font-size: 16px; grid-row: 1; } .times dd { margin: 0; font-size: 40px; grid-row: 2; }
  .over { color: #f0a27f; } .next { color: #b9af9f; } button { font: inherit; color: inherit; background: #292521; border: 1px solid #6a6157; border-radius: 5px; padding: 8px 18px; min-height: 44px; margin: 0 8px 8px 0; }
  button:focus-visible { outline: 3px solid #d3a95f; }`;

function openSpeaker() {
  if (speaker.window && !speaker.window.closed) {
    speaker.window.focus();
    return;
  }
  const w = window.open("", "rollwright-speaker", "popup,width=900,height=680");
  if (!w) {
    $("note").textContent = say("no-window");
    return;
  }
  speaker.window = w;
  fillSpeaker(w);
  setSpeaker();
}

function fillSpeaker(w) {
  const d = w.document, p = (speaker.parts = {});
  d.documentElement.lang = document.documentElement.lang;
  d.title = say("speaker");
  d.head.append(Object.assign(d.createElement("style"), { textContent: speakerStyle }));
  const piece = (name, tag, kind = "") => (p[name] = Object.assign(d.createElement(tag), { className: kind }));
  const times = d.createElement("dl");
  times.className = "times";
  for (const name of ["elapsed", "remaining", "in-step"]) {
    const head = Object.assign(d.createElement("dt"), { textContent: say(name) });
    p[name + "-head"] = head;
    times.append(head, piece(name, "dd"));
  }
  const row = d.createElement("p");
  const button = (text, act) => {
    const b = Object.assign(d.createElement("button"), { textContent: text });
    b.addEventListener("click", act);
    row.append(b);
    return b;
  };
  button(say("back"), back);
  p.play = button(say("play"), toggle);
  button(say("next"), forward);
  button(say("again"), again);
  button(say("blank"), blank);
  button(say("start-clock"), () => { clock.from = Date.now(); });
  d.body.replaceChildren(times, piece("title", "h1"), piece("say", "div", "say"), piece("press", "p"), piece("next", "p", "next"), row);
  w.addEventListener("keydown", onKey);
}

/** Sets the second window; called a few times a second. */
function setSpeaker() {
  const w = speaker.window;
  if (!w || w.closed) return;
  const p = speaker.parts, step = current(), then = goesOn() ? data.steps[follower()] : null;
  put(p.title, `${where()} · ${step.title}`);
  const text = (step.say || []).join("\n");
  if (p.say.dataset.text !== text) {
    p.say.dataset.text = text;
    p.say.replaceChildren(...(step.say || []).map((s) => Object.assign(w.document.createElement("p"), { textContent: s })));
  }
  put(p.press, say(step.sound && !state.started ? "next-plays" : "next-goes"));
  put(p.next, say("then") + ": " + (then ? then.title : say("end")));
  put(p.play, say(state.playing ? "pause" : "play"));
  const t = times();
  put(p.elapsed, minutes(t.elapsed));
  put(p.remaining, minutes(Math.abs(t.remaining)));
  put(p["remaining-head"], say(t.remaining < 0 ? "over" : "remaining"));
  p.remaining.classList.toggle("over", t.remaining < 0);
  put(p["in-step"], step.sound ? `${minutes(t.inStep)} / ${minutes(t.stepSec + 0.5)}` : say("silent"));
}

/** The times of the talk, in seconds: of the planned length, or else of the sound that is left. */
function times() {
  const step = current(), elapsed = clock.from ? (Date.now() - clock.from) / 1000 : 0;
  const stepSec = step.sound ? step.sec / state.slow : 0;
  const inStep = step.sound ? Math.max(0, state.at - step.sound.from) / 1e6 / pace() : 0;
  let left = Math.max(0, stepSec - inStep);
  for (const s of data.steps.slice(state.step + 1, Math.max(talkSteps, state.step + 1))) left += s.sec / state.slow;
  return { elapsed, remaining: data.minutes ? data.minutes * 60 - elapsed : left, inStep: Math.min(inStep, stepSec), stepSec };
}

setInterval(setSpeaker, 200);
addEventListener("pagehide", () => speaker.window?.close());
