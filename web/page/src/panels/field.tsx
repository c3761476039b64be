// One attribute of a voice as a field. What is typed goes into the file a
// moment later, into this attribute alone.
import { useEffect, useRef, useState } from "preact/hooks";
import { setAttribute } from "../text/changes";
import { has, t } from "../words";
import type { Option } from "./attributes";

interface Props {
  path: string[];
  attr: string;
  raw: string | null; // as written in the file; null: not written
  placeholder?: string;
  long?: boolean;
  label?: string; // its own, for what has no usual name
  options?: Option[]; // offered while typing
}

/** What a person reads of a value as written: text without its quotes. */
export function plain(raw: string | null): string {
  if (raw === null) return "";
  const quoted = /^"((?:[^"\\]|\\.)*)"$/.exec(raw);
  return quoted ? quoted[1].replace(/\\(.)/g, "$1") : raw;
}

/** A value as it has to stand in the file: numbers, calls, lists and heredocs as they are, words in quotes. */
export function written(value: string, before: string | null): string {
  const v = value.trim();
  const bare = /^-?\d+(\.\d+)?$/.test(v) || /^[a-z_]+\(.*\)$/s.test(v) || /^(<<|\[)/.test(v) || v === "true" || v === "false";
  const wasQuoted = before?.startsWith('"') ?? false;
  const wasWord = before !== null && /^[a-z_]\w*$/i.test(before) && v === before;
  if (wasWord || (bare && !(wasQuoted && /^-?\d/.test(v)))) return v;
  return `"${v.replace(/[\\"]/g, "\\$&")}"`;
}

/** Rows that a text takes, about. */
function rowsOf(text: string): number {
  return Math.min(5, Math.max(1, Math.ceil(text.length / 27), text.split("\n").length));
}

const pauseBefore = 350; // milliseconds

export function Field({ path, attr, raw, placeholder, long, label, options }: Props) {
  const [value, setValue] = useState(plain(raw));
  const [wrong, setWrong] = useState("");
  const timer = useRef(0);
  const typing = useRef(false);
  const sent = useRef(plain(raw));
  const id = `field ${path.join(" ")} ${attr}`.replace(/[^\w]+/g, "-");

  useEffect(() => {
    if (typing.current) return;
    setValue(plain(raw));
    sent.current = plain(raw);
    setWrong("");
  }, [raw]);

  const send = async (v: string) => {
    clearTimeout(timer.current);
    if (v === sent.current) return;
    sent.current = v;
    setWrong(await setAttribute(path, attr, v.trim() === "" ? null : written(v, raw)));
  };
  const type = (v: string) => {
    typing.current = true;
    setValue(v);
    clearTimeout(timer.current);
    timer.current = window.setTimeout(() => void send(v), pauseBefore);
  };
  const shared = {
    id,
    value,
    placeholder: placeholder ?? "",
    spellcheck: false,
    autocomplete: "off",
    "aria-invalid": wrong ? true : undefined,
    "aria-describedby": wrong ? `${id}-wrong` : undefined,
    onInput: (e: Event) => type((e.target as HTMLInputElement).value),
    // What stands there, here and at Enter: what was drawn may be a letter behind it.
    onBlur: (e: Event) => {
      typing.current = false;
      void send((e.target as HTMLInputElement).value);
    },
  };
  return (
    <div class={`field${long ? " field-long" : ""}`}>
      <label for={id} title={has(`attr.${attr}`) ? t(`attr.${attr}`) : undefined}>
        {label ?? t(`field.${attr}`)}
      </label>
      {long ? (
        <textarea {...shared} rows={rowsOf(value || placeholder || "")} />
      ) : (
        <input
          type="text"
          list={options?.length ? `${id}-offered` : undefined}
          {...shared}
          onKeyDown={(e) => {
            if (e.key === "Enter") void send((e.target as HTMLInputElement).value);
          }}
        />
      )}
      {!long && !!options?.length && (
        <datalist id={`${id}-offered`}>
          {options.map(([v]) => (
            <option key={v} value={v} />
          ))}
        </datalist>
      )}
      {wrong && (
        <p class="wrong" id={`${id}-wrong`}>
          {wrong}
        </p>
      )}
    </div>
  );
}
