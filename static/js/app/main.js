// The bay app: read the phone's disk, show where the person was, keep in touch with the shop.

import { alarms } from "./alarms.js";
import { lookAgain } from "./attention.js";
import { inOneMoment } from "./clock.js";
import { contact, keepInTouch } from "./contact.js";
import { el, paint } from "./dom.js";
import * as drafts from "./drafts.js";
import { heartbeat, onNoted } from "./outbox.js";
import { listen, load, openJobs, personNow, phone } from "./phone.js";
import { parse, remember, resume } from "./route.js";
import { carsScreen } from "./screens/cars.js";
import { jobScreen, shortTimer } from "./screens/job.js";
import { namesScreen } from "./screens/names.js";
import { noteScreen, openCode, openScreen } from "./screens/open.js";
import { pairScreen } from "./screens/pair.js";
import { typeOnPad } from "./screens/reading.js";
import { emergencyScreen } from "./screens/safety.js";
import { typeOnSurvey } from "./screens/survey.js";
import { unsentScreen } from "./screens/unsent.js";
import { listenToKeys, screenShown } from "./taps.js";
import { keepAwake, listenForWake } from "./wake.js";
import { say } from "./words.js";
import { offerUpdate, startWorker } from "./worker.js";

const root = document.getElementById("bay");

let shownKey = null;
let shownStep = null;

let queued = false;

const inSight = () => parse(location.hash).name === "job";

function pick(route) {
  if (route.name === "emergency") return emergencyScreen({ route });
  if (!phone.token || route.name === "pair") return pairScreen(route);
  if (route.name === "unsent") return unsentScreen();
  if (!personNow() || route.name === "names") return namesScreen();
  if (route.name === "open") return openScreen();
  if (route.name === "note") return noteScreen(route);
  return route.name === "job" ? jobScreen(route) : carsScreen();
}

const show = () => inOneMoment(showNow);

function showNow() {
  queued = false;
  if (!phone.loaded) return;
  const route = parse(location.hash);
  const nodes = pick(route);
  const offer = offerUpdate(route);
  paint(root, [...(offer ? [offer] : []), ...nodes]);
  makeRoom();
  const title = root.querySelector("h1");
  document.title = title ? `${title.textContent} – bayflow` : "bayflow";
  noticeNewScreen(title);
  keepAwake(shortTimer(route));
}

/** A foot that would leave less than a third of the window to the words comes after them instead of lying over them. */
function makeRoom() {
  const foot = root.querySelector(".foot");
  const words = innerHeight - (foot?.offsetHeight ?? 0);
  root.classList.toggle("cramped", words * 3 < innerHeight);
}

/** A new screen is read from its top and its heading has the focus; a new step too, but the focus stays on its button. */
function noticeNewScreen(title) {
  const key = `${location.hash}|${phone.token ? "" : "new"}|${phone.person}`;
  const step = `${key}|${title?.textContent}`;
  if (step !== shownStep) scrollTo(0, 0);
  if (key !== shownKey) {
    screenShown();
    if (shownKey !== null) title?.focus({ preventScroll: true });
  }
  shownKey = key;
  shownStep = step;
}

function showSoon() {
  if (queued) return;
  queued = true;
  queueMicrotask(show);
}

/** A code in the address opens its car, once. */
function takeCode() {
  const route = parse(location.hash);
  if (route.name !== "car" || !phone.token) return;
  history.replaceState(null, "", "#/open");
  openCode(route.code, true);
}

function tickEverySecond() {
  const next = () => {
    inOneMoment(() => {
      showNow();
      alarms(openJobs(), parse(location.hash).job);
    });
    setTimeout(next, 1000 - (Date.now() % 1000));
  };
  next();
}

async function start() {
  try {
    await load();
    await drafts.load();
  } catch {
    root.replaceChildren(el("main", {}, el("p", { class: "notice red" }, say("storage"))));
    return;
  }
  await resume();
  await heartbeat().catch(() => {});
  listen(showSoon);
  onNoted(() => contact());
  addEventListener("hashchange", () => {
    takeCode();
    remember();
    show();
  });
  const awake = async () => {
    if (document.visibilityState !== "visible") return;
    lookAgain();
    show();
    await heartbeat().catch(() => {});
  };
  document.addEventListener("visibilitychange", awake);
  addEventListener("pageshow", (event) => event.persisted && awake());
  addEventListener("focus", showSoon);
  addEventListener("keydown", (event) => {
    if (typeOnPad(event, parse(location.hash)) || typeOnSurvey(event)) event.preventDefault();
  });
  listenToKeys();
  listenForWake();
  takeCode();
  show();
  keepInTouch(inSight);
  tickEverySecond();
  startWorker(showSoon);
  document.documentElement.dataset.ready = "yes";
}

start();
