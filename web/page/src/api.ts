// What the page asks of the workbench's server, which runs on this machine.
import { decode, type Answer } from "./container";

/** An answer that says no; message is for the person. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly body: Record<string, unknown> = {},
  ) {
    super(message);
  }
}

async function refuse(response: Response): Promise<never> {
  let body: Record<string, unknown> = {};
  try {
    body = await response.json();
  } catch {
    // the status has to do
  }
  throw new Refusal(response.status, typeof body.error === "string" ? body.error : response.statusText, body);
}

const headers = { "Content-Type": "application/json", "X-Rollwright": "1" };

/** An answer in words and arrays. */
export async function getBinary(path: string): Promise<Answer> {
  const response = await fetch(`api/${path}`);
  return response.ok ? decode(await response.arrayBuffer()) : refuse(response);
}

async function post(path: string, body: unknown, signal?: AbortSignal, keepalive = false): Promise<Response> {
  const response = await fetch(`api/${path}`, { method: "POST", headers, body: JSON.stringify(body), signal, keepalive });
  return response.ok ? response : refuse(response);
}

/** Asks with a body; one to keep alive outlives the page. */
export async function ask<T>(path: string, body: unknown, signal?: AbortSignal, keepalive = false): Promise<T> {
  return (await post(path, body, signal, keepalive)).json();
}

export async function askBinary(path: string, body: unknown, signal?: AbortSignal): Promise<Answer> {
  return decode(await (await post(path, body, signal)).arrayBuffer());
}

export async function get<T>(path: string): Promise<T> {
  const response = await fetch(`api/${path}`);
  return response.ok ? response.json() : refuse(response);
}

export interface Session {
  version: string;
  folder: string;
  open: string; // the piece to show first; empty: none
  soundVersion: string;
  first: boolean;
  lang?: string[];
}
export interface FileEntry {
  name: string;
  title: string;
  bytes: number;
  errors: number;
}
/** A file of the folder that is no piece. */
export interface OtherFile {
  name: string;
  kind: "notes" | "holes" | "take" | "picture";
  bytes: number;
}
/** What a question is about: the text of a piece, or a file that is none. */
export interface Subject {
  name: string;
  text: string;
  instrument?: string;
}
export interface Example {
  name: string;
  title: string;
  idea: string;
}
export interface Splice {
  text: string;
  from: number;
  to: number;
  insert: string;
  label?: string;
  problem?: string; // why nothing was changed
}
export interface Snapshot {
  id: string;
  when: string;
  bytes: number;
  label: string;
}
export interface Hunk {
  kind: "same" | "add" | "del";
  lines: string[];
}
export interface Format {
  format: string;
  about: string;
  perRoll: boolean;
  machines?: { name: string; title: string }[]; // one of them has to be chosen
}
/** What can be chosen for files beside their format. */
export interface Offer {
  figures: { kind: string; about: string }[];
  benches: { name: string; title: string }[];
}
export interface Job {
  id: string;
  done: number;
  of: number;
  state: "queued" | "running" | "done" | "failed" | "canceled";
  step?: string; // what is being done
  error?: string;
  file?: string;
}
