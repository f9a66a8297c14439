// From log to state: a pure function of the set of events, whatever order they came in. Twin of bayflow/job/fold.py.

import { happened, inOrder, when } from "./events.js";
import { spotMean } from "./film.js";
import { ATTEMPTS, dictionary, split } from "./sheet.js";

// Types that a take-back may undo. A take-back itself is not among them: what it undid is noted anew.
const REVOCABLE = new Set([
  "done", "reading", "spot", "photo", "applied", "not-right", "damage-found", "left-out", "roles", "decided",
]);

// Types that count for nothing once a decision about them says refused.
const REFUSABLE = new Set(["left-out", "decided", "reopened"]);

/**
 * The state that events (a set: order and repeats don't matter) leave a job with.
 * @param {object} index from makeIndex
 * @param {Iterable<object>} events
 * @returns {object} see DEVELOPERS.md, "State and gate"
 */
export function fold(index, events) {
  const log = once(events);
  const state = blank();
  for (const event of standing(state, log)) HANDLERS.get(event.type)?.(state, index, event);
  settle(state);
  const last = log.at(-1);
  state.last = last ? { event: last.id, t: when(last) } : null;
  return state;
}

/** Each event once, by (time, id); the stored one rather than the phone's own copy of it. */
function once(events) {
  const found = new Map();
  for (const event of events) if (!found.has(event.id) || "seq" in event) found.set(event.id, event);
  return inOrder([...found.values()]);
}

function blank() {
  return {
    attempts: dictionary(), done: dictionary(), left_out: dictionary(), not_right: dictionary(),
    accepted: dictionary(), readings: dictionary(), photos: dictionary(), applied: dictionary(), stopped: null,
    paused: null, released: null, opened: null, people: dictionary(), film: dictionary(), film_first: {}, photo_draw: [], roles: null,
    decided: dictionary(), taken_back: dictionary(), amended: dictionary(), claimed: [], last: null,
  };
}

/** The events that count, as they read after take-backs, amendments and refusals, by (time, id). */
function standing(state, log) {
  const types = new Map(log.map((event) => [event.id, event.type]));
  const changes = new Map();
  for (const event of log) {
    const { of } = event.data;
    if (event.type === "taken-back" && REVOCABLE.has(types.get(of))) state.taken_back[of] ??= event.id;
    else if (event.type === "amended" && types.has(of)) changes.set(of, [...(changes.get(of) ?? []), event]);
  }
  for (const [of, these] of changes) state.amended[of] = these.map((event) => event.id);
  let live = log.filter((event) => !(event.id in state.taken_back));
  // An amended time may change the order.
  if (changes.size) live = inOrder(live.map((event) => amend(event, changes.get(event.id))));
  const outcomes = new Map();
  for (const { type, data } of live) if (type === "decided") outcomes.set(data.about, data.outcome);
  return live.filter((event) => outcomes.get(event.id) !== "refused" || !REFUSABLE.has(event.type));
}

/** An event as it reads after its changes, the last one of each field standing. */
function amend(event, changes) {
  if (!changes) return event;
  const read = { ...event, data: { ...event.data } };
  for (const { data } of changes) (data.field === "person" ? read : read.data)[data.field] = data.new;
  return read;
}

/** The event's keys on tasks of this sheet, each once, with the task's id and the attempt. */
function known(index, event) {
  return [...new Set(event.tasks)]
    .map((taskKey) => [taskKey, ...(split(taskKey) ?? [null, 0])])
    .filter(([, taskId]) => taskId in index.tasks);
}

function opened(state, _, event) {
  if (state.opened !== null) return;
  state.opened = when(event);
  Object.assign(state.people, event.data.people);
  state.photo_draw = [...event.data.photo_draw];
  state.film_first = event.data.film ?? {};
}

function done(state, index, event) {
  const answer = event.data.answer ?? null;
  for (const [taskKey, taskId] of known(index, event)) {
    const ok = (index.tasks[taskId].answer ?? []).every((choice) => choice.ok || choice.id !== answer);
    if (sign(state, taskKey, event, answer, ok)) {
      for (const hash of event.data.photos ?? []) (state.photos[taskKey] ??= []).push(hash);
    }
    // A fault that somebody saw stands, even if somebody else noted this task before.
    if (!ok) state.not_right[taskKey] ??= event.id;
  }
}

/** Whether this event is the one that counts as the key's done; if not, it is written down as `also`. */
function sign(state, taskKey, event, answer, ok) {
  const first = state.done[taskKey];
  if (first) {
    first.also.push(event.id);
    return false;
  }
  const window = event.window ?? null;
  const late = happened(event) !== null;
  state.done[taskKey] = {
    event: event.id, t: when(event), lo: window && (late ? 0 : window[0]), hi: window && window[1],
    person: event.person, noted_by: event.noted_by, phone: event.phone, awake: event.awake ?? null, answer, ok, late,
    also: [],
  };
  return true;
}

function reading(state, _, event) {
  const { reading: name, subject, value } = event.data;
  (state.readings[`${name}|${subject}`] ??= []).push([when(event), value, event.id]);
}

function spot(state, index, event) {
  const { panel, spot: n, values, remark = "" } = event.data;
  const { mean, used } = values.length ? spotMean(values, index.spread) : { mean: null, used: 0 };
  (state.film[panel] ??= []).push([when(event), n, mean, used, remark, event.id]);
}

function photo(state, index, event) {
  for (const [taskKey] of known(index, event)) (state.photos[taskKey] ??= []).push(event.data.hash);
}

function applied(state, _, event) {
  const { product, batch, expiry } = event.data;
  state.applied[product] = { batch, expiry, event: event.id };
}

function notRight(state, index, event) {
  for (const [taskKey] of known(index, event)) state.not_right[taskKey] ??= event.id;
}

function leftOut(state, index, event) {
  for (const [taskKey] of known(index, event)) state.left_out[taskKey] ??= event.id;
  claim(state, event);
}

function decided(state, _, event) {
  const { about, outcome, claimed, decider, customer = false } = event.data;
  const earlier = state.decided[about];
  // What no longer stands need not be confirmed.
  if (earlier?.claimed) state.claimed = state.claimed.filter((id) => id !== earlier.event);
  state.decided[about] = { outcome, event: event.id, claimed, t: when(event), decider, customer };
  claim(state, event);
}

function reopened(state, index, event) {
  for (const [, taskId, attempt] of known(index, event)) {
    state.attempts[taskId] = Math.min(Math.max(state.attempts[taskId] ?? 1, attempt + 1), ATTEMPTS);
  }
  state.released = null;
  claim(state, event);
}

function claim(state, event) {
  if (event.data.claimed) state.claimed.push(event.id);
}

function released(state, index, event) {
  for (const [taskKey] of known(index, event)) sign(state, taskKey, event, null, true);
  state.released = event.id;
}

const HANDLERS = new Map(Object.entries({
  "job-opened": opened, done, reading, spot, photo, applied, "not-right": notRight, "left-out": leftOut, decided, reopened,
  released,
  stopped: (state, _, event) => { state.stopped = event.id; },
  cleared: (state) => { state.stopped = null; },
  paused: (state, _, event) => { state.paused = event.id; },
  resumed: (state) => { state.paused = null; },
  "taken-over": (state) => { state.paused = null; },
  roles: (state, _, { data }) => { state.roles = { spreads: data.spreads, levels: data.levels }; },
}));

/** What decisions do to the rest: a confirmed claim waits no longer, an accepted fault no longer blocks. */
function settle(state) {
  const { decided: decisions } = state;
  state.claimed = state.claimed.filter((id) => !(id in decisions) || decisions[id].claimed);
  for (const [taskKey, event] of Object.entries(state.not_right)) {
    const decision = decisions[event];
    if (decision?.outcome === "accept-as-is") state.accepted[taskKey] = { event: decision.event, t: decision.t };
  }
}
