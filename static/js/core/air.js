// How far a surface keeps above the dew point: integers only, from the shared table. Twin of bayflow/trade/air.py.

import { ES, FIRST_DC } from "./es.js";

const LAST_DC = FIRST_DC + ES.length - 1;

const es = (tempDc) => ES[Math.min(Math.max(tempDc, FIRST_DC), LAST_DC) - FIRST_DC];

/**
 * Whether a surface is at least so far above the dew point of that air. Temperatures in tenths of a °C.
 * @param {number} surfaceDc
 * @param {number} airDc
 * @param {number} humidityPermille
 * @param {number} marginDc
 * @returns {boolean}
 */
export function marginKept(surfaceDc, airDc, humidityPermille, marginDc) {
  return es(surfaceDc - marginDc) * 1000 >= humidityPermille * es(airDc);
}

/**
 * The coldest surface, in tenths of a °C, that keeps the margin above the dew point of that air.
 * @param {number} airDc
 * @param {number} humidityPermille
 * @param {number} marginDc
 * @returns {number}
 */
export function surfaceNeeded(airDc, humidityPermille, marginDc) {
  let low = FIRST_DC;
  let high = LAST_DC;
  while (low < high) {
    const middle = (low + high) >> 1; // floors, as // does in Python
    if (es(middle) * 1000 >= humidityPermille * es(airDc)) high = middle;
    else low = middle + 1;
  }
  return low + marginDc;
}
