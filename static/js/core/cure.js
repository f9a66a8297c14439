// A wait that runs by a product's table of temperatures. Twin of bayflow/job/curing.py and `by_table` in trade/cure.py.

/** What a decision names that lets a hold go by the clock alone: one for all places of a step. */
export const cureAbout = (task, hold) => `cure:${task.id.split("@")[0]}:${hold.id}`;

/** Whether a table binds this hold, which began at `start` (ms): it has one, and nobody decided otherwise since. */
export function cureBinds(state, task, hold, start) {
  if (!hold.cure?.rates.length) return false;
  const decision = state.decided[cureAbout(task, hold)];
  return !(decision && (decision.outcome === "accept-as-is" || decision.outcome === "confirmed") && decision.t >= start);
}

/** Per mille of the clock that a temperature (tenths of a °C) is worth: the warmest row not above it, else nothing. */
export const tableRate = (rates, dc) => rates.findLast(([row]) => row <= dc)?.[1] ?? 0;

/** The readings that speak for a cure up to `now`, by time. */
export function cureReadings(state, cure, now) {
  const found = cure.of.flatMap((of) => state.readings[`${cure.reading}|${of}`] ?? []).filter(([t]) => t <= now);
  return found.sort((a, b) => a[0] - b[0] || (a[2] < b[2] ? -1 : 1));
}

/** `[measured, credited]` in ms: between readings at most a gap apart the slower counts, other time counts nothing. */
export function byTable(readings, { rates, gap }, start, end) {
  let measured = 0;
  let worth = 0;
  for (let n = 1; n < readings.length; n += 1) {
    const [[a, one], [b, other]] = [readings[n - 1], readings[n]];
    const length = Math.min(b, end) - Math.max(a, start);
    if (length <= 0 || b - a > gap) continue;
    measured += length;
    worth += length * Math.min(tableRate(rates, one), tableRate(rates, other));
  }
  return [measured, Math.floor(worth / 1000)];
}

/**
 * What a table-bound hold that began at `start` waits for at `now`.
 * @returns {{kind: "waiting"|"reading"|"cold", because: Array, opens: number}|null} null once enough has been credited
 */
export function cureStanding(state, hold, start, now) {
  const past = cureReadings(state, hold.cure, now);
  const [measured, credited] = byTable(past, hold.cure, start, now);
  const missing = hold.least - credited;
  if (missing <= 0) return null;
  const [last = null, value = null] = past.at(-1) ?? [];
  const rate = value === null ? null : tableRate(hold.cure.rates, value);
  const clock = start + hold.least;
  const opens = rate ? Math.max(last, start) + Math.ceil((missing * 1000) / rate) : clock;
  const because = ["cure", hold.id, hold.least, Math.max(now - start, 0), measured, credited, value, rate, opens];
  let kind = rate ? "waiting" : "cold";
  if (now < clock) kind = "waiting";
  else if (last === null || now - last > hold.cure.gap || (rate && now >= opens)) kind = "reading";
  return { kind, because, opens };
}
