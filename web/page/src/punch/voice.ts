// Spoken rows: off until they are asked for, and only by voices that live on
// this machine. A voice that sends the text elsewhere is never used.
import { Cell } from "../cell";
import { t } from "../words";
import type { View } from "./answers";

/** The language of the sentences that the server makes. */
const tongue = "en";

const synthesis: SpeechSynthesis | undefined = window.speechSynthesis;

/** The voices of this machine for the sentences. */
export const voices = new Cell<SpeechSynthesisVoice[]>([]);
export const speaking = new Cell(localStorage.getItem("punch-voice") === "on");
/** The voice that the person chose, by its URI; empty: the first. */
export const chosenVoice = new Cell(localStorage.getItem("punch-voice-name") ?? "");
speaking.watch((on) => localStorage.setItem("punch-voice", on ? "on" : "off"));
chosenVoice.watch((uri) => localStorage.setItem("punch-voice-name", uri));

function list(): void {
  voices.set((synthesis?.getVoices() ?? []).filter((v) => v.localService && v.lang.toLowerCase().startsWith(tongue)));
}
list();
synthesis?.addEventListener?.("voiceschanged", list);

export function stopSpeaking(): void {
  synthesis?.cancel();
}

/** The row in words, with what is to be done before and after it. */
export function sentence(v: View): string {
  const all = [...(v.lines ?? []).map((line) => t("punch.say.line", { line })), v.say];
  if (v.mind) all.unshift(`${v.mind}.`);
  if (v.done) all.unshift(t("punch.done"));
  if (v.waits) all.unshift(`${v.waits}.`);
  if (v.measure) all.push(t("punch.say.measure", { length: v.measure }));
  return all.join(" ");
}

/** Speaks a row, if that is wanted and this machine can. */
export function speakRow(v: View): void {
  stopSpeaking();
  if (speaking.value) say(sentence(v));
}

export function say(text: string): void {
  const voice = voices.value.find((v) => v.voiceURI === chosenVoice.value) ?? voices.value[0];
  if (!synthesis || !voice) return; // without a voice named, the browser might take one of the network
  const words = new SpeechSynthesisUtterance(text);
  words.voice = voice;
  words.lang = voice.lang;
  synthesis.speak(words);
}
