// The folder: its pieces, new ones, and what the open one has been.
import { useEffect, useRef, useState } from "preact/hooks";
import { ask, get, type Hunk, type Snapshot } from "../api";
import { use } from "../cell";
import { bytes } from "../format";
import { examples, files, others, say, session, showLeft, showRight } from "../state";
import { listFiles, listOthers, open, openExample, openFile, openOther, save } from "../text/document";
import { become, text } from "../text/editor";
import { language, t, tn } from "../words";

async function attempt(act: () => Promise<unknown>): Promise<boolean> {
  try {
    await act();
    return true;
  } catch (e) {
    say(e instanceof Error ? e.message : String(e));
    return false;
  }
}

function withEnding(name: string): string {
  return name.endsWith(".piece") ? name : `${name}.piece`;
}

/** A name asked for in place. */
export function NameLine({ label, initial, done, cancel }: { label: string; initial: string; done: (name: string) => void; cancel: () => void }) {
  const [name, setName] = useState(initial);
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => {
    input.current?.focus();
    input.current?.select();
  }, []);
  return (
    <form
      class="row name-line"
      onSubmit={(e) => {
        e.preventDefault();
        const now = input.current!.value.trim(); // what was drawn may be a letter behind it
        if (now) done(withEnding(now));
      }}
    >
      <label>
        {label} <input type="text" value={name} ref={input} onInput={(e) => setName((e.target as HTMLInputElement).value)} />
      </label>
      <button type="submit" class="main">
        {t("ok")}
      </button>
      <button type="button" onClick={cancel}>
        {t("cancel")}
      </button>
    </form>
  );
}

function NewPiece() {
  const list = use(examples);
  const [asking, setAsking] = useState<string | null>(null);
  const make = (name: string, example: string) =>
    attempt(async () => {
      const made = await ask<{ name: string }>("new", { name, example: example || undefined });
      await listFiles();
      setAsking(null);
      await openFile(made.name);
      showLeft(example ? "text" : "voices"); // an empty page begins with cards
    });
  return (
    <section>
      <h2>{t("folder.new")}</h2>
      {asking === "" ? (
        <NameLine label={t("folder.name")} initial={t("folder.untitled")} done={(n) => void make(n, "")} cancel={() => setAsking(null)} />
      ) : (
        <button type="button" onClick={() => setAsking("")}>
          {t("folder.blank")}
        </button>
      )}
      <h2>{t("folder.examples")}</h2>
      <ul class="examples">
        {list.map((e) => (
          <li key={e.name}>
            <div>
              <strong>{e.title}</strong>
              <p>{e.idea}</p>
            </div>
            {asking === e.name ? (
              <NameLine label={t("folder.name")} initial={e.name} done={(n) => void make(n, e.name)} cancel={() => setAsking(null)} />
            ) : (
              <div class="row">
                <button type="button" onClick={() => void openExample(e.name)} aria-label={t("folder.look.at", { title: e.title })}>
                  {t("folder.look")}
                </button>
                <button type="button" onClick={() => setAsking(e.name)} aria-label={t("folder.take.of", { title: e.title })}>
                  {t("folder.take")}
                </button>
              </div>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Deletes a piece: its history keeps it. */
function remove(name: string): Promise<boolean> {
  return attempt(async () => {
    const here = open.value?.name === name;
    if (here) await save();
    await ask("delete", { name });
    await listFiles();
    say(t("folder.deleted", { name }));
    if (!here) return;
    open.set(null); // or it would be saved when another is opened
    await (files.value[0] ? openFile(files.value[0].name) : openExample(examples.value[0]?.name ?? ""));
  });
}

/** The pieces that only their history has. */
function Deleted() {
  const list = use(files);
  const [gone, setGone] = useState<{ name: string }[]>([]);
  useEffect(() => void attempt(async () => setGone(await get<{ name: string }[]>("deleted"))), [list]);
  if (gone.length === 0) return null;
  const back = (name: string) =>
    attempt(async () => {
      await ask("undelete", { name });
      await listFiles();
      await openFile(name);
    });
  return (
    <section>
      <h2>{t("folder.gone")}</h2>
      <ul>
        {gone.map(({ name }) => (
          <li key={name} class="file">
            <span>{name.replace(/\.piece$/, "")}</span>{" "}
            <button type="button" class="link" onClick={() => void back(name)} aria-label={t("folder.back.of", { name })}>
              {t("folder.back")}
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function FileRow({ name, title, size, errors }: { name: string; title: string; size: number; errors: number }) {
  const now = use(open)?.name === name;
  const [doing, setDoing] = useState<"copy" | "rename" | null>(null);
  const done = async (to: string) => {
    const made = doing!;
    const ok = await attempt(() => ask(made, { name, to }));
    if (!ok) return;
    setDoing(null);
    await listFiles();
    if (made === "copy" || now) await openFile(to);
  };
  return (
    <li class={now ? "file file-now" : "file"}>
      <button type="button" class="file-name" aria-current={now ? "true" : undefined} onClick={() => void openFile(name)}>
        <strong>{name.replace(/\.piece$/, "")}</strong>
        <span class="second">
          {title} · {bytes(size)}
          {errors > 0 && <em class="wrong"> · {tn("folder.errors", errors)}</em>}
        </span>
      </button>
      {doing ? (
        <NameLine label={t(`folder.${doing}.to`)} initial={name.replace(/\.piece$/, doing === "copy" ? "-2" : "")} done={(n) => void done(n)} cancel={() => setDoing(null)} />
      ) : (
        <div class="row">
          <button type="button" class="link" onClick={() => setDoing("copy")} aria-label={t("folder.copy.of", { name })}>
            {t("folder.copy")}
          </button>
          <button type="button" class="link" onClick={() => setDoing("rename")} aria-label={t("folder.rename.of", { name })}>
            {t("folder.rename")}
          </button>
          <button type="button" class="link" onClick={() => void remove(name)} aria-label={t("folder.delete.of", { name })}>
            {t("folder.delete")}
          </button>
        </div>
      )}
    </li>
  );
}

export function Difference({ hunks }: { hunks: Hunk[] }) {
  if (hunks.every((h) => h.kind === "same")) return <p class="second">{t("past.same")}</p>;
  return (
    <pre class="diff">
      {hunks.flatMap((h, i) =>
        h.lines.map((l, k) => (
          <span key={`${i} ${k}`} class={`diff-${h.kind}`}>
            {h.kind === "add" ? "+ " : h.kind === "del" ? "− " : "  "}
            {l}
            {"\n"}
          </span>
        )),
      )}
    </pre>
  );
}

function Past() {
  const o = use(open);
  const name = o?.kind ? "" : (o?.name ?? ""); // what is no piece has no history here
  const [list, setList] = useState<Snapshot[]>([]);
  const [shown, setShown] = useState<{ id: string; hunks: Hunk[] } | null>(null);
  const load = () => void attempt(async () => setList(await ask<Snapshot[]>("history", { name })));
  useEffect(() => {
    setShown(null);
    setList([]);
    if (name) load();
  }, [name]);
  if (!name) return null;
  const when = new Intl.DateTimeFormat(language.value, { dateStyle: "medium", timeStyle: "short" });
  return (
    <section>
      <h2>{t("past")}</h2>
      <button type="button" onClick={() => void attempt(async () => ask("snapshot", { name, label: "" })).then(load)}>
        {t("past.keep")}
      </button>
      {list.length === 0 && <p class="second">{t("past.none")}</p>}
      <ul class="past">
        {list.map((s) => (
          <li key={s.id}>
            <button
              type="button"
              class="link"
              aria-expanded={shown?.id === s.id}
              onClick={() =>
                shown?.id === s.id
                  ? setShown(null)
                  : void attempt(async () => {
                      const { hunks } = await ask<{ hunks: Hunk[] }>("diff", { name, id: s.id, text: text() });
                      setShown({ id: s.id, hunks });
                    })
              }
            >
              {when.format(new Date(s.when))}
            </button>{" "}
            <span class="second">
              {s.label} {bytes(s.bytes)}
            </span>
            {shown?.id === s.id && (
              <>
                <Difference hunks={shown.hunks} />
                <button
                  type="button"
                  onClick={() =>
                    void attempt(async () => {
                      become((await ask<{ text: string }>("restore", { name, id: s.id })).text);
                      say(t("past.restored"));
                    })
                  }
                >
                  {t("past.restore")}
                </button>
              </>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** The files of the folder that are no pieces, each with what can be done with it here. */
function Others() {
  const list = use(others);
  const now = use(open)?.name;
  useEffect(() => void listOthers().catch(() => {}), []);
  if (list.length === 0) return null;
  return (
    <section>
      <h2>{t("others")}</h2>
      <ul>
        {list.map((f) => {
          const { kind } = f;
          const shown = kind === "notes" || kind === "holes";
          const act = () => (shown ? void openOther(f.name, kind) : showRight(kind === "take" ? "take" : "light"));
          return (
            <li key={f.name} class={f.name === now ? "file file-now" : "file"}>
              <button type="button" class="file-name" aria-current={f.name === now ? "true" : undefined} onClick={act}>
                <strong>{f.name}</strong>
                <span class="second">
                  {t(`others.${kind}`)} · {bytes(f.bytes)}
                </span>
              </button>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

export function Folder() {
  const list = use(files);
  const where = use(session)?.folder ?? "";
  return (
    <div class="folder">
      <h2>{t("folder.here")}</h2>
      <p class="second path">{where}</p>
      {list.length === 0 && <p class="note">{t("folder.empty")}</p>}
      <ul>
        {list.map((f) => (
          <FileRow key={f.name} name={f.name} title={f.title} size={f.bytes} errors={f.errors} />
        ))}
      </ul>
      <Others />
      <Past />
      <Deleted />
      <NewPiece />
    </div>
  );
}
