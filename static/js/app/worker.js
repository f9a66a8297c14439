// A newer version of the app is offered, never pushed: it takes over when a person says so, or by itself once every
// tab is closed.

import { el } from "./dom.js";
import { button } from "./pieces.js";
import { registered } from "./register.js";
import { parse } from "./route.js";
import { say } from "./words.js";

let waiting = null;

/** Another tab took the newer version: this one follows once no step is in hand. */
function reloadOutsideJobs() {
  const reload = () => parse(location.hash).name !== "job" && location.reload();
  addEventListener("hashchange", reload);
  reload();
}

/** Register the worker; `tell` is called when a newer version is ready. */
export async function startWorker(tell) {
  if (!navigator.serviceWorker) return;
  try {
    let controlled = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      if (controlled) reloadOutsideJobs();
      controlled = true;
    });
    const registration = await registered();
    const note = () => {
      waiting = navigator.serviceWorker.controller ? registration.waiting : null;
      tell();
    };
    note();
    registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", note));
  } catch {
    // without a worker the app needs the shop's computer to open; everything noted is kept all the same
  }
}

/** The offer of a newer version; only where no step is in hand. */
export function offerUpdate(route) {
  if (!waiting || route.name === "job") return null;
  return el(
    "p",
    { class: "notice accent", "data-key": "update" },
    say("update"),
    " ",
    button(say("update.do"), () => waiting.postMessage("take over")),
  );
}
