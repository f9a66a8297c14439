// When somebody must look before going on: after a pause, a change of person or phone, a new day, or a long gap;
// not at every unlock. Asked once when the app comes to the front, never over a step in the middle of the work.

import { personNow, phone, zone } from "./phone.js";

const LEAST_GAP = 180000;

let asked = new Map();

/** The app came to the front, or another person took the phone: look again. */
export function lookAgain() {
  asked = new Map();
}

/** The look was taken. */
export const attended = (job) => asked.set(job, null);

const dayOf = (ms) => new Intl.DateTimeFormat("en-CA", { timeZone: zone() }).format(ms);

function found(at, view) {
  if (at.state.paused) return { kind: "pause", since: null };
  if (!view.last || !view.current || ["waiting", "too-late", "not-right", "stopped"].includes(view.current.state))
    return null;
  const event = at.events.find((one) => one.id === view.last.event);
  const since = Math.max(
    view.last.t,
    ...at.events
      .filter((one) => one.type === "resumed" || one.type === "taken-over")
      .map((one) => one.at - (one.offset ?? 0)),
  );
  if (at.now - since < LEAST_GAP) return null;
  if (dayOf(since) !== dayOf(at.now)) return { kind: "day", since };
  const last = at.events.reduce((a, b) => (b.at - (b.offset ?? 0) > a.at - (a.offset ?? 0) ? b : a));
  if (event && last.phone !== phone.phone && last.phone !== "shop") return { kind: "phone", since };
  if (event && last.noted_by !== personNow()?.id && last.person !== personNow()?.id && last.phone !== "shop")
    return { kind: "person", since };
  const usual = view.current.group.tasks.reduce((sum, task) => sum + task.labour_ms, 0);
  return at.now - since > Math.max(LEAST_GAP, 2 * usual) ? { kind: "gap", since } : null;
}

/**
 * What must be looked at before the job goes on: `{kind: "pause"|"day"|"phone"|"person"|"gap", since}` or null.
 */
export function attention(at, view) {
  const why = at.state.paused ? found(at, view) : undefined;
  if (why) return why;
  if (!asked.has(at.job.id)) asked.set(at.job.id, found(at, view));
  const kept = asked.get(at.job.id);
  if (kept && kept.kind !== "pause" && view.last && view.last.t > (kept.since ?? 0)) asked.set(at.job.id, null);
  return kept?.kind === "pause" ? null : asked.get(at.job.id);
}
