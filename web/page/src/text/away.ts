// When the server does not answer: the text is kept, the person is told, and
// it is asked again until it is back.
import { Refusal, get, type Session } from "../api";
import { say, session, trouble } from "../state";
import { t } from "../words";

let retry = 0;
let back: () => void = () => {};

/** What to do when the server is back. */
export function onReturn(act: () => void): void {
  back = act;
}

/** Tells what went wrong with a question. */
export function lost(e: unknown): void {
  const away = !(e instanceof Refusal) || e.status === 401 || e.status === 403;
  if (!away) return say(e instanceof Error ? e.message : String(e));
  trouble.set(t(e instanceof Refusal ? "server.other" : "server.away"));
  clearTimeout(retry);
  retry = window.setTimeout(comeBack, 2000);
}

async function comeBack(): Promise<void> {
  try {
    session.set(await get<Session>("session"));
  } catch (e) {
    return lost(e);
  }
  trouble.set("");
  say(t("server.back"));
  back();
}
