// A wrong hole, by its number or key, and its place where it is elsewhere.
import { useEffect, useRef, useState } from "preact/hooks";
import { use } from "../cell";
import { t } from "../words";
import type { View } from "./answers";
import { order, settleMS, side, wrong as wrongCell, type Asked } from "./companion";

/** What the companion takes the words for. */
const before: Record<Asked, string> = { slip: "", missed: "missed ", to: "row " };

const kinds: Asked[] = ["slip", "missed", "to"];

export function Slip({ v, kind, done }: { v: View; kind: Asked; done: () => void }) {
  const ref = useRef<HTMLInputElement>(null);
  const [text, setText] = useState("");
  const wrong = use(wrongCell);
  const told = useRef(-Infinity);
  useEffect(() => {
    wrongCell.set("");
    ref.current?.focus();
    return done;
  }, []);
  return (
    <form
      class="punch-slip"
      onSubmit={(e) => {
        e.preventDefault();
        // Pressed twice where once was meant: it must not answer a question that nobody has read.
        if (performance.now() - told.current < settleMS) return;
        told.current = performance.now();
        // What stands there: what was drawn may be a letter behind it.
        order("slip", { text: before[kind] + ref.current!.value });
      }}
    >
      <h2>
        <label for="punch-slip">{t(kind === "missed" ? "punch.missed" : kind === "to" ? "punch.to" : "punch.slip")}</label>
      </h2>
      <input
        id="punch-slip"
        ref={ref}
        type="text"
        value={text}
        autocomplete="off"
        autocapitalize="off"
        spellcheck={false}
        maxLength={40}
        aria-invalid={wrong ? true : undefined}
        aria-describedby="punch-slip-help"
        onInput={(e) => setText((e.target as HTMLInputElement).value)}
      />
      <p id="punch-slip-help" class={wrong ? "wrong" : "second"} role={wrong ? "alert" : undefined}>
        {wrong || (kind === "to" ? t("punch.to.help", { n: v.rows }) : t(v.place ? "punch.slip.help" : "punch.slip.help.end", { place: v.place }))}
      </p>
      <div class="punch-slip-do">
        <button type="submit" class="main">
          {t(kind === "to" ? "punch.to.do" : "punch.slip.add")}
        </button>
        {kinds
          .filter((k) => k !== kind)
          .map((k) => (
            <button type="button" key={k} onClick={() => side.set(k)}>
              {t(`punch.${k}.short`)}
            </button>
          ))}
        <button type="button" onClick={() => side.set("row")}>
          {t("cancel")}
        </button>
      </div>
    </form>
  );
}
