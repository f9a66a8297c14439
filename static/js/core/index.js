// The core as the phone runs it: sheet and log in, what may be done now out. Twin of bayflow/job.

export { canon, digest } from "./canon.js";
export { happened, inOrder, when } from "./events.js";
export { byTable, cureAbout, cureBinds, cureReadings, tableRate } from "./cure.js";
export { fold } from "./fold.js";
export { STATES, gate, judge, newest } from "./gate.js";
export { alone, difference, mean, removed, spotMean, standsApart, usual } from "./film.js";
export { first, lost, means, spots } from "./surveyed.js";
export { followers, key, makeIndex, split } from "./sheet.js";
export { marginKept, surfaceNeeded } from "./air.js";
