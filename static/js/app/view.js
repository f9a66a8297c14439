// What a job's screen shows, worked out from sheet, state, gate and person. Pure: no page, no clock, no disk.
//
// People sign *groups*: the tasks that one event covers. A group stands as its least advanced open task stands.

const RANK = [
  "stopped",
  "needs-first",
  "too-late",
  "waiting",
  "needs-reading",
  "out-of-limits",
  "needs-decision",
  "needs-other-person",
  "not-right",
  "ready",
];

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
    group.lead =
      group.tasks.find((task) => task.id === group.id || group.id.startsWith(`${stepOf(task)}@`)) ?? group.tasks.at(-1);
    group.steps = [...new Map(group.tasks.map((task) => [stepOf(task), task])).values()];
    group.places = [...new Set(group.tasks.map((task) => task.place))].filter((place) => place && place !== "car");
  }
  const parts = sheet.parts.map((part) => ({ ...part, groups: groups.filter((group) => group.part === part.id) }));
  const plan = { groups, byId, parts, tasks: new Map(sheet.tasks.map((task) => [task.id, task])) };
  plans.set(sheet, plan);
  return plan;
}

/** Is there nothing left to do? */
export const settled = (entry) => entry.state === "done" || entry.state === "left-out";

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
    group,
    state: worst.state,
    until,
    because: distinct(same.flatMap((entry) => entry.because)),
    who: worst.who,
    open,
    keys: open.map((entry) => entry.key),
    signable: sound.map((entry) => entry.key),
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
    if (task && (!best || done.t > best.t || (done.t === best.t && done.event > best.event)))
      best = { task: plan.byId.get(task.group).lead, t: done.t, person: done.person, event: done.event };
  }
  return best;
}

/** The last `count` signings: `[{event, t, person, group, keys}]`, newest first. */
export function lastSigned(at, count) {
  const plan = planOf(at.sheet);
  const byEvent = new Map();
  for (const [key, done] of Object.entries(at.state.done)) {
    const task = plan.tasks.get(key.slice(0, key.lastIndexOf("#")));
    if (!task) continue;
    if (!byEvent.has(done.event))
      byEvent.set(done.event, {
        event: done.event,
        t: done.t,
        person: done.person,
        group: plan.byId.get(task.group),
        keys: [],
      });
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
  // a group that waits for others is not the next one: its turn comes when those further down are done
  const first = open.find((now) => now.state !== "needs-first") ?? open[0] ?? null;
  const current = chosen && actionable(chosen) ? chosen : first;
  const parts = plan.parts
    .filter((part) => part.groups.length)
    .map((part, i) => {
      const over = part.groups.filter((group) => settled(byGroup.get(group.id))).length;
      return { ...part, number: i + 1, over, total: part.groups.length };
    });
  const part = current ? parts.find((one) => one.id === current.group.part) : null;
  return {
    parts,
    part,
    nows,
    byGroup,
    current,
    chosen: current !== first,
    asked: current !== null && current === chosen,
    step: part ? part.groups.indexOf(current.group) + 1 : 0,
    next: current ? (open.find((now) => now !== current && nows.indexOf(now) > nows.indexOf(current)) ?? null) : null,
    meanwhile: open.filter((now) => now !== current && actionable(now)),
    troubled: nows.filter((now) => now.troubled?.length),
    last: lastDone(at),
    over: !open.length,
  };
}

/** Products these tasks use whose batch is still to be told. */
export function wantedBatches(at, tasks) {
  const products = [...new Set(tasks.flatMap((task) => task.use.map((use) => use.product)))];
  return products.filter((id) => at.sheet.products[id]?.track_batch && !at.state.applied[id]);
}

/** Products that these tasks use or mix. */
export const productsOf = (tasks) =>
  [...new Set(tasks.flatMap((task) => [...task.use, ...task.mix].map((one) => one.product)))].filter(Boolean);

/** Must a photo be taken before this group is signed? */
export const wantsPhoto = (now) => now.because.some(([code]) => code === "photo");
