// Something that the server does in the background for a view: asked for, told of
// while it runs, stopped when the person says so.
import { ask, get, type Job } from "./api";
import { Cell } from "./cell";
import { watchJobs } from "./text/others";

const over = new Set(["done", "failed", "canceled"]);
const askEvery = 700; // milliseconds, should the stream of events be down

/** One job at a time; the latest question is the one that counts. */
export class Running {
  /** How far it is; null: nothing was started. */
  readonly job = new Cell<Job | null>(null);
  private turn = 0;

  constructor() {
    watchJobs((told) => this.take(told as Job));
  }

  private take(told: Job): void {
    const now = this.job.value;
    if (!now || now.id !== told.id || over.has(now.state)) return;
    this.job.set({ ...now, ...told });
  }

  /** Starts what a path answers; gives the id of the job once it is done, or null: it was stopped, or it failed. */
  async run(path: string, body: unknown): Promise<string | null> {
    const mine = ++this.turn;
    const before = this.job.value; // it answers a question that nobody asks any more
    this.job.set({ id: "", done: 0, of: 0, state: "queued" });
    try {
      const { id } = await ask<{ id: string }>(path, body);
      if (before?.id && before.id !== id && !over.has(before.state)) void ask("jobs/cancel", { id: before.id }).catch(() => {});
      if (mine !== this.turn) return null;
      this.job.set({ id, done: 0, of: 0, state: "queued" });
      for (;;) {
        this.take(await get<Job>(`jobs/${id}`));
        const now = this.job.value;
        if (mine !== this.turn || !now) return null;
        if (over.has(now.state)) return now.state === "done" ? id : null;
        await this.news(askEvery);
      }
    } catch (e) {
      if (mine === this.turn) this.fail(e);
      return null;
    }
  }

  /** Until something is told of the job, or some time has passed. */
  private news(most: number): Promise<void> {
    return new Promise((done) => {
      const end = () => {
        stop();
        clearTimeout(timer);
        done();
      };
      const stop = this.job.watch(end);
      const timer = setTimeout(end, most);
    });
  }

  /** Says why it came to nothing. */
  fail(e: unknown): void {
    this.job.set({ id: "", done: 0, of: 0, state: "failed", error: e instanceof Error ? e.message : String(e) });
  }

  stop(): void {
    const id = this.job.value?.id;
    if (id) void ask("jobs/cancel", { id }).catch(() => {});
  }

  /** Nothing was started. */
  clear(): void {
    this.turn++;
    this.job.set(null);
  }
}
