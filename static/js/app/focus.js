// Which step a person chose to do out of turn, a job; forgotten as soon as it is done.

import { phone, set } from "./phone.js";

/** The group chosen in a job, or null. */
export const focusOf = (job) => phone.settings.focus?.[job] ?? null;

/** Choose a group, or none. */
export const focusOn = (job, group) =>
  set("settings", { ...phone.settings, focus: { ...phone.settings.focus, [job]: group } });
