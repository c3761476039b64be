// A series as a series: each member in a cell of its own, to be changed, moved, added
// and taken away. What is more than a plain series is a text.
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { setAttribute } from "../text/changes";
import { has, t, tn } from "../words";
import { Field, plain, written } from "./field";

interface Props {
  path: string[];
  attr: string;
  raw: string | null;
  placeholder?: string;
}

const most = 64; // members in cells; more are a text

/** The members of a text; those in parentheses belong together. Null: it is more than a plain series. */
export function membersOf(text: string): string[] | null {
  if (/[\n[\]#]|\btimes\b/.test(text)) return null;
  const out: string[] = [];
  let open = 0;
  let now = "";
  for (const c of text) {
    if (c === "(") open++;
    if (c === ")") open--;
    if (/\s/.test(c) && open <= 0) {
      if (now) out.push(now);
      now = "";
    } else now += c;
  }
  if (now) out.push(now);
  return out.length <= most ? out : null;
}

/** Whether what is written is one text in quotes, or a bare number, or nothing. */
function plainly(raw: string | null): boolean {
  return raw === null || /^"(?:[^"\\]|\\.)*"$/.test(raw) || /^[\d./]+$/.test(raw);
}

const pauseBefore = 350; // milliseconds

export function Series(props: Props) {
  const [asText, setAsText] = useState(false);
  const members = plainly(props.raw) ? membersOf(plain(props.raw)) : null;
  if (asText || members === null) {
    return (
      <div class="field-long">
        <Field {...props} long />
        {members !== null && (
          <button type="button" class="link" onClick={() => setAsText(false)}>
            {t("series.cells")}
          </button>
        )}
      </div>
    );
  }
  return <Cells {...props} members={members} text={() => setAsText(true)} />;
}

function Cells({ path, attr, raw, placeholder, members, text }: Props & { members: string[]; text: () => void }) {
  const [cells, setCells] = useState(members);
  const [wrong, setWrong] = useState("");
  const [to, setTo] = useState<{ cell: number; end: boolean } | null>(null);
  const box = useRef<HTMLDivElement>(null);
  const timer = useRef(0);
  const typing = useRef(false);
  const label = t(`field.${attr}`);

  useEffect(() => {
    if (typing.current) return;
    setCells(members);
    setWrong("");
  }, [raw]);

  useLayoutEffect(() => {
    if (!to) return;
    const el = box.current?.querySelectorAll<HTMLInputElement>(".cell")[to.cell];
    el?.focus();
    const at = to.end ? (el?.value.length ?? 0) : 0;
    el?.setSelectionRange(at, at);
    setTo(null);
  }, [to]);

  const send = async (next: string[]) => {
    clearTimeout(timer.current);
    const value = next.map((c) => c.trim()).filter(Boolean).join(" ");
    if (value === plain(raw)) return;
    setWrong(await setAttribute(path, attr, value === "" ? null : written(value, raw)));
  };
  const change = (next: string[], at?: { cell: number; end: boolean }) => {
    typing.current = true;
    setCells(next);
    if (at) setTo(at);
    clearTimeout(timer.current);
    timer.current = window.setTimeout(() => void send(next), pauseBefore);
  };
  /** What stands in the cells, drawn or not yet. */
  const standing = () => [...box.current!.querySelectorAll<HTMLInputElement>(".cell")].map((el) => el.value);

  const key = (e: KeyboardEvent, i: number) => {
    const el = e.target as HTMLInputElement;
    const now = standing();
    const inside = (el.value.match(/\(/g) ?? []).length > (el.value.match(/\)/g) ?? []).length;
    const start = el.selectionStart === 0 && el.selectionEnd === 0;
    const end = el.selectionStart === el.value.length;
    const move = e.key === "ArrowLeft" ? -1 : e.key === "ArrowRight" ? 1 : 0;
    if (e.altKey && move) {
      const j = i + move;
      if (j < 0 || j >= now.length) return;
      [now[i], now[j]] = [now[j], now[i]];
      change(now, { cell: j, end: true });
    } else if ((e.key === " " && !inside) || e.key === "Enter") {
      if (el.value.trim() === "") return e.preventDefault();
      now.splice(i, 1, el.value.slice(0, el.selectionStart!), el.value.slice(el.selectionEnd!));
      change(now, { cell: i + 1, end: false });
    } else if (e.key === "Backspace" && start && now.length > 1) {
      if (el.value === "") now.splice(i, 1);
      else if (i > 0) now.splice(i - 1, 2, now[i - 1] + el.value);
      change(now, { cell: Math.max(0, i - 1), end: true });
    } else if (e.key === "Delete" && el.value === "" && now.length > 1) {
      now.splice(i, 1);
      change(now, { cell: Math.min(i, now.length - 1), end: false });
    } else if (move < 0 && start && i > 0) setTo({ cell: i - 1, end: true });
    else if (move > 0 && end && i < now.length - 1) setTo({ cell: i + 1, end: false });
    else return;
    e.preventDefault();
  };
  const input = (el: HTMLInputElement, i: number) => {
    const now = standing();
    const several = membersOf(el.value) ?? [el.value];
    if (several.length > 1) {
      now.splice(i, 1, ...several); // pasted
      return change(now, { cell: i + several.length - 1, end: true });
    }
    change(now);
  };
  const drawn = cells.length > 0 ? cells : [""];
  return (
    <div class="field field-long">
      <span class="field-name" id={`series ${path.join(" ")} ${attr}`.replace(/[^\w]+/g, "-")} title={has(`attr.${attr}`) ? t(`attr.${attr}`) : undefined}>
        {label}
      </span>
      <div class="series" role="group" aria-label={tn("series.label", cells.length, { what: label })} ref={box} data-series={attr}>
        {drawn.map((c, i) => (
          <input
            key={i}
            type="text"
            class={`cell${/^\(/.test(c) ? " cell-silent" : c === "|" ? " cell-bar" : ""}`}
            value={c}
            size={1}
            style={{ width: `${Math.max(2, c.length || (cells.length ? 2 : (placeholder ?? "").length)) + 1.4}ch` }}
            placeholder={cells.length === 0 ? (placeholder ?? "") : ""}
            aria-label={t("series.member", { what: label, n: i + 1, of: drawn.length })}
            aria-invalid={wrong ? true : undefined}
            spellcheck={false}
            autocomplete="off"
            onInput={(e) => input(e.target as HTMLInputElement, i)}
            onKeyDown={(e) => key(e, i)}
            onBlur={(e) => {
              if (box.current?.contains(e.relatedTarget as Node)) return;
              typing.current = false;
              void send(standing());
            }}
          />
        ))}
        <button type="button" class="cell-add" title={t("series.add")} aria-label={t("series.add.to", { what: label })} onClick={() => change([...cells, ""], { cell: cells.length, end: true })}>
          +
        </button>
        <button type="button" class="link" onClick={text} aria-label={t("series.text.of", { what: label })}>
          {t("series.text")}
        </button>
      </div>
      {wrong && <p class="wrong">{wrong}</p>}
    </div>
  );
}
