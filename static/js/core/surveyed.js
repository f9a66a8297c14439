// What a job's thickness survey says of a panel. Twin of bayflow/job/surveyed.py: rows are [t, spot, mean, readings, remark, id].

import { difference, removed } from "./film.js";
import { dictionary } from "./sheet.js";

const rows = (state, panel, now) => (state.film[panel] ?? []).filter(([t]) => t <= now);

/** The newest row of each spot of a panel that was read by `now`, in order of first reading. */
export function spots(state, panel, now) {
  const found = new Map();
  for (const row of rows(state, panel, now)) found.set(row[1], row);
  return [...found.values()];
}

/** The newest mean of each spot that has one, with the readings it stands on. */
export function means(state, panel, now) {
  const found = dictionary();
  for (const [, spot, mean, used] of spots(state, panel, now)) if (mean !== null) found[spot] = [mean, used];
  return found;
}

/** What removal is counted from: the first means of earlier jobs, else of this one. */
export function first(state, panel, now) {
  const begun = dictionary();
  for (const [, spot, mean, used] of rows(state, panel, now)) if (mean !== null) begun[spot] ??= [mean, used];
  return Object.assign(begun, state.film_first[panel]);
}

/** What a panel lost since it was first read, over all the vehicle's jobs, or null. */
export const lost = (index, state, panel, now) =>
  difference(first(state, panel, now), means(state, panel, now), index.spread);

/** What a film's limit wants at `now`; null if it is met on all its panels. */
export function judgeFilm(index, state, limit, now) {
  for (const subject of limit.of) {
    const panel = subject.includes(":") ? subject.slice(subject.indexOf(":") + 1) : "";
    const fault =
      limit.reading === "film_removed"
        ? removal(index, state, limit, panel, now)
        : film(index, state, limit, subject, panel, now);
    if (fault) return fault;
  }
  return null;
}

function removal(index, state, limit, panel, now) {
  const gone = removed(lost(index, state, panel, now));
  return gone > limit.max ? ["above", "film_removed", gone, limit.max] : null;
}

function film(index, state, limit, subject, panel, now) {
  const valid = spots(state, panel, now).filter(([t]) => now - t <= (index.validity.film ?? 0));
  if (!valid.length) return ["reading", "film", subject];
  const remarked = (remark) => valid.find((row) => row[4] === remark);
  const filler = remarked("filler");
  if (filler && !agreed(state, filler[5], now)) return ["unread", "filler", filler[5]];
  const known = valid.filter((row) => row[2] !== null);
  if (!known.length) {
    const odd = remarked("no-reach");
    return odd && !agreed(state, odd[5], now) ? ["unread", "no-reach", odd[5]] : null;
  }
  const { min = null, max = null } = limit;
  for (const [, , mean, , , event] of known) {
    if (min !== null && mean < min && !agreed(state, event, now)) return ["below", "film", mean, min, event];
    if (max !== null && mean > max && !agreed(state, event, now)) return ["above", "film", mean, max, event];
  }
  return null;
}

/** Did an owner decide, and the customer sign, that work goes on all the same? */
function agreed(state, event, now) {
  const made = state.decided[event];
  return Boolean(
    made && made.t <= now && made.outcome === "accept-as-is" && made.customer &&
      (state.people[made.decider] ?? "owner") === "owner",
  );
}
