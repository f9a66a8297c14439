// What time it is at the shop, as far as this phone can tell, and what it can witness about its own clock.
//
// The shop's time is read off `Date.now()` less the offset measured at the last contact. `mono` never runs while
// the phone sleeps and never jumps: it is evidence, not a clock. A page has no boot id, so each load draws one.

const ALPHABET = "abcdefghijklmnopqrstuvwxyz234567";

/** Slack for a clock that a network corrects by itself, in ms (our own figure, untuned). */
const SLACK = 5000;

let offset = 0;

let floor = 0;

let frame = null;

/**
 * A random id in lower-case base32.
 * @param {number} length characters; 26 carry 130 bits
 */
export function randomId(length = 26) {
  const bytes = crypto.getRandomValues(new Uint8Array(length));
  return Array.from(bytes, (byte) => ALPHABET[byte & 31]).join("");
}

/** This page load's own name. */
export const page = randomId(13);

/** Milliseconds this page has been awake. */
export const mono = () => Math.round(performance.now());

/** This phone's clock, ms UTC. */
export const wall = () => Date.now();

/** The shop's time by this phone's clock and the last measured offset, ms UTC; one moment for a whole picture. */
export const now = () => frame ?? Date.now() - offset;

/** Do `work` in one moment: all that asks for the time while it runs hears the same. */
export function inOneMoment(work) {
  frame = Date.now() - offset;
  try {
    return work();
  } finally {
    frame = null;
  }
}

/** Phone clock minus shop clock at the last contact, ms. */
export const lastOffset = () => offset;

/** The four numbers that every row carries about its moment. */
export const stamp = () => ({ page, mono: mono(), wall: wall() });

/** Take up what was known before this page was loaded. */
export function restore(known) {
  offset = known?.offset ?? 0;
  floor = known?.floor ?? 0;
}

/**
 * Phone clock minus shop clock, ms, taking the answer to have been made half-way between asking and hearing.
 * @param {number} asked wall when the question left
 * @param {number} heard wall when the answer came
 * @param {number} server shop's time in the answer
 */
export const offsetOf = (asked, heard, server) => Math.round((asked + heard) / 2) - server;

/** A contact: measure again, and let stamps start from here. */
export function measured(asked, heard, server) {
  offset = offsetOf(asked, heard, server);
  floor = heard;
}

/** A row was stamped: time may not run behind it until the next contact. */
export function stamped(at) {
  floor = Math.max(floor, at);
}

/** The latest moment this phone has already seen by its own clock. */
export const latestSeen = () => floor;

/** True when the phone's clock stands before something that it already stamped. */
export const ranBackwards = (at = Date.now()) => at < floor - SLACK;
