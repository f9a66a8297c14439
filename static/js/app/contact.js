// The one conversation with the shop's computer: what is unsent goes, what is new comes.
//
// A row leaves the outbox only when the shop names its id. Silence, a lost connection, 401 and 5xx keep everything;
// a refused row moves to where people can see it. One tab at a time speaks (Web Lock).

import { tellShop } from "./ask.js";
import * as clock from "./clock.js";
import { MOST_EVENTS, request, store } from "./exchange.js";
import { fetchDataSheets, fetchSheets, forgetOld, sendPhotos } from "./fetching.js";
import { takeNumber } from "./outbox.js";
import { changed, phone } from "./phone.js";
import { say } from "./words.js";

const SOON_MS = 5000;

const SELDOM_MS = 20000;

let busy = null;

let again = false;

let timer = 0;

const why = (response) =>
  response.text().then(
    (text) => text.slice(0, 300),
    () => String(response.status),
  );

async function speak() {
  const n = await takeNumber();
  const asked = request(n);
  let response;
  try {
    response = await tellShop("/api/contact", asked.body);
  } catch {
    phone.reach = "away";
    return false;
  }
  if (response.status === 401) {
    phone.reach = "unpaired";
    return false;
  }
  if (!response.ok) {
    phone.reach = response.status >= 500 ? "ill" : "refusing";
    phone.trouble = response.status >= 500 ? null : say("sync.refusing", { why: await why(response) });
    return false;
  }
  const heard = clock.wall();
  await store(asked, await response.json(), heard);
  phone.reach = "heard";
  await fetchSheets();
  changed();
  await sendPhotos();
  await fetchDataSheets();
  await forgetOld(heard);
  return asked.events.length === MOST_EVENTS;
}

async function talk() {
  const lock = navigator.locks ? (work) => navigator.locks.request("contact", work) : (work) => work();
  try {
    let more = true;
    while (more) {
      again = false;
      more = (await lock(speak)) || again;
    }
  } catch {
    phone.reach = "away";
  }
}

/** Speak with the shop now, or once more right after the talk that is going on. Never rejects. */
export function contact() {
  if (!phone.token) return Promise.resolve();
  if (busy) {
    again = true;
    return busy;
  }
  busy = talk().finally(() => {
    busy = null;
    changed();
  });
  return busy;
}

/**
 * Keep in touch: every 5 s while a job is open and in sight, else every 20 s; at once when something tells us to.
 * @param {() => boolean} jobInSight
 */
export function keepInTouch(jobInSight) {
  const next = () => {
    clearTimeout(timer);
    const wait = jobInSight() && document.visibilityState === "visible" ? SOON_MS : SELDOM_MS;
    timer = setTimeout(() => contact().then(next), wait);
  };
  const soon = () => contact().then(next);
  addEventListener("online", soon);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && soon());
  let inSight = jobInSight();
  addEventListener("hashchange", () => {
    const before = inSight;
    inSight = jobInSight();
    if (inSight && !before) soon(); // the job that comes up may be 20 s old
  });
  soon();
  return soon;
}
