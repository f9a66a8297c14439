// What the unfolded car shows on each panel: texture, numeral, time, trouble. Pure.

import { clocksOf } from "./clocks.js";
import { keyOf } from "./view.js";

/** What the unfolded car shows on each panel: `panel id → {texture, numeral, until, trouble}`. */
export function panelLooks(at) {
  const opens = new Map(
    clocksOf(at)
      .filter((running) => running.opens > at.now)
      .map((running) => [running.task.place, running.opens])
      .reverse(),
  );
  const byPlace = Map.groupBy ? Map.groupBy(at.sheet.tasks, (task) => task.place) : grouped(at.sheet.tasks);
  return new Map(
    at.sheet.body.panels.map((panel) => [
      panel.id,
      panelLook(at, byPlace.get(panel.id) ?? [], opens.get(panel.id) ?? null),
    ]),
  );
}

function grouped(tasks) {
  const found = new Map();
  for (const task of tasks) found.set(task.place, [...(found.get(task.place) ?? []), task]);
  return found;
}

function panelLook(at, tasks, until) {
  let look = { texture: "", numeral: "" };
  let coats = 0;
  let trouble = false;
  for (const task of tasks) {
    const entry = at.gates[keyOf(task, at.state)];
    if (entry.state === "not-right") trouble = true;
    const traits = task.traits ?? [];
    if (entry.state === "done") {
      if (traits.includes("coat") && !traits.includes("level")) {
        coats += 1;
        look = { texture: coats > 1 ? "two" : "one", numeral: String(coats) };
      } else if (traits.includes("wipe") && !coats) look = { texture: "bare", numeral: "" };
    }
  }
  return { ...look, until, trouble };
}
