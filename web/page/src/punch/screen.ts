// The screen at the bench: full, and awake while somebody works.
import { mode, view } from "./companion";

export const canBeFull = document.fullscreenEnabled;

/** Fills the screen, or gives it back. */
export function fullScreen(): void {
  if (document.fullscreenElement) void document.exitFullscreen();
  else if (canBeFull) void document.documentElement.requestFullscreen().catch(() => {});
}

let lock: WakeLockSentinel | null = null;

/** Keeps the screen from going dark while rows are shown, where the browser can. */
async function wake(): Promise<void> {
  const wanted = mode.value === "work" && !!view.value && !view.value.paused && document.visibilityState === "visible";
  if (wanted && (!lock || lock.released)) lock = (await navigator.wakeLock?.request("screen").catch(() => null)) ?? null;
  if (!wanted && lock && !lock.released) await lock.release().catch(() => {});
}

mode.watch(() => void wake());
view.watch(() => void wake());
document.addEventListener("visibilitychange", () => void wake());
