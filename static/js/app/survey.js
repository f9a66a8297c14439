// A thickness survey as it is typed: readings, spots, what is odd at a panel's end. Pure: a draft in, a draft out.
//
// A draft is one panel: {spots: [{values, raw, was, remark, need}], typed, was, more, sure}. Values are whole tenths of a
// micrometre; `raw` is what was typed, `was` what stood there first where a value was climbed back into.

import { alone, means, spotMean, standsApart, usual } from "../core/index.js";
import { keyOf } from "./view.js";

const READINGS = 3;
const MOST = 9;
const THICKEST = 50000;

/** Back goes into a panel that was closed at most so long ago (our own figure); later it is taken back in the log. */
const BACK_MS = 600000;

export const blank = () => ({ spots: [], typed: "", was: "", more: 0, sure: false });

/** A typed number as tenths of a micrometre, or null. In mil a number without a point has its decimal set: 47 is 4.7 mil. */
export function toFilm(text, mil) {
  const found = /^(\d{1,4})(?:[.,](\d{0,2}))?$/.exec(text);
  if (!found) return null;
  const hundredths = Number(found[1]) * 100 + Number((found[2] ?? "").padEnd(2, "0"));
  const value = mil
    ? Math.round((hundredths * 254) / (found[2] === undefined ? 1000 : 100))
    : Math.round(hundredths / 10);
  return value <= THICKEST ? value : null;
}

/** A digit or a point on the pad. */
export function press(draft, name) {
  const full = /[.,]\d\d$/.test(draft.typed) || draft.typed.replace(/\D/g, "").length >= 4;
  const good = name === "." ? /^\d+$/.test(draft.typed) : !full;
  return good ? { ...draft, typed: draft.typed + name } : draft;
}

/** The spot that is being read: one with readings still to come, or null. */
const openSpot = (draft) => draft.spots.find((spot) => !spot.remark && spot.values.length < spot.need) ?? null;

const withSpot = (draft, old, fresh) => ({
  ...draft,
  sure: false,
  spots: old ? draft.spots.map((spot) => (spot === old ? fresh : spot)) : [...draft.spots, fresh],
});

/** One reading more. */
export function take(draft, value, raw, need = READINGS) {
  const old = openSpot(draft);
  const spot = old ?? { values: [], raw: [], was: [], remark: "", need };
  const was = draft.was && draft.was !== raw ? draft.was : "";
  const fresh = {
    ...spot,
    values: [...spot.values, value],
    raw: [...spot.raw, raw],
    was: [...spot.was, was],
  };
  return { ...withSpot(draft, old, fresh), typed: "", was: "" };
}

/** The reading before once more, at the same spot; the draft as it is where there is none. */
export function again(draft) {
  const spot = openSpot(draft);
  return spot?.values.length ? take(draft, spot.values.at(-1), spot.raw.at(-1)) : draft;
}

/** May the reading before be taken again? May this spot be said to have none? */
export const canRepeat = (draft) => Boolean(openSpot(draft)?.values.length) && !draft.typed;
export const canRemark = (draft) => !openSpot(draft) && !draft.typed;

/** This spot has no reading: plastic, filler, or out of reach. */
export const remark = (draft, why) =>
  withSpot(draft, null, { values: [], raw: [], was: [], remark: why, need: READINGS });

/** Back: a digit, else into the last value, which keeps what stood there first; null where nothing is left on this panel. */
export function erase(draft) {
  if (draft.typed) return { ...draft, typed: draft.typed.slice(0, -1) };
  const open = openSpot(draft);
  const last = open?.values.length ? open : draft.spots.at(-1);
  if (!last) return null;
  const kept = last.remark || last.values.length < 2 ? [] : [{ ...last, ...cut(last) }];
  const spots = draft.spots.flatMap((spot) => (spot === last ? kept : [spot]));
  return { ...draft, spots, sure: false, typed: last.raw.at(-1) ?? "", was: last.was.at(-1) || (last.raw.at(-1) ?? "") };
}

const cut = ({ values, raw, was, need }) => ({
  values: values.slice(0, -1),
  raw: raw.slice(0, -1),
  was: was.slice(0, -1),
  need: Math.max(need, values.length),
});

/** The numbers in a text that a gauge, its file, a voice or a second person gave: `[{value, raw}]`, what is none left out. */
export function numbers(text, mil) {
  const units = [...text.matchAll(/(\d+(?:[.,]\d+)?)\s*(?:µm|μm|um|mils?)\b/gi)].map((found) => found[1]);
  const plain = [...text.matchAll(/\d+(?:\.\d+|,\d{1,2}(?!\d))?/g)].map((found) => found[0]);
  return (units.length ? units : plain)
    .map((raw) => ({ raw, value: toFilm(raw, mil) }))
    .filter(({ value }) => value !== null);
}

/** The task that reads a panel, and whether it is still open. */
export function taskOf(at, panel) {
  const task = at.sheet.tasks.find((one) => one.place === panel && one.measure.includes("film"));
  const state = task && at.gates[keyOf(task, at.state)].state;
  return { task, open: Boolean(task) && state !== "done" && state !== "left-out" };
}

/** What a panel asks for: `{spots, readings}` a spot, by its part and its size. */
export function planned(at, panel) {
  const part = at.sheet.parts.find((one) => one.id === taskOf(at, panel).task?.part);
  const size = at.sheet.body.panels.find((one) => one.id === panel)?.spots ?? 1;
  return { spots: part?.spots === "all" ? Math.max(1, size) : 1, readings: part?.spots === "one reading" ? 1 : READINGS };
}

/** The mean of a panel's spots so far, by what is noted; null without any. */
export function panelMean(at, panel) {
  const known = Object.values(means(at.state, panel, at.now)).map(([mean]) => mean);
  return known.length ? Math.round(known.reduce((a, b) => a + b, 0) / known.length) : null;
}

/** Means of the car's panels other than this one. */
const others = (at, panel) =>
  at.sheet.body.panels
    .filter((one) => one.id !== panel)
    .map((one) => panelMean(at, one.id))
    .filter((mean) => mean !== null);

/** The mean of a spot as it stands. */
export const meanOf = (at, spot) => spotMean(spot.values, at.index.spread).mean;

/**
 * How a draft stands: `{spot, of, reading, over, doubt}`: the number of the spot being read and of those planned, the reading
 * that comes next, whether the panel is at its end, and the one question then: {kind: "alone", spot}, {kind: "apart", mean,
 * usual} or null.
 */
export function standing(at, panel, draft) {
  const plan = planned(at, panel);
  const open = openSpot(draft);
  const of = Math.max(plan.spots + draft.more, draft.spots.length);
  const whole = draft.spots.some((spot) => spot.remark === "plastic" || spot.remark === "filler");
  const over = !open && !draft.typed && draft.spots.length > 0 && (whole || draft.spots.length >= of);
  const n = open ? draft.spots.indexOf(open) + 1 : Math.min(draft.spots.length + 1, of);
  const doubt = over && !draft.sure ? doubtOf(at, panel, draft) : null;
  return { spot: n, of, reading: (open?.values.length ?? 0) + 1, readings: plan.readings, open, over, doubt };
}

function doubtOf(at, panel, draft) {
  const { spread } = at.index;
  const read = draft.spots.filter((spot) => spot.values.length);
  const lone = read.find((spot) => {
    const odd = alone(spot.values, spread).length;
    return odd > 0 && spot.values.length - odd < READINGS && spot.values.length < MOST;
  });
  if (lone) return { kind: "alone", spot: lone };
  if (!read.length || draft.spots.length >= MOST) return null;
  const mean = Math.round(read.reduce((sum, spot) => sum + meanOf(at, spot), 0) / read.length);
  const rest = others(at, panel);
  const apart = standsApart(mean, rest, at.sheet.readings.film?.apart ?? THICKEST);
  return apart ? { kind: "apart", mean, usual: usual(rest) } : null;
}

/** One more reading of a spot that did not repeat; one more spot where the panel differs; or it reads so. */
export const onceMore = (draft, spot) => withSpot(draft, spot, { ...spot, need: spot.values.length + 1 });
export const moreSpots = (draft) => ({ ...draft, more: draft.more + 1 });
export const itReadsSo = (draft) => ({ ...draft, sure: true });

/** The events of a spot, as data. */
export const spotData = (panel, draft, gauge, substrate) =>
  draft.spots.map(({ values, raw, was, remark: why }, n) => ({
    panel,
    spot: n + 1,
    values,
    raw,
    ...(was.some(Boolean) ? { was } : {}),
    ...(why ? { remark: why } : {}),
    ...(gauge ? { gauge } : {}),
    ...(substrate ? { substrate } : {}),
  }));

/**
 * The panel that this phone closed last, in the part of `panel` and in the last ten minutes, with its spots as a draft
 * again: `{panel, events, draft}`, or null.
 */
export function lastClosed(at, panel, phone) {
  const part = taskOf(at, panel).task?.part;
  let last = null;
  for (const task of at.sheet.tasks.filter((one) => one.part === part && one.measure.includes("film"))) {
    const done = at.state.done[keyOf(task, at.state)];
    if (!done || done.phone !== phone || at.now - done.t > BACK_MS) continue;
    if (!last || done.t > last.done.t || (done.t === last.done.t && done.event > last.done.event)) last = { task, done };
  }
  if (!last) return null;
  const closed = last.task.place;
  const rows = (at.state.film[closed] ?? []).map((row) => at.events.find((event) => event.id === row[5]));
  const own = rows.filter((event) => event?.tasks.includes(keyOf(last.task, at.state)));
  const spots = own.map(({ data }) => ({
    values: data.values,
    raw: data.raw,
    was: data.was ?? data.raw.map(() => ""),
    remark: data.remark ?? "",
    need: Math.max(data.values.length, 1),
  }));
  return { panel: closed, events: [...own.map((event) => event.id), last.done.event], draft: { ...blank(), spots } };
}
