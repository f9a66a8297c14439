// Holds and windows that run, most urgent first. Pure.

import { keyOf, planOf, settled } from "./view.js";

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
      const times = hold.since
        .filter((id) => plan.tasks.get(id)?.group !== task.group)
        .map((id) => began(at, plan.tasks.get(id)));
      if (!times.length || times.some((t) => t === null)) continue;
      const opens = hold.least === null ? null : Math.max(...times) + hold.least;
      const shuts = hold.most === null ? null : Math.min(...times) + hold.most;
      const known = found.get(task.group);
      if (!known || urgency({ opens, shuts }, at.now) < urgency(known, at.now)) {
        found.set(task.group, {
          group: task.group,
          task,
          hold,
          opens,
          shuts,
          state: entry.state,
          since: Math.max(...times),
        });
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
