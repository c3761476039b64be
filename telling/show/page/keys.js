// Keys, a presenter's remote, buttons, touch.

const number = { digits: "" };

function blank() {
  $("cover").hidden = !$("cover").hidden;
}

function full() {
  if (document.fullscreenElement) document.exitFullscreen();
  else document.documentElement.requestFullscreen?.();
}

function menu(open = $("menu").hidden) {
  $("menu").hidden = !open;
  $("menu-open").setAttribute("aria-expanded", String(open));
  (open ? document.querySelector("#list button[aria-current]") ?? $("menu-close") : $("menu-open")).focus();
}

function dark() {
  const root = document.documentElement;
  root.dataset.theme = root.dataset.theme === "dark" ? "light" : "dark";
  dress();
  shown();
}

function mono() {
  state.mono = !state.mono;
  player.desk?.mono(state.mono);
  shown();
}

function larger() {
  if (sections[state.step].querySelector("figure")) document.body.classList.toggle("large");
}

const speeds = [0.25, 0.5, 0.75, 1];
const slower = (by) => setSlow(speeds[Math.max(0, Math.min(3, speeds.indexOf(state.slow) + by))]);

const keys = {
  PageDown: forward, ArrowRight: onward, " ": forward, PageUp: back, ArrowLeft: back,
  p: toggle, r: again, b: blank, ".": blank, e: full, F5: full, n: openSpeaker, m: mono, d: dark, g: larger, w: () => whatIf.turn(), k: () => menu(),
  "-": () => slower(-1), "+": () => slower(1), "=": () => slower(1), Home: () => go(1), End: () => go(data.steps.length),
};

/** Numbers are collected until Enter. */
function digit(key) {
  if (/^[0-9]$/.test(key)) number.digits = (number.digits + key).slice(-3);
  else if (key === "Enter" && number.digits) {
    go(Number(number.digits));
    number.digits = "";
  } else if (key === "Backspace") number.digits = number.digits.slice(0, -1);
  else {
    if (number.digits) number.digits = "";
    else return false;
    $("note").textContent = "";
    return key === "Escape";
  }
  $("note").textContent = number.digits ? say("jump", { n: number.digits }) : "";
  return true;
}

function escape() {
  if (!$("menu").hidden) menu(false);
  else if (document.body.classList.contains("large")) larger();
  else menu();
}

/** Whether a key is meant for a field: all of a text but those that turn pages, arrows of a slider. */
function typed(field, key) {
  if (field.type === "text") return !/^(Page|Escape)/.test(key);
  return field.type === "range" && /^(Arrow|Home$|End$)/.test(key);
}

function onKey(e) {
  if (e.ctrlKey || e.metaKey || e.altKey) return;
  const control = e.target.closest?.("button, select, input");
  if (control && (e.key === " " || e.key === "Enter" && !number.digits)) return; // it is pressed
  if (control && !/^(BUTTON|SELECT)$/.test(control.tagName) && typed(control, e.key)) return;
  if (control?.tagName === "SELECT" && !/^Page/.test(e.key)) return;
  if (!$("cover").hidden && e.key !== "b" && e.key !== "." && !/^(Page|Arrow(Left|Right)$)/.test(e.key)) return;
  if (digit(e.key)) {
    e.preventDefault();
    return;
  }
  if (e.key === "Escape") return escape();
  const act = keys[e.key.length === 1 ? e.key.toLowerCase() : e.key];
  if (!act) return;
  e.preventDefault();
  if (act !== blank) $("cover").hidden = true;
  act();
}

/** Swipes turn the page, a tap on the paper plays. */
function touch() {
  let start = null;
  $("stage").addEventListener("pointerdown", (e) => { start = e.target.closest("#asking") ? null : { x: e.clientX, y: e.clientY }; });
  $("stage").addEventListener("pointerup", (e) => {
    if (!start) return;
    const dx = e.clientX - start.x, dy = e.clientY - start.y;
    start = null;
    if (Math.abs(dx) > 60 && Math.abs(dx) > 2 * Math.abs(dy)) (dx < 0 ? onward : back)();
    else if (Math.hypot(dx, dy) < 12 && e.target === canvas) toggle();
    else if (Math.hypot(dx, dy) < 12 && e.target.closest("figure")) larger();
  });
  $("cover").addEventListener("click", blank);
}

/** Prints the handout or the speaker's sheet on A4 or Letter. */
function print(what, size) {
  const sheet = make("style", "", `@page { size: ${size}; margin: 16mm 18mm 18mm; @bottom-center { content: counter(page) " / " counter(pages); font: 9pt sans-serif; } }`);
  document.head.append(sheet);
  document.body.dataset.print = what;
  addEventListener("afterprint", () => {
    sheet.remove();
    delete document.body.dataset.print;
  }, { once: true });
  window.print();
}

function buttons() {
  const on = (id, act) => $(id).addEventListener("click", act);
  on("back", back);
  on("next", onward);
  on("play", toggle);
  on("speaker", openSpeaker);
  on("menu-open", () => menu());
  on("menu-close", () => menu(false));
  on("full", full);
  on("blank", () => { menu(false); blank(); });
  on("dark", dark);
  on("mono", mono);
  for (const side of ["left", "right", "both"]) on("tone-" + side, () => { player.pause(); tone.start(side); });
  on("tone-stop", () => tone.stop());
  $("slow").querySelector("select").addEventListener("change", (e) => setSlow(Number(e.target.value)));
  $("progress").addEventListener("click", (e) => {
    const step = current(), box = $("progress").getBoundingClientRect();
    if (step.sound) seek(step.sound.from + (e.clientX - box.left) / box.width * (step.sound.to - step.sound.from));
  });
  document.querySelectorAll("#list button").forEach((b) => b.addEventListener("click", () => { menu(false); go(Number(b.dataset.step)); }));
  document.querySelectorAll("[data-print]").forEach((b) => b.addEventListener("click", () => print(b.dataset.print, b.dataset.size)));
}
