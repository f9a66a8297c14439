// What a job's screen shows, worked out from sheet, state, gate and person. Pure: no page, no clock, no disk.
//
// People sign *groups*: the tasks that one event covers. A group stands as its least advanced open task stands.

const RANK = ["stopped", "needs-first", "too-late", "waiting", "needs-reading", "out-of-limits", "needs-decision",
  "needs-other-person", "not-right", "ready"];
const plans = new WeakMap();

/** The key of a task's current attempt. */
export const keyOf = (task, state) => `${task.id}#${state.attempts[task.id] ?? 1}`;

/** The step's id within its procedure: `two-coat-protection/level-1`. */
export const stepOf = (task) => task.id.split("@")[0];

/**
 * Groups in walking order, and which part each belongs to; worked out once a sheet.
 * @returns {{groups: object[], byId: Map<string, object>, parts: object[], tasks: Map<string, object>}}
 */
export function planOf(sheet) {
  if (plans.has(sheet)) return plans.get(sheet);
  const byId = new Map();
  for (const task of sheet.tasks) {
    if (!byId.has(task.group)) byId.set(task.group, { id: task.group, part: task.part, tasks: [] });
    byId.get(task.group).tasks.push(task);
  }
  const groups = [...byId.values()];
  for (const group of groups) {
    group.lead = group.tasks.find((task) => task.id === group.id || group.id.startsWith(`${stepOf(task)}@`)) ?? group.tasks.at(-1);
    group.steps = [...new Map(group.tasks.map((task) => [stepOf(task), task])).values()];
    group.places = [...new Set(group.tasks.map((task) => task.place))].filter((place) => place && place !== "car");
  }
  const parts = sheet.parts.map((part) => ({ ...part, groups: groups.filter((group) => group.part === part.id) }));
  const plan = { groups, byId, parts, tasks: new Map(sheet.tasks.map((task) => [task.id, task])) };
  plans.set(sheet, plan);
  return plan;
}

const settled = (entry) => entry.state === "done" || entry.state === "left-out";

/**
 * How a group stands: `{group, state, until, because, who, open, keys, signable}`.
 * `keys` are the open current attempts; `signable` those that one event may sign now.
 */
export function groupNow(group, at) {
  const entries = group.tasks.map((task) => ({ task, key: keyOf(task, at.state), ...at.gates[keyOf(task, at.state)] }));
  const open = entries.filter((entry) => !settled(entry));
  if (!open.length) {
    const state = entries.every((entry) => entry.state === "left-out") ? "left-out" : "done";
    return { group, state, until: null, because: [], who: null, open: [], keys: [], signable: [] };
  }
  const sound = open.filter((entry) => entry.state !== "not-right");
  const worst = (sound.length ? sound : open).reduce((a, b) => (RANK.indexOf(b.state) < RANK.indexOf(a.state) ? b : a));
  const same = open.filter((entry) => entry.state === worst.state);
  const untils = same.map((entry) => entry.until).filter((until) => until !== null);
  const until = untils.length ? (worst.state === "waiting" ? Math.max(...untils) : Math.min(...untils)) : null;
  return {
    group, state: worst.state, until, because: distinct(same.flatMap((entry) => entry.because)), who: worst.who, open,
    keys: open.map((entry) => entry.key), signable: sound.map((entry) => entry.key),
    troubled: open.filter((entry) => entry.state === "not-right").map((entry) => entry.key),
  };
}

const distinct = (lists) => [...new Map(lists.map((list) => [JSON.stringify(list), list])).values()];

const ACTIONABLE = new Set(["ready", "needs-reading", "out-of-limits", "needs-decision", "needs-other-person"]);

/** Can somebody do something about it here and now? */
export const actionable = (now) => ACTIONABLE.has(now.state);

/** The person whose turn it may be: a doer can't check their own work. */
export const isBarred = (now, person) => now.state === "needs-other-person" && (now.who?.not ?? []).includes(person);

/** The last thing done: `{task, t, person, keys}` or null. */
export function lastDone(at) {
  const plan = planOf(at.sheet);
  let best = null;
  for (const [key, done] of Object.entries(at.state.done)) {
    const task = plan.tasks.get(key.slice(0, key.lastIndexOf("#")));
    if (task && (!best || done.t > best.t || (done.t === best.t && done.event > best.event))) best = { task: plan.byId.get(task.group).lead, t: done.t, person: done.person, event: done.event };
  }
  return best;
}

/** The last `count` signings: `[{event, t, person, tasks}]`, newest first. */
export function lastSigned(at, count) {
  const plan = planOf(at.sheet);
  const byEvent = new Map();
  for (const [key, done] of Object.entries(at.state.done)) {
    const task = plan.tasks.get(key.slice(0, key.lastIndexOf("#")));
    if (!task) continue;
    if (!byEvent.has(done.event)) byEvent.set(done.event, { event: done.event, t: done.t, person: done.person, tasks: [], keys: [] });
    byEvent.get(done.event).tasks.push(task);
    byEvent.get(done.event).keys.push(key);
  }
  return [...byEvent.values()].sort((a, b) => b.t - a.t || (a.event < b.event ? 1 : -1)).slice(0, count);
}

/**
 * The whole job at one moment, for the screen.
 * @param {object} at what `phone.standing` gives: sheet, state, gates, now
 * @param {string|null} wanted the group a person chose to do meanwhile
 */
export function viewOf(at, wanted = null) {
  const plan = planOf(at.sheet);
  const nows = plan.groups.map((group) => groupNow(group, at));
  const byGroup = new Map(nows.map((now) => [now.group.id, now]));
  const open = nows.filter((now) => !settled(now));
  const chosen = wanted ? byGroup.get(wanted) : null;
  const first = open[0] ?? null;
  const current = chosen && actionable(chosen) ? chosen : first;
  const parts = plan.parts.filter((part) => part.groups.length).map((part, i) => {
    const over = part.groups.filter((group) => settled(byGroup.get(group.id))).length;
    return { ...part, number: i + 1, over, total: part.groups.length };
  });
  const part = current ? parts.find((one) => one.id === current.group.part) : null;
  return {
    parts, part, nows, byGroup, current, chosen: current !== first, asked: current !== null && current === chosen,
    step: part ? part.groups.indexOf(current.group) + 1 : 0,
    next: current ? open.find((now) => now !== current && nows.indexOf(now) > nows.indexOf(current)) ?? null : null,
    meanwhile: open.filter((now) => now !== current && actionable(now)),
    troubled: nows.filter((now) => now.troubled?.length), last: lastDone(at), over: !open.length,
  };
}

/**
 * Running holds and windows of a job: `[{group, task, hold, opens, shuts, state}]`, one a group, most urgent first.
 */
export function clocksOf(at) {
  const plan = planOf(at.sheet);
  const found = new Map();
  for (const task of at.sheet.tasks) {
    const entry = at.gates[keyOf(task, at.state)];
    if (!task.holds.length || !entry || settled(entry)) continue;
    for (const hold of task.holds) {
      const times = hold.since.filter((id) => plan.tasks.get(id)?.group !== task.group).map((id) => began(at, plan.tasks.get(id)));
      if (!times.length || times.some((t) => t === null)) continue;
      const opens = hold.least === null ? null : Math.max(...times) + hold.least;
      const shuts = hold.most === null ? null : Math.min(...times) + hold.most;
      const known = found.get(task.group);
      if (!known || urgency({ opens, shuts }, at.now) < urgency(known, at.now)) {
        found.set(task.group, { group: task.group, task, hold, opens, shuts, state: entry.state, since: Math.max(...times) });
      }
    }
  }
  return [...found.values()].sort((a, b) => urgency(a, at.now) - urgency(b, at.now));
}

function began(at, task) {
  if (!task) return null;
  const key = keyOf(task, at.state);
  const done = at.state.done[key] ?? at.state.accepted[key];
  return done && !(at.state.not_right[key] && !at.state.accepted[key]) ? done.t : null;
}

/** What presses first: the next instant at which something shuts, else opens; what is over presses most. */
export function urgency(running, now) {
  if (running.shuts !== null) return running.shuts - now;
  return running.opens > now ? running.opens - now + 60000 : 1e15;
}

/**
 * Readings that a task's limits or its `measure` still want: `[{reading, subjects}]`, each once.
 * Subjects are those the reading may be taken on, the most particular first.
 */
export function wantedReadings(at, tasks) {
  const wanted = new Map();
  const want = (reading, subjects) => {
    if (newest(at, reading, subjects)) return;
    const key = `${reading}|${subjects.join()}`;
    if (!wanted.has(key)) wanted.set(key, { reading, subjects });
  };
  for (const task of tasks) {
    for (const limit of task.limits) {
      if (limit.reading === "dew_margin") {
        want("surface_temp", limit.of);
        want("air_temp", limit.air);
        want("humidity", limit.air);
      } else want(limit.reading, limit.of);
    }
    for (const reading of task.measure) want(reading, measureSubjects(at.sheet, task, reading));
  }
  return [...wanted.values()];
}

/** A measure step is about the air of the bay, or the car as a whole, or the place that it names. */
export function measureSubjects(sheet, task, reading) {
  if (sheet.readings[reading]?.about === "air") return ["air"];
  return task.place && task.place !== "car" ? [`panel:${task.place}`, "car"] : ["car"];
}

/** The newest reading on any of `subjects` that still counts: `{t, value, event, subject, until}` or null. */
export function newest(at, reading, subjects) {
  const valid = at.sheet.readings[reading]?.valid_ms ?? 0;
  let best = null;
  for (const subject of subjects) {
    for (const [t, value, event] of at.state.readings[`${reading}|${subject}`] ?? []) {
      if (t <= at.now && at.now - t <= valid && (!best || t > best.t || (t === best.t && event > best.event))) best = { t, value, event, subject, until: t + valid };
    }
  }
  return best;
}

/** Limits on one reading among these tasks: `{min, max}` with nulls. The dew margin is left to the gate. */
export function limitsOn(tasks, reading) {
  let min = null;
  let max = null;
  for (const limit of tasks.flatMap((task) => task.limits).filter((one) => one.reading === reading)) {
    if (limit.min !== undefined && limit.min !== null) min = min === null ? limit.min : Math.max(min, limit.min);
    if (limit.max !== undefined && limit.max !== null) max = max === null ? limit.max : Math.min(max, limit.max);
  }
  return { min, max };
}

/** Products these tasks use whose batch is still to be told. */
export function wantedBatches(at, tasks) {
  const products = [...new Set(tasks.flatMap((task) => task.use.map((use) => use.product)))];
  return products.filter((id) => at.sheet.products[id]?.track_batch && !at.state.applied[id]);
}

/** Products that these tasks use or mix. */
export const productsOf = (tasks) => [...new Set(tasks.flatMap((task) => [...task.use, ...task.mix].map((one) => one.product)))].filter(Boolean);

/** Must a photo be taken before this group is signed? */
export const wantsPhoto = (now) => now.because.some(([code]) => code === "photo");

/** What the unfolded car shows on each panel: `panel id → {texture, numeral, until, trouble}`. */
export function panelLooks(at) {
  const opens = new Map(clocksOf(at).filter((running) => running.opens > at.now).map((running) => [running.task.place, running.opens]).reverse());
  const byPlace = Map.groupBy ? Map.groupBy(at.sheet.tasks, (task) => task.place) : grouped(at.sheet.tasks);
  return new Map(at.sheet.body.panels.map((panel) => [panel.id, panelLook(at, byPlace.get(panel.id) ?? [], opens.get(panel.id) ?? null)]));
}

function grouped(tasks) {
  const found = new Map();
  for (const task of tasks) found.set(task.place, [...(found.get(task.place) ?? []), task]);
  return found;
}

function panelLook(at, tasks, until) {
  let look = { texture: "", numeral: "" };
  let coats = 0;
  let trouble = false;
  for (const task of tasks) {
    const entry = at.gates[keyOf(task, at.state)];
    if (entry.state === "not-right") trouble = true;
    const traits = task.traits ?? [];
    if (entry.state === "done") {
      if (traits.includes("coat") && !traits.includes("level")) {
        coats += 1;
        look = { texture: coats > 1 ? "two" : "one", numeral: String(coats) };
      } else if (traits.includes("wipe") && !coats) look = { texture: "bare", numeral: "" };
    }
  }
  return { ...look, until, trouble };
}
