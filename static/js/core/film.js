// Film thickness in whole tenths of a micrometre. Twin of bayflow/trade/film.py, which says what each rule is.

const LEAST_READINGS = 3;
const PARTS = 2520;
const FAR = 10000;

const sum = (numbers) => numbers.reduce((a, b) => a + b, 0);

/** The mean to the nearest whole number, halves up. */
export const mean = (values) => Math.floor((2 * sum(values) + values.length) / (2 * values.length));

/** Indexes of the readings that no other reading of their spot repeats. */
export function alone(values, spread) {
  if (!spread || values.length < LEAST_READINGS) return [];
  const far = 18 * spread * spread;
  return [...values.keys()].filter((n) => values.every((other, m) => m === n || (values[n] - other) ** 2 > far));
}

/**
 * The mean of a spot without the readings that do not repeat.
 * @param {number[]} values
 * @param {number} spread
 * @returns {{mean: number, used: number, dropped: number[]}}
 */
export function spotMean(values, spread) {
  let dropped = alone(values, spread);
  if (values.length - dropped.length < LEAST_READINGS) dropped = [];
  const used = values.filter((_, n) => !dropped.includes(n));
  return { mean: mean(used), used: used.length, dropped };
}

/** What this car's panels usually read: the median, or null. */
export function usual(means) {
  if (!means.length) return null;
  const ranked = [...means].sort((a, b) => a - b);
  const middle = ranked.length >> 1;
  return ranked.length % 2 ? ranked[middle] : Math.floor((ranked[middle - 1] + ranked[middle]) / 2);
}

/** How far a panel lies from what at least three others usually read, if by more than `apart`; else 0. */
export function standsApart(panel, others, apart) {
  const known = usual(others);
  return known === null || others.length < 3 || Math.abs(panel - known) <= apart ? 0 : panel - known;
}

/**
 * What a panel lost over the spots read in both surveys, `{spot: [mean, readings]}` each, and whether that is more than noise.
 * @returns {{lost: number, real: boolean}|null}
 */
export function difference(first, last, spread) {
  const both = Object.keys(first).filter((spot) => spot in last);
  if (!both.length) return null;
  const total = sum(both.map((spot) => first[spot][0] - last[spot][0]));
  const share = sum(both.map((spot) => Math.floor(PARTS / first[spot][1]) + Math.floor(PARTS / last[spot][1])));
  const real = Math.min(Math.abs(total), FAR) ** 2 * 625 * PARTS > 2401 * spread * spread * share;
  const lost = Math.floor((2 * Math.abs(total) + both.length) / (2 * both.length));
  return { lost: total >= 0 ? lost : -lost, real };
}

/** What counts against the budget: a loss that is more than noise; else 0. */
export const removed = (found) => (found?.real && found.lost > 0 ? found.lost : 0);
