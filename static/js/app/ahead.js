// Looking ahead from one step: which window this work will open, and whether anybody is here to use it. Pure.

import { planOf, settled } from "./view.js";

const SLOT = 300000;
const SLOTS = 2016; // a week of five minutes
const LONG = 3600000;
const DAYS = { Mon: "mon", Tue: "tue", Wed: "wed", Thu: "thu", Fri: "fri", Sat: "sat", Sun: "sun" };

let known = { key: "", from: 0, slots: [] };

const minutes = (text) => Number(text.slice(0, 2)) * 60 + Number(text.slice(3));

/** Whether somebody is here, for each five minutes of a week from `from`: by the clock on the shop's wall. */
export function staffedSlots(staffed, zone, from) {
  const start = Math.floor(from / SLOT) * SLOT;
  const key = JSON.stringify([staffed, zone]);
  if (known.key === key && known.from <= start && start - known.from < 12 * SLOT) return known;
  const reader = new Intl.DateTimeFormat("en-GB", {
    timeZone: zone, weekday: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23",
  });
  const slots = Array.from({ length: SLOTS }, (_, n) => {
    const part = Object.fromEntries(reader.formatToParts(start + n * SLOT).map(({ type, value }) => [type, value]));
    const at = Number(part.hour) * 60 + Number(part.minute);
    return (staffed[DAYS[part.weekday]] ?? []).some(([opens, closes]) => at >= minutes(opens) && at < minutes(closes));
  });
  known = { key, from: start, slots };
  return known;
}

/** Is somebody here for `length` ms on end at some time between `a` and `b`? */
function there({ from, slots }, a, b, length) {
  let run = 0;
  for (let t = Math.ceil(a / SLOT) * SLOT; t < b; t += SLOT) {
    run = slots[(t - from) / SLOT] ? run + SLOT : 0;
    if (run >= Math.max(SLOT, length)) return true;
  }
  return false;
}

const labour = (groups) => groups.flatMap((group) => group.tasks).reduce((sum, task) => sum + task.labour_ms, 0);

/** The next long window that work not yet done will open: `{hold, task, first, last, work}`, times from a start, ms. */
function nextWindow(at, view) {
  const plan = planOf(at.sheet);
  const open = plan.groups.filter((group) => !settled(view.byGroup.get(group.id)));
  const place = (id) => open.findIndex((group) => group.tasks.some((task) => task.id === id));
  for (const group of open) {
    for (const task of group.tasks) {
      for (const hold of task.rescue ? [] : task.holds) {
        const since = hold.since.map(place);
        if ((hold.most ?? 0) < LONG || !since.length || since.some((n) => n < 0)) continue;
        const part = open[since[0]].part;
        const same = plan.groups.filter((one) => one.part === part);
        const before = open.slice(0, open.findIndex((one) => one.part === part));
        const begun = same.some((one) => settled(view.byGroup.get(one.id)));
        if (begun || before.some((one) => one.part !== view.part?.id)) return null;
        return { hold, task, part, lead: labour(before), work: labour(same), later: task.labour_ms };
      }
    }
  }
  return null;
}

/**
 * What must be known before a coat is begun: `{hold, opens, shuts, latest}`, the last start today that leaves somebody to
 * use the window; or `{hold, opens, shuts, better}` where a start now leaves nobody, and from when on one does; or null.
 */
export function windowAhead(at, view, staffed, zone) {
  const found = Object.values(staffed ?? {}).some((spans) => spans.length) ? nextWindow(at, view) : null;
  if (!found) return null;
  const { hold, lead, work, later } = found;
  const week = staffedSlots(staffed, zone, at.now);
  const here = (t) => week.slots[(Math.floor(t / SLOT) * SLOT - week.from) / SLOT];
  const open = (start) => [start + work + (hold.least ?? 0), start + hold.most];
  const good = (start) => there(week, ...open(start), later) && here(start + hold.most) !== undefined;
  const first = at.now + lead;
  const [opens, shuts] = open(first);
  if (!good(first)) {
    let better = first;
    for (let n = 0; n < SLOTS / 3 && !(here(better) && good(better)); n += 1) better += SLOT;
    return { hold, part: found.part, opens, shuts, better: good(better) ? better : null };
  }
  let latest = first;
  while (here(latest + SLOT) && good(latest + SLOT)) latest += SLOT;
  if (!here(latest + SLOT)) return null; // any start before closing will do
  return { hold, part: found.part, opens: latest + work + (hold.least ?? 0), shuts: latest + hold.most, latest };
}

/** The longest stretch of a wait that no reading of temperature speaks for: `[from, to]`, null where none is long. */
export function unmeasured(at, from, to) {
  const times = Object.entries(at.state.readings)
    .filter(([name]) => /^(air|surface)_temp\|/.test(name))
    .flatMap(([, rows]) => rows.map(([t]) => t))
    .filter((t) => t > from && t < to);
  const edges = [from, ...times.sort((a, b) => a - b), to];
  const gaps = edges.slice(1).map((t, n) => [edges[n], t]);
  const longest = gaps.reduce((a, b) => (b[1] - b[0] > a[1] - a[0] ? b : a));
  return longest[1] - longest[0] > 2 * LONG ? longest : null;
}
