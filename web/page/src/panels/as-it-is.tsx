// In the place of a text, for a file that is no piece.
import { useRef, useState } from "preact/hooks";
import { ask, type Subject } from "../api";
import { use } from "../cell";
import { complaints, say, showLeft } from "../state";
import { listFiles, openFile, openOther, subject } from "../text/document";
import { instruments } from "../text/language";
import { t } from "../words";
import { said } from "./to-text";

/** Says what the file is, and how a piece is made of it. */
export function AsItIs({ name, kind, instrument }: { name: string; kind: "notes" | "holes"; instrument: string }) {
  const list = use(instruments);
  const wrong = use(complaints);
  const [busy, setBusy] = useState(false);
  const input = useRef<HTMLInputElement>(null);
  const write = async () => {
    setBusy(true);
    try {
      const made = await ask<{ name: string }>("draft", { ...(subject() satisfies Subject), to: input.current!.value.trim() });
      await listFiles();
      await openFile(made.name);
      showLeft("text");
    } catch (e) {
      say(e instanceof Error ? e.message : String(e));
    }
    setBusy(false);
  };
  return (
    <div class="as-it-is">
      <p class="big">{name}</p>
      <p>{t(`as.${kind}`)}</p>
      {wrong.map((c) => (
        <p class="note note-red" key={`${c.line} ${c.problem}`}>
          {said(c)} {c.hint}
        </p>
      ))}
      <p>
        <label>
          {t("as.instrument")}{" "}
          <select value={instrument} onChange={(e) => void openOther(name, kind, (e.target as HTMLSelectElement).value)}>
            <option value="">{t("as.usual")}</option>
            {list.map((i) => (
              <option key={i.name} value={i.name}>
                {i.title || i.name}
              </option>
            ))}
          </select>
        </label>
      </p>
      <h2>{t("as.piece")}</h2>
      <p class="second">{t("as.piece.text")}</p>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          void write();
        }}
      >
        <label>
          {t("folder.name")} <input type="text" ref={input} defaultValue={name.replace(/\.[^.]*$/, "")} key={name} />
        </label>
        <button type="submit" class="main" disabled={busy || wrong.length > 0}>
          {t("as.write")}
        </button>
      </form>
    </div>
  );
}
