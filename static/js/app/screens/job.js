// One job: which of its screens is up. What must be seen first comes first.

import { attention } from "../attention.js";
import { latestSeen, now } from "../clock.js";
import { coatGroup, coatNow, twoPeople } from "../coat.js";
import { el } from "../dom.js";
import { focusOf } from "../focus.js";
import { head } from "../heads.js";
import { jobOf, nameOf, personNow, standing } from "../phone.js";
import { isBarred, viewOf } from "../view.js";
import { say } from "../words.js";
import { coatScreen } from "./coat.js";
import { cureOf } from "./cure.js";
import { damageScreen, troubleTiles } from "./damage.js";
import { amendScreen, backScreen } from "./entries.js";
import { batchScreen, labelScreen } from "./label.js";
import { clockBackScreen, lateScreen, leaveScreen } from "./late.js";
import { logScreen, stepsScreen } from "./log.js";
import { moreScreen } from "./more.js";
import { dayScreen, overScreen } from "./pause.js";
import { readingScreen } from "./reading.js";
import { overScreen as endScreen, releasePoint, releaseScreen } from "./release.js";
import { stoppedScreen } from "./safety.js";
import { surveyScreen, surveyTiles } from "./survey.js";
import { thinOf, thinScreen } from "./thin.js";
import { limitsScreen, otherScreen, stepScreen } from "./steps.js";
import { tilesScreen } from "./tiles.js";
import { decideScreen, notRightScreen, troubleScreen } from "./trouble.js";
import { firstScreen, tooLateScreen, waitScreen } from "./wait.js";
import { washScreen } from "./wash.js";

const SCREENS = {
  amend: amendScreen,
  back: backScreen,
  batch: batchScreen,
  clockback: (context) => clockBackScreen(context, latestSeen()),
  damage: damageScreen,
  day: dayScreen,
  decide: decideScreen,
  label: labelScreen,
  late: lateScreen,
  leave: leaveScreen,
  limits: limitsScreen,
  log: logScreen,
  more: moreScreen,
  panels: troubleTiles,
  reading: readingScreen,
  release: releaseScreen,
  steps: stepsScreen,
  survey: surveyScreen,
  surveytiles: surveyTiles,
  tiles: tilesScreen,
  trouble: troubleScreen,
};

const ON_SCREEN = new Set(["ready", "needs-reading", "out-of-limits"]);

/** The part whose panels are being coated right now, if any: wet panels come before everything. */
function coating(at, view) {
  const { current } = view;
  if (current && cureOf(current)) return null;
  if (view.asked && !coatGroup(current.group)) return null;
  for (const part of view.parts.filter((one) => one.mode === "coat" && one.groups.some(coatGroup))) {
    const { wet, next } = coatNow(at, part.id);
    if (wet.length) return part.id;
    if (twoPeople(at.state) && part.id === view.part?.id && next && ON_SCREEN.has(next.now.state)) return part.id;
  }
  if (view.part?.mode !== "coat" || !coatGroup(current.group)) return null;
  return ON_SCREEN.has(current.state) ? view.part.id : null;
}

function mainScreen(context) {
  const { at, view } = context;
  if (at.state.released) return endScreen(context);
  if (at.state.stopped) return stoppedScreen(context);
  const part = coating(at, view);
  const look = part && coatNow(at, part).wet.length ? null : attention(at, view);
  if (look) return overScreen(context, look);
  if (part) return coatScreen({ ...context, part });
  if (view.over) return endScreen(context);
  const now = view.current;
  if (cureOf(now)) return waitScreen(context);
  if (isBarred(now, personNow()?.id)) return otherScreen(context, nameOf);
  if (now.state === "out-of-limits" && thinOf(now)) return thinScreen(context);
  const screen = {
    waiting: waitScreen,
    "too-late": tooLateScreen,
    "not-right": notRightScreen,
    "needs-first": firstScreen,
    "needs-decision": releasePoint,
    "out-of-limits": limitsScreen,
  }[now.state];
  if (screen) return screen(context);
  if (view.part.mode === "survey") return surveyScreen(context);
  return view.part.mode === "wash" ? washScreen(context) : stepScreen(context);
}

/** The screen of a job. */
export function jobScreen(route) {
  const at = standing(route.job, now());
  if (!at)
    return [
      head(jobOf(route.job)?.vehicle.title ?? say("cars.title"), "#/"),
      el("main", {}, el("p", { class: "notice" }, say(jobOf(route.job) ? "cars.sheet" : "cars.closed"))),
    ];
  const context = { at, route, view: viewOf(at, focusOf(route.job)) };
  return (SCREENS[route.screen] ?? mainScreen)(context);
}

/** Does a short timer run in this job, so that the screen should stay on? */
export function shortTimer(route) {
  const at = route.job ? standing(route.job, now()) : null;
  if (!at || at.state.released) return false;
  return at.sheet.parts.some((part) => part.mode === "coat" && coatNow(at, part.id).wet.length > 0);
}
