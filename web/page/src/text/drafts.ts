// What is not saved yet outlives the page: it is kept by the browser until the
// file has it.
import { session } from "../state";

function key(name: string): string {
  return `draft ${session.value?.folder ?? ""} ${name}`;
}

/** Keeps a text that comes from a version of a file. */
export function keepDraft(name: string, base: string, text: string): void {
  try {
    localStorage.setItem(key(name), JSON.stringify({ base, text }));
  } catch {
    // no room: the file is written within a second anyway
  }
}

export function dropDraft(name: string): void {
  localStorage.removeItem(key(name));
}

/** The text that was kept, if it comes from this version; else null. */
export function draftOf(name: string, base: string): string | null {
  const draft = JSON.parse(localStorage.getItem(key(name)) ?? "null");
  return draft?.base === base ? draft.text : null;
}
