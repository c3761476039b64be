// The beginning.

if (matchMedia("(prefers-color-scheme: dark)").matches) document.documentElement.dataset.theme = "dark";
dress();
buttons();
asking();
touch();
addEventListener("keydown", onKey);
addEventListener("resize", shown);
addEventListener("hashchange", () => { if (Number(location.hash.slice(1)) !== state.step + 1) go(Number(location.hash.slice(1)) || 1); });
document.addEventListener("fullscreenchange", () => { document.body.classList.toggle("full", !!document.fullscreenElement); shown(); });
document.fonts.ready.then(shown);
go(Number(location.hash.slice(1)) || 1);
requestAnimationFrame(frame);

// For whoever checks the page, or steers it from the console.
window.rollwright = {
  data, state, frames, go, forward, back, toggle, again, seek, setSlow, rendered, toneRendered, times, openSpeaker, print, speaker, whatIf,
  /** The counters at a place of the shown step, in microseconds of the piece. */
  counts: (at = state.at) => counts(at),
  ready: () => bank.then(() => true),
};
