// How the server's answers are held to the page's types: every member that the
// page reads is there and of its type; others may be, and the page leaves them.
import type { Complaint, Voice, Work } from "../src/work";

export type Held<T> = T extends (infer U)[]
  ? Held<U>[]
  : T extends object
    ? { [K in keyof T]: Held<T[K]> } & { [more: string]: unknown }
    : T;

/** What an answer to /api/work says in words; the page adds the index of a voice. */
export type Head = Omit<Work, "slots" | "roll" | "voices"> & {
  ok: boolean;
  errors: Complaint[];
  voices: Omit<Voice, "index">[];
};

export type { Loaded } from "../src/text/document";
