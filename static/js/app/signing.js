// Signing: one event for all that a group covers, and what must come before the signature.

import * as clock from "./clock.js";
import { note } from "./outbox.js";
import { wantedReadings } from "./readings.js";
import { go } from "./route.js";
import { wantedBatches, wantsPhoto } from "./view.js";

/**
 * Note a group as done. A clock that ran backwards is shown first, except where the step rescues the car.
 * @param {object} at the job as it stands
 * @param {object} now the group as it stands
 * @param {object} [data] answer, note, happened, photos
 * @param {string} [person] who did it, where that is not whoever holds the phone
 */
export async function sign(at, now, data = {}, person = undefined) {
  const rescue = now.open.every((entry) => entry.task.rescue);
  if (clock.ranBackwards() && !rescue && !data.happened) {
    go("job", at.job.id, "clockback", now.group.id);
    return null;
  }
  const early = now.because.some(([code]) => code === "early");
  return note(at.job.id, { type: "done", tasks: now.signable, data: early ? { early: true, ...data } : data, person });
}

/** Stop – unsafe: one tap, nothing asked first. */
export const stop = (at) => note(at.job.id, { type: "stopped", data: {} });

/**
 * What must be told before a group is signed, first things first:
 * `{kind: "batch", product}`, `{kind: "reading", reading, subjects}`, `{kind: "photo"}` or null.
 */
export function firstWanted(at, now) {
  const tasks = now.open.map((entry) => entry.task);
  const [product] = wantedBatches(at, tasks);
  if (product) return { kind: "batch", product };
  const [reading] = wantedReadings(at, tasks);
  if (reading) return { kind: "reading", ...reading };
  return wantsPhoto(now) ? { kind: "photo" } : null;
}

/** Which of the subjects a reading may be taken on serves most: a side of the car serves its panels. */
export const widest = (subjects) => subjects.find((one) => one.startsWith("side:")) ?? subjects[0];
