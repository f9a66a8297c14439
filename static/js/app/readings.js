// Which readings a step still wants, which still count, and against which limits. Pure.

import { spots } from "../core/index.js";

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
      } else if (limit.reading === "film") {
        for (const subject of limit.of) {
          if (!filmRead(at, subject)) wanted.set(`film|${subject}`, { reading: "film", subjects: [subject] });
        }
      } else if (limit.reading !== "film_removed") want(limit.reading, limit.of);
    }
    for (const reading of task.measure.filter((one) => one !== "film")) want(reading, measureSubjects(at.sheet, task, reading));
  }
  return [...wanted.values()];
}

/** Has this panel a spot that still counts? A film has no other subject than its panel. */
const filmRead = (at, subject) =>
  spots(at.state, subject.slice(subject.indexOf(":") + 1), at.now).some(([t]) => at.now - t <= at.index.validity.film);

/** A measure step is about the air of the bay, or the car as a whole, or the place that it names. */
export function measureSubjects(sheet, task, reading) {
  const about = sheet.readings[reading]?.about;
  if (about === "air") return ["air"];
  if (about === "whole car") return ["car"];
  return task.place && task.place !== "car" ? [`panel:${task.place}`, "car"] : ["car"];
}

/** The newest reading on any of `subjects` that still counts: `{t, value, event, subject, until}` or null. */
export function newest(at, reading, subjects) {
  const valid = at.sheet.readings[reading]?.valid_ms ?? 0;
  let best = null;
  for (const subject of subjects) {
    for (const [t, value, event] of at.state.readings[`${reading}|${subject}`] ?? []) {
      if (t <= at.now && at.now - t <= valid && (!best || t > best.t || (t === best.t && event > best.event)))
        best = { t, value, event, subject, until: t + valid };
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
