// Keep the screen on while a short timer runs. The browser lets go whenever the page is hidden, and may refuse:
// every time on the screen is right without it.

let lock = null;

let wanted = false;

async function ask() {
  if (!wanted || lock || document.visibilityState !== "visible" || !navigator.wakeLock) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => {
      lock = null;
    });
    if (!wanted) lock.release();
  } catch {
    lock = null;
  }
}

/** Keep the screen on, or let it sleep again. */
export function keepAwake(on) {
  if (wanted === on) return;
  wanted = on;
  if (on) ask();
  else lock?.release();
}

/** Ask again whenever the page comes to the front. */
export const listenForWake = () => document.addEventListener("visibilitychange", ask);
