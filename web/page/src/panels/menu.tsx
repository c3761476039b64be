// An attribute whose values can be listed.
import { useState } from "preact/hooks";
import { setAttribute } from "../text/changes";
import { has, t } from "../words";
import type { Option } from "./attributes";
import { plain, written } from "./field";

interface Props {
  path: string[];
  attr: string;
  raw: string | null; // as written in the file; null: not written
  options: Option[];
  placeholder?: string; // what holds when nothing is chosen
  always?: boolean; // one of them is chosen at all times
  change?: (to: string) => void; // in place of writing the attribute
}

export function Menu({ path, attr, raw, options, placeholder, always, change }: Props) {
  const [wrong, setWrong] = useState("");
  const now = plain(raw);
  const id = `field ${path.join(" ")} ${attr}`.replace(/[^\w]+/g, "-");
  const known = raw === null || options.some(([v]) => v === now);
  const choose = async (v: string) => {
    if (change) return change(v);
    setWrong(await setAttribute(path, attr, v === "" ? null : v === "true" ? v : written(v, raw ?? '"')));
  };
  return (
    <div class="field">
      <label for={id} title={has(`attr.${attr}`) ? t(`attr.${attr}`) : undefined}>
        {t(`field.${attr}`)}
      </label>
      <select id={id} value={now} onChange={(e) => void choose((e.target as HTMLSelectElement).value)} aria-invalid={wrong ? true : undefined} aria-describedby={wrong ? `${id}-wrong` : undefined}>
        {!always && <option value="">{placeholder || t("menu.usual")}</option>}
        {!known && <option value={now}>{now}</option>}
        {options.map(([v, text]) => (
          <option key={v} value={v}>
            {text}
          </option>
        ))}
      </select>
      {wrong && (
        <p class="wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      )}
    </div>
  );
}
