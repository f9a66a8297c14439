// Times, waits and readings as people read them. Times are shown in the shop's zone, whatever the phone is set to.

import { language, say } from "./words.js";

const makers = new Map();

function maker(zone, options) {
  const key = `${language()}|${zone}|${JSON.stringify(options)}`;
  if (!makers.has(key)) {
    let made;
    try {
      made = new Intl.DateTimeFormat(language(), { ...options, timeZone: zone });
    } catch {
      made = new Intl.DateTimeFormat(language(), { ...options, timeZone: "UTC" });
    }
    makers.set(key, made);
  }
  return makers.get(key);
}

/** `14:02`, or `14:02:50` with seconds. */
export const clock = (ms, zone, seconds = false) =>
  maker(zone, {
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
    ...(seconds ? { second: "2-digit" } : {}),
  }).format(ms);

const day = (ms, zone) => maker(zone, { year: "numeric", month: "2-digit", day: "2-digit" }).format(ms);

/** `14:02` today, else `Sat 14:02`, and with the date when it is more than six days off. */
export function moment(ms, zone, now) {
  if (day(ms, zone) === day(now, zone)) return clock(ms, zone);
  const far = Math.abs(ms - now) > 6 * 86400000;
  const name = maker(zone, far ? { day: "numeric", month: "short" } : { weekday: "short" }).format(ms);
  return `${name} ${clock(ms, zone)}`;
}

/** A length of time, ms: `41 s`, `1 min 21 s`, `12 min`, `3 h 05 min`, `2 d 4 h`. A wait is rounded up. */
export function span(ms) {
  const s = Math.ceil(Math.max(0, ms) / 1000);
  if (s < 60) return `${s} s`;
  if (s < 600) return s % 60 ? `${Math.floor(s / 60)} min ${s % 60} s` : `${s / 60} min`;
  const min = Math.ceil(s / 60);
  if (min < 60) return `${min} min`;
  if (min < 48 * 60) return `${Math.floor(min / 60)} h ${String(min % 60).padStart(2, "0")} min`;
  return say("days", { d: Math.floor(min / 1440), h: Math.floor((min % 1440) / 60) });
}

/** The same for time that has passed or counts: cut to whole minutes, never more than it was. */
export const spanDown = (ms) => span(ms < 60000 ? 0 : Math.floor(ms / 60000) * 60000);

/** A short time for arm's length: plain seconds up to five minutes. */
export const seconds = (ms) => (ms < 300000 ? `${Math.ceil(Math.max(0, ms) / 1000)} s` : span(ms));

const decimal = (tenths) =>
  new Intl.NumberFormat(language(), { minimumFractionDigits: 1, maximumFractionDigits: 1 }).format(tenths / 10);

/** Tenths of a degree Celsius in the shop's unit, as tenths. Rounds half away from zero. */
export function toShown(value, unit, units) {
  if (unit !== "dc" || units !== "F") return value;
  const tenths = (value * 9) / 5 + 320;
  return Math.sign(tenths) * Math.round(Math.abs(tenths));
}

/** Whole degrees for what is only estimated; a difference of temperatures is converted as one. */
export const wholeDegrees = (dc, units, difference = false) =>
  `${Math.round(units === "F" ? (dc * 0.9) / 5 + (difference ? 0 : 32) : dc / 10)}\u00a0°${units}`;

/** A typed number in the shop's unit as the sheet's integer, or null if it is no number. */
export function fromTyped(text, unit, units) {
  if (!/^-?\d{1,4}([.,]\d)?$/.test(text)) return null;
  const [, sign, whole, part] = /^(-?)(\d+)(?:[.,](\d))?$/.exec(text);
  const tenths = (sign ? -1 : 1) * (Number(whole) * 10 + Number(part ?? 0));
  if (unit === "dc" && units === "F") {
    const dc = ((tenths - 320) * 5) / 9;
    return Math.sign(dc) * Math.round(Math.abs(dc)) + 0;
  }
  return tenths + 0;
}

/** The sign of a unit as shown. */
export const unitSign = (unit, units) => ({ dc: units === "F" ? "°F" : "°C", permille: "%", dgu: "GU" })[unit] ?? "";

/** A reading's value with its unit. */
export function value(number, unit, units) {
  if (unit === "yesno") return say(number ? "yes" : "no");
  if (unit === "dum") return film(number, units);
  return `${decimal(toShown(number, unit, units))} ${unitSign(unit, units)}`.trim();
}

/** A film of so many tenths of a µm, as gauges show it; `fine` one digit finer, without its `sign` on request. */
export function film(dum, units, { fine = false, sign = true } = {}) {
  const digits = (units === "F" ? 1 : 0) + (fine ? 1 : 0);
  const shown = new Intl.NumberFormat(language(), { maximumFractionDigits: digits, minimumFractionDigits: digits });
  const text = shown.format(units === "F" ? dum / 254 : dum / 10);
  return sign ? `${text} ${units === "F" ? "mil" : "µm"}` : text;
}

const about = (value, digits) => new Intl.NumberFormat(language(), { maximumFractionDigits: digits, useGrouping: false }).format(value);

const GALLON_ML = 3785.411784;

/** Millilitres to measure out: `12 mL`, `10 L`; in a US shop `0.41 oz (12 mL)`, `2.64 gal (10 L)`. As trade/units.py. */
export function volume(ml, units) {
  const metric = ml >= 1000 ? `${about(Math.round(ml / 10) / 100, 2)} L` : `${ml} mL`;
  if (units !== "F") return metric;
  const oz = (ml * 128) / GALLON_ML;
  return `${oz >= 128 ? `${about(oz / 128, 2)} gal` : `${about(oz, oz < 1 ? 2 : 1)} oz`} (${metric})`;
}

/** A typed length as whole millimetres, typed in inches in a US shop; null if it is no length below 10 m. */
export function typedLength(text, units) {
  if (!/^\d{1,4}([.,]\d{1,2})?$/.test(text)) return null;
  const mm = Math.round(Number(text.replace(",", ".")) * (units === "F" ? 25.4 : 1));
  return mm < 10000 ? mm : null;
}
