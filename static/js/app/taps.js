// Taps with wet gloves: a second tap on the main button within 800 ms is water or a bounce, and is ignored.
// Space and Enter are the main button wherever nothing else has the focus, so a pedal or a presenter key works.

import { hush, tick } from "./feel.js";
import { changed, phone } from "./phone.js";
import { say } from "./words.js";

/** A repeat tap within this many ms is ignored (our own figure). */
const REPEAT_MS = 800;

/** The second of two taps comes at the earliest this many ms after the first (our own figure). */
const SECOND_MS = 200;

let last = -Infinity;

let shown = 0;

/**
 * The handler of a main button: does its work once a tap, answers to the fingers, and says so when the disk refused.
 * @param {() => any} work
 */
export const mainTap = (work) => async (event) => {
  event?.preventDefault?.();
  const at = performance.now();
  if (at - last < REPEAT_MS) return;
  last = at;
  await attempt(work);
};

/** The handler of any other button: the same, without the pause. */
export const tap = (work) => async (event) => {
  event?.preventDefault?.();
  await attempt(work);
};

/** The second of two taps: too soon after its screen came up, it does nothing. */
export const secondTap = (work) => async (event) => {
  event?.preventDefault?.();
  if (performance.now() - shown < SECOND_MS) return;
  await attempt(work);
};

/** A new screen is up. */
export function screenShown() {
  shown = performance.now();
}

async function attempt(work) {
  try {
    tick();
    await work();
  } catch (error) {
    hush();
    phone.trouble = say("trouble", { why: `${error.name} ${error.message}` });
    changed(false);
  }
}

/** Let Space and Enter press the main button. */
export function listenToKeys() {
  addEventListener("keydown", (event) => {
    if ((event.key !== " " && event.key !== "Enter") || event.repeat || event.ctrlKey || event.altKey || event.metaKey)
      return;
    const focus = document.activeElement;
    if (focus && focus.matches("a, button, input, select, textarea, summary, [role=button]")) return;
    const main = document.querySelector("[data-main]:not([disabled])");
    if (!main) return;
    event.preventDefault();
    main.click();
  });
}
