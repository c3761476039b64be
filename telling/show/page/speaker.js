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
  .pictures { display: grid; grid-template-columns: 3fr 2fr; gap: 20px; margin: 0 0 14px; } .pictures h2 { font-size: 16px; font-weight: normal; color: #b9af9f; margin: 0 0 4px; }
  .mirror { position: relative; overflow: hidden; background: #e4dccb; color: #1f1b16; border-radius: 4px; cursor: crosshair; touch-action: none; } .mirror > * { position: absolute; } .mirror .head { font-size: 11px; white-space: nowrap; overflow: hidden; } .mirror svg { background: #fff; display: block !important; }
  .then svg { width: 100%; max-height: 26vh; background: #fff; border-radius: 4px; display: block; } .then p { font-size: 16px; margin: 6px 0 0; color: #d8cfbf; } .audience { font-size: 16px; color: #d8cfbf; margin: 0 0 14px; } .hint { font-size: 14px; color: #b9af9f; }
  .over { color: #f0a27f; } .next { color: #b9af9f; } button { font: inherit; color: inherit; background: #292521; border: 1px solid #6a6157; border-radius: 5px; padding: 8px 18px; min-height: 44px; margin: 0 8px 8px 0; }
  button:focus-visible { outline: 3px solid #d3a95f; }`;

function openSpeaker() {
  if (speaker.window && !speaker.window.closed) {
    speaker.window.focus();
    return;
  }
  const w = window.open("", "rollwright-speaker", "popup,width=1100,height=860");
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
  const faces = [...document.styleSheets[0].cssRules].filter((rule) => rule instanceof CSSFontFaceRule).map((rule) => rule.cssText);
  d.head.append(Object.assign(d.createElement("style"), { textContent: faces.join("\n") + speakerStyle }));
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
  const pictures = d.createElement("div"), now = d.createElement("div"), then = d.createElement("div");
  const head = (text) => Object.assign(d.createElement("h2"), { textContent: text });
  pictures.className = "pictures";
  then.className = "then";
  now.append(head(say("at-once")), piece("mirror", "div", "mirror"), Object.assign(piece("hint", "p", "hint"), { textContent: say("point") }));
  then.append(head(say("then")), piece("then", "div"));
  pictures.append(now, then);
  for (const name of ["pointermove", "pointerdown"]) p.mirror.addEventListener(name, pointAt);
  p.mirror.addEventListener("pointerleave", () => { $("point").hidden = true; });
  d.body.replaceChildren(times, piece("title", "h1"), pictures, piece("audience", "div", "audience"), piece("say", "div", "say"), piece("press", "p"), piece("next", "p", "next"), row);
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
  mirror(w.document, p);
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

/** A point on the screen of the hall, where the speaker's hand is on its picture. */
function pointAt(e) {
  const box = speaker.parts.mirror.getBoundingClientRect(), point = $("point");
  point.hidden = false;
  point.style.left = 100 * (e.clientX - box.left) / box.width + "vw";
  point.style.top = 100 * (e.clientY - box.top) / box.height + "vh";
}

/** The figure of a step that is seen, or would be. */
const figureSeen = (section) => [...section.querySelectorAll("figure svg")].find((f) => f.getClientRects().length);

/** Paragraphs of a step as the hall reads them. */
const readIn = (d, section) => [...section.querySelectorAll(".text p")].map((text) => Object.assign(d.createElement("p"), { textContent: text.textContent }));

/** A small picture of what the hall sees, and of what comes next, with their texts. */
function mirror(d, p) {
  const wide = innerWidth, high = innerHeight, small = p.mirror, section = sections[state.step];
  small.style.aspectRatio = `${wide} / ${high}`;
  const seen = figureSeen(section), name = `${state.step} ${state.started} ${seen?.getAttribute("class")} ${document.body.classList.contains("large")}`;
  const place = (e, rect) => Object.assign(e.style, { left: 100 * rect.left / wide + "%", top: 100 * rect.top / high + "%", width: 100 * rect.width / wide + "%", height: 100 * rect.height / high + "%" });
  if (small.dataset.name !== name) {
    small.dataset.name = name;
    const parts = [];
    const title = Object.assign(d.createElement("div"), { className: "head", textContent: section.querySelector("h1").textContent });
    place(title, section.querySelector("h1").getBoundingClientRect());
    parts.push(title);
    p.paper = d.createElement("canvas");
    place(p.paper, canvas.getBoundingClientRect());
    parts.push(p.paper);
    if (seen) {
      const copy = d.importNode(seen, true);
      place(copy, seen.getBoundingClientRect());
      parts.push(copy);
    }
    small.replaceChildren(...parts);
    p.audience.replaceChildren(...readIn(d, section));
    const then = goesOn() ? sections[follower()] : null, picture = then?.querySelector("figure svg.whole");
    p.then.replaceChildren(...(picture ? [d.importNode(picture, true)] : []), ...(then ? readIn(d, then) : []));
  }
  p.paper.width = Math.max(1, p.paper.clientWidth);
  p.paper.height = Math.max(1, p.paper.clientHeight);
  if (canvas.width && canvas.height) p.paper.getContext("2d").drawImage(canvas, 0, 0, p.paper.width, p.paper.height);
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
