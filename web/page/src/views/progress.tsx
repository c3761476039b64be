// How far a job of a view is, with the way to stop it.
import { use } from "../cell";
import type { Running } from "../jobs";
import { t } from "../words";

export function Progress({ of, what }: { of: Running; what: string }) {
  const job = use(of.job);
  if (!job || job.state === "done") return null;
  if (job.state === "failed") {
    return (
      <p class="note note-red" role="alert">
        {job.error}
      </p>
    );
  }
  if (job.state === "canceled") return <p class="second">{t("make.canceled")}</p>;
  return (
    <div class="row progress-row">
      <span role="status">{job.step ? t(`step.${job.step}`) : t("step.waiting")}</span>
      <progress max={job.of || undefined} value={job.of ? job.done : undefined} aria-label={what} />
      <button type="button" onClick={() => of.stop()}>
        {t("make.cancel")}
      </button>
    </div>
  );
}
