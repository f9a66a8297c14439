// The first thing that runs: on a phone's first visit the worker fetches the whole app in one piece, and only then is
// the app loaded, from the worker. Later visits start at once. Where no worker can be had, file by file from the shop.

import { registered } from "./register.js";

const PATIENCE_MS = 20000;

/** Until the worker answers for this page; gives up when none can be installed, or it takes too long. */
async function kept() {
  const workers = navigator.serviceWorker;
  if (!workers || workers.controller) return;
  const { installing } = await registered();
  if (!installing) return;
  await new Promise((resolve) => {
    workers.addEventListener("controllerchange", resolve, { once: true });
    installing.addEventListener("statechange", () => installing.state === "redundant" && resolve());
    setTimeout(resolve, PATIENCE_MS);
  });
}

await kept().catch(() => {});
for (const link of document.querySelectorAll("link[data-module]")) link.rel = "modulepreload";
await import("./main.js");
