// Coating with several panels wet at once: which panel next, which ones are wet, how many are wise. Pure.
//
// The look of the panel decides and the clock reminds: nothing here ever forbids levelling.

import { groupNow, keyOf, planOf } from "./view.js";

const has = (task, trait) => (task.traits ?? []).includes(trait);

/** Levelling takes the film that is on. */
export const isLevel = (task) => has(task, "level");

/** Spreading lays it. */
export const isSpread = (task) => has(task, "coat") && !isLevel(task);

/** Wiping makes the panel ready. */
export const isWipe = (task) => has(task, "wipe") && !isLevel(task) && !isSpread(task);

const isCoating = (task) => isLevel(task) || isSpread(task) || isWipe(task);

/** Is this group worked panel by panel on the coating screen? */
export const coatGroup = (group) => group.places.length === 1 && group.tasks.every(isCoating);

const median = (numbers) => [...numbers].sort((a, b) => a - b)[Math.floor(numbers.length / 2)];

function intervals(times, most) {
  const sorted = [...times].sort((a, b) => a - b).slice(-5);
  return sorted
    .slice(1)
    .map((t, i) => t - sorted[i])
    .filter((ms) => ms > 0 && ms < most);
}

/**
 * How many panels may be wet at once, the one being spread included, so that the last of them is still levelled in time.
 *
 * A panel that is spread while `wet` others wait is levelled after them: (wet + 1) × level after the next one began,
 * of which the spreading itself passes already. So (wet + 1) × level − spread ≤ latest.
 * @param {number|null} latest ms after spreading by which it must be level; null = no limit
 * @param {number} spread ms a panel takes to spread
 * @param {number} level ms a panel takes to level
 * @returns {number|null}
 */
export function advisedCap(latest, spread, level) {
  if (latest === null || level <= 0) return null;
  return Math.max(1, Math.floor((latest + Math.min(spread, level)) / level));
}

/** The least time in which a panel can be spread, ms: the sheet's, else a quarter of its labour and at most 15 s. */
const armsAfter = (task) => task.min_ms || Math.min(15000, Math.floor(task.labour_ms / 4));

/**
 * The coating of one part at one moment.
 * @returns {{wet: object[], next: object|null, armed: number, cap: number|null, over: number, total: number, late: object[], laid: number}}
 */
export function coatNow(at, partId) {
  const plan = planOf(at.sheet);
  const part = plan.parts.find((one) => one.id === partId);
  const groups = part.groups.filter(coatGroup);
  const nows = groups.map((group) => groupNow(group, at));
  const walk = (part.walk ?? [...new Set(groups.map((group) => group.places[0]))]).filter((panel) =>
    groups.some((group) => group.places[0] === panel),
  );
  const byPanel = new Map(walk.map((panel) => [panel, nows.filter((now) => now.group.places[0] === panel)]));
  const wet = [...byPanel].flatMap(([panel, list]) => wetOf(at, panel, list)).sort((a, b) => a.since - b.since);
  const open = [...byPanel]
    .map(([panel, list]) => ({ panel, now: list.find((now) => toLay(now)) }))
    .filter((one) => one.now);
  const next =
    open.find(({ now }) => now.state !== "waiting" && now.state !== "needs-first" && now.state !== "not-right") ??
    open[0] ??
    null;
  const spreads = groups.flatMap((group) => group.tasks.filter(isSpread));
  const levels = groups.flatMap((group) => group.tasks.filter(isLevel));
  const latest =
    levels.flatMap((task) => task.holds.map((hold) => hold.most)).find((most) => most !== null && most !== undefined) ??
    null;
  const spreadMs = pace(at, spreads);
  const levelMs = pace(at, levels);
  const laid = Math.max(
    -Infinity,
    ...[...spreads, ...groups.flatMap((group) => group.tasks.filter(isWipe))].map(
      (task) => at.state.done[keyOf(task, at.state)]?.t ?? -Infinity,
    ),
  );
  const over = walk.filter((panel) =>
    byPanel.get(panel).every((now) => now.state === "done" || now.state === "left-out"),
  );
  return {
    part,
    walk,
    byPanel,
    wet,
    next,
    open,
    cap: advisedCap(latest, spreadMs, levelMs),
    over: over.length,
    total: walk.length,
    laid,
    armed:
      next && next.now.group.tasks.some(isSpread) && laid > -Infinity
        ? laid + armsAfter(next.now.group.tasks.find(isSpread))
        : -Infinity,
    late: levels.filter((task) => lateBy(at, task) > 0).map((task) => ({ panel: task.place, by: lateBy(at, task) })),
  };
}

const toLay = (now) => now.state !== "done" && now.state !== "left-out" && !now.group.tasks.some(isLevel);

function wetOf(at, panel, list) {
  const levelling = list.find(
    (now) => now.group.tasks.some(isLevel) && now.state !== "done" && now.state !== "left-out",
  );
  const spread = list
    .flatMap((now) => now.group.tasks.filter(isSpread))
    .map((task) => at.state.done[keyOf(task, at.state)])
    .find(Boolean);
  if (!levelling || !spread) return [];
  const holds = levelling.group.tasks.find(isLevel).holds;
  const least = Math.max(0, ...holds.map((hold) => hold.least ?? 0));
  const mosts = holds.map((hold) => hold.most).filter((most) => most !== null && most !== undefined);
  return [
    {
      panel,
      now: levelling,
      since: spread.t,
      opens: spread.t + least,
      shuts: mosts.length ? spread.t + Math.min(...mosts) : null,
    },
  ];
}

function pace(at, tasks) {
  const times = tasks.map((task) => at.state.done[keyOf(task, at.state)]?.t).filter((t) => t !== undefined);
  const seen = intervals(times, 600000);
  return seen.length >= 2 ? median(seen) : Math.max(1, median(tasks.map((task) => task.labour_ms)) ?? 60000);
}

/** How late a panel was levelled, ms; 0 if in time or not levelled. */
function lateBy(at, task) {
  const done = at.state.done[keyOf(task, at.state)];
  if (!done) return 0;
  const plan = planOf(at.sheet);
  return Math.max(
    0,
    ...task.holds
      .filter((hold) => hold.most !== null)
      .map((hold) => {
        const since = hold.since
          .map((id) => at.state.done[keyOf(plan.tasks.get(id), at.state)]?.t)
          .filter((t) => t !== undefined);
        return since.length ? done.t - Math.min(...since) - hold.most : 0;
      }),
  );
}

/** Who spreads and who levels; null when one person does both. */
export const twoPeople = (state) => (state.roles && state.roles.spreads !== state.roles.levels ? state.roles : null);
