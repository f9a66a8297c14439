// Calls for windows: once when one opens, once shortly before one shuts. The screen says the same; sound is never alone.
// A step in hand is not disturbed by another car, except by a window with a latest time.

import { now } from "./clock.js";
import { clocksOf } from "./clocks.js";
import { callOpens, callShuts } from "./feel.js";
import { standing } from "./phone.js";

const called = new Set();

const SOON_MS = 15000;

const FRESH_MS = 5000;

let lastLook = 0;

/**
 * Look at all running clocks; to be called about once a second.
 * @param {object[]} jobs
 * @param {string|null} inHand the job whose step is on the screen
 */
export function alarms(jobs, inHand) {
  const when = now();
  if (when - lastLook < 900) return;
  lastLook = when;
  for (const job of jobs) {
    const at = standing(job.id, when);
    if (!at || at.state.released) continue;
    for (const running of clocksOf(at)) {
      if (inHand === null || job.id === inHand || running.shuts !== null) once(job.id, running, when);
    }
  }
}

function once(job, { group, opens, shuts }, when) {
  const name = `${job}${group}`;
  if (opens !== null && when >= opens && when - opens < FRESH_MS && !called.has(`${name}${opens}`)) {
    called.add(`${name}${opens}`);
    callOpens();
  }
  if (shuts !== null && when < shuts && shuts - when <= SOON_MS && !called.has(`${name}${shuts}!`)) {
    called.add(`${name}${shuts}!`);
    callShuts();
  }
}
