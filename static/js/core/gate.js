// The gate: for every task, may it be done now, and if not, why, until when, and who can decide.
// Twin of bayflow/job/gate.py: the same answer to the millisecond. It throws nothing.

import { marginKept, surfaceNeeded } from "./air.js";
import { cureBinds, cureStanding } from "./cure.js";
import { dictionary, key } from "./sheet.js";
import { judgeFilm } from "./surveyed.js";

/** The order of precedence: the first that fits is the answer. */
export const STATES = [
  "left-out", "not-right", "done", "stopped", "needs-first", "too-late", "waiting", "needs-reading",
  "out-of-limits", "needs-decision", "needs-other-person", "ready",
];

/**
 * State, `until`, `because` and `who` for the current attempt of every task, by task key.
 * @param {object} index from makeIndex
 * @param {object} state from fold
 * @param {number} now shop time in ms UTC
 * @returns {Object<string, {state: string, until: number|null, because: Array, who: object|null}>}
 */
export function gate(index, state, now) {
  const at = { index, state, now, judged: new Map() };
  const answers = dictionary();
  for (const task of index.sheet.tasks) answers[current(at, task.id)] = entry(at, task);
  return answers;
}

const answer = (state, because, until = null, who = null) => ({ state, until, because, who });

/** The key of a task's current attempt. */
function current({ index, state }, taskId) {
  const attempt = state.attempts[taskId];
  return attempt === undefined ? (index.firstKeys[taskId] ?? key(taskId, 1)) : key(taskId, attempt);
}

function entry(at, task) {
  return settled(at, task) ?? (task.rescue ? rescue(at, task) : open(at, task));
}

function settled(at, task) {
  const { state } = at;
  const now = current(at, task.id);
  if (now in state.left_out) return answer("left-out", [["by", state.left_out[now]]]);
  if (now in state.accepted) return answer("done", [["accepted", state.accepted[now].event]]);
  if (now in state.not_right) return answer("not-right", [["by", state.not_right[now]]], null, { role: "lead" });
  if (now in state.done) return answer("done", [["by", state.done[now].event]]);
  return null;
}

function open(at, task) {
  const lead = { role: "lead" };
  if (at.state.stopped) return answer("stopped", [["stopped", at.state.stopped]], null, lead);
  const first = firsts(at, task);
  if (first.length) return answer("needs-first", first);
  const { late, waits, unread, cold, opens, shuts } = holds(at, task);
  if (late.length) return answer("too-late", late, null, lead);
  if (waits.length) return answer("waiting", [...waits, ...unread, ...cold], opens);
  const limited = limits(at, task);
  const missing = [...unread, ...limited.missing];
  const outside = [...cold, ...limited.outside];
  if (missing.length) return answer("needs-reading", missing);
  if (outside.length) return answer("out-of-limits", outside, null, lead);
  const bring = evidence(at, task);
  if (task.release) return answer("needs-decision", [...bring, ...unsettled(at)], shuts, { role: task.release });
  const not = doers(at, task);
  if (not.length) return answer("needs-other-person", bring, shuts, { not });
  return answer("ready", bring, shuts);
}

/** Level, wipe off, rinse now: never locked once there is something to rescue; what is odd is only said. */
function rescue(at, task) {
  const first = firsts(at, task);
  if (first.length) return answer("needs-first", first);
  const { late, waits, unread, cold, shuts } = holds(at, task);
  const early = waits.map((wait) => (wait[0] === "hold" ? ["early", wait[1], wait[2]] : wait)).concat(unread, cold);
  const stopped = at.state.stopped ? [["stopped", at.state.stopped]] : [];
  const { missing, outside } = limits(at, task);
  return answer("ready", [...evidence(at, task), ...stopped, ...early, ...late, ...missing, ...outside], shuts);
}

function firsts(at, task) {
  return at.index.before[task.id].filter((name) => !over(at, name)).map((name) => ["first", name]);
}

function over(at, taskId) {
  const { state } = at;
  const now = current(at, taskId);
  return now in state.left_out || now in state.accepted || (now in state.done && !(now in state.not_right));
}

/** When the wait after a task began, or undefined where it was left out. */
function began(at, taskId) {
  const now = current(at, taskId);
  return (at.state.done[now] ?? at.state.accepted[now])?.t;
}

/** Windows that have shut, waits still running, what a table waits for, when the last wait opens and a window shuts. */
function holds(at, task) {
  const found = { late: [], waits: [], unread: [], cold: [], opens: null, shuts: null };
  for (const hold of task.holds) {
    const times = hold.since.filter((name) => counts(at, task, name)).map((name) => began(at, name))
      .filter((t) => t !== undefined);
    if (!times.length) continue;
    if (hold.most !== null) {
      const end = Math.min(...times) + hold.most;
      if (end < at.now) found.late.push(["late", hold.id, end]);
      else found.shuts = found.shuts === null ? end : Math.min(found.shuts, end);
    }
    if (hold.least !== null) {
      const start = Math.max(...times) + hold.least;
      if (start > at.now) wait(found, ["hold", hold.id, start], start);
      if (cureBinds(at.state, task, hold, start - hold.least)) cured(at, hold, start - hold.least, found);
    }
  }
  return found;
}

/** A wait runs until `until` at the earliest. */
function wait(found, because, until) {
  found.waits.push(because);
  found.opens = found.opens === null ? until : Math.max(found.opens, until);
}

/** What the product's table says of a hold that began at `start`. */
function cured(at, hold, start, found) {
  const standing = cureStanding(at.state, hold, start, at.now);
  if (!standing) return;
  const { kind, because, opens } = standing;
  const { reading, of, rates } = hold.cure;
  if (kind === "waiting") wait(found, because, opens);
  else if (kind === "reading") found.unread.push(["reading", reading, of[0]], because);
  else found.cold.push(["below", reading, because[6], rates[0][0]], because);
}

function counts(at, task, name) {
  const other = at.index.tasks[name];
  return other !== undefined && other.group !== task.group;
}

/** Readings still wanted, and limits that the readings miss; each once. */
function limits(at, task) {
  const found = { missing: [], outside: [] };
  const seen = new Set();
  for (const limit of at.index.limits[task.id]) {
    if (!at.judged.has(limit)) at.judged.set(limit, judge(at.index, at.state, limit, at.now));
    const fault = at.judged.get(limit);
    if (!fault || seen.has(JSON.stringify(fault))) continue;
    seen.add(JSON.stringify(fault));
    (fault[0] === "reading" ? found.missing : found.outside).push(fault);
  }
  return found;
}

/** Evidence that must come with this task. */
function evidence(at, task) {
  const { state } = at;
  const now = current(at, task.id);
  const wanted = task.photo === true || (task.photo === "drawn" && state.photo_draw.includes(task.id));
  const bring = wanted && !(now in state.photos) ? [["photo"]] : [];
  for (const { product } of task.use) {
    if (tracked(at, product) && !(product in state.applied)) bring.push(["batch", product]);
  }
  return bring;
}

function tracked(at, product) {
  const { products } = at.index.sheet;
  return Object.hasOwn(products, product) && Boolean(products[product].track_batch);
}

/** Who did what this task checks; names are ASCII, so the default order is Python's. */
function doers(at, task) {
  const { done } = at.state;
  const keys = task.other_than.map((name) => current(at, name)).filter((k) => k in done);
  return [...new Set(keys.map((k) => done[k].person))].sort();
}

/** What a release still waits for: claims to be confirmed, faults without a decision. */
function unsettled(at) {
  const { state, index } = at;
  const now = new Set(Object.keys(index.tasks).map((id) => current(at, id)));
  const faults = Object.keys(state.not_right).filter((k) => now.has(k) && !(k in state.accepted)).sort();
  return [...state.claimed.map((id) => ["claimed", id]), ...faults.map((k) => ["not-right", k])];
}

/**
 * What a limit wants at a moment; null if it is met.
 * @param {object} index
 * @param {object} state
 * @param {object} limit
 * @param {number} now ms UTC
 * @returns {Array|null} ["reading", name, subject], ["below", reading, value, least], ["above", reading, value, most]
 *   or ["dew", surface, surface that is needed]
 */
export function judge(index, state, limit, now) {
  const name = limit.reading;
  if (name === "film" || name === "film_removed") return judgeFilm(index, state, limit, now);
  if (name === "dew_margin") return judgeDew(index, state, limit, now);
  const value = newest(index, state, name, limit.of, now);
  if (value === null) return ["reading", name, limit.of[0]];
  const { min = null, max = null } = limit;
  if (min !== null && value < min) return ["below", name, value, min];
  if (max !== null && value > max) return ["above", name, value, max];
  return null;
}

function judgeDew(index, state, limit, now) {
  const surface = newest(index, state, "surface_temp", limit.of, now);
  if (surface === null) return ["reading", "surface_temp", limit.of[0]];
  const temp = newest(index, state, "air_temp", limit.air, now);
  if (temp === null) return ["reading", "air_temp", limit.air[0]];
  const humidity = newest(index, state, "humidity", limit.air, now);
  if (humidity === null) return ["reading", "humidity", limit.air[0]];
  if (marginKept(surface, temp, humidity, limit.min)) return null;
  return ["dew", surface, surfaceNeeded(temp, humidity, limit.min)];
}

/**
 * The newest value of a reading on any of the subjects that was taken by `now` and is still valid.
 * @param {object} index
 * @param {object} state
 * @param {string} name
 * @param {string[]} subjects
 * @param {number} now ms UTC
 * @returns {number|null}
 */
export function newest(index, state, name, subjects, now) {
  let best = null;
  for (const subject of subjects) {
    const found = (state.readings[`${name}|${subject}`] ?? []).findLast(([t]) => t <= now);
    if (found && (!best || found[0] > best[0] || (found[0] === best[0] && found[2] > best[2]))) best = found;
  }
  return best && now - best[0] <= (index.validity[name] ?? 0) ? best[1] : null;
}
