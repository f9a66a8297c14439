// Waiting is a screen of its own: why, until when, what can be done meanwhile; and once it is too late, what instead.
// Every figure is read off timestamps at each tick, so a phone that slept is right at once.

import { now as shopNow } from "../clock.js";
import { el } from "../dom.js";
import { focusOn } from "../focus.js";
import { moment, span } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { basisWords, groupShort, taskShort, words } from "../names.js";
import { openJobs, standing, zone } from "../phone.js";
import { actions, button, carPicture, foot, mainButton, nextLine, placeLines } from "../pieces.js";
import { go } from "../route.js";
import { stop } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { actionable, planOf, viewOf } from "../view.js";
import { known, say } from "../words.js";
import { needs } from "./cars.js";
import { cureByClock, cureLines, cureOf, cureRead } from "./cure.js";

/** Holds of a group with their times: `[{task, hold, opens, shuts, since}]`. */
function holdsOf(at, now) {
  const plan = planOf(at.sheet);
  const doneAt = (id) => at.state.done[`${id}#${at.state.attempts[id] ?? 1}`]?.t;
  const seen = new Map();
  for (const { task } of now.open) {
    for (const hold of task.holds) {
      const times = hold.since.map(doneAt).filter((t) => t !== undefined);
      if (!times.length) continue;
      const last = hold.since.reduce((a, b) => ((doneAt(b) ?? -1) > (doneAt(a) ?? -1) ? b : a));
      const row = {
        task,
        hold,
        since: plan.tasks.get(last),
        from: Math.max(...times),
        opens: hold.least === null ? null : Math.max(...times) + hold.least,
        shuts: hold.most === null ? null : Math.min(...times) + hold.most,
      };
      const old = seen.get(hold.id);
      if (!old || (row.opens ?? 0) > (old.opens ?? 0))
        seen.set(hold.id, { ...row, shuts: least(old?.shuts, row.shuts) });
      else old.shuts = least(old.shuts, row.shuts);
    }
  }
  return [...seen.values()];
}

const least = (a, b) => (a === null || a === undefined ? b : b === null ? a : Math.min(a, b));

/** What a hold is called. */
const holdName = (hold) => (known(`hold.${hold.kind}`) ? say(`hold.${hold.kind}`) : hold.id);

function why(at, row) {
  const { hold } = row;
  return el(
    "div",
    { class: "why-wait", "data-key": hold.id },
    el(
      "p",
      {},
      say("wait.why", {
        step: taskShort(at.sheet, row.since),
        time: moment(row.from, zone(), at.now),
        least: span(hold.least ?? 0),
        kind: holdName(hold),
      }),
    ),
    hold.why ? words(at.sheet, hold.why, "p") : null,
    el(
      "p",
      {},
      row.shuts === null ? say("wait.nowindow") : say("wait.window", { time: moment(row.shuts, zone(), at.now) }),
      " ",
      basisWords(hold.basis),
    ),
  );
}

/** What else can be done: other steps of this car, then other cars. */
export function meanwhile(at, view) {
  const here = view.meanwhile.slice(0, 3).map((now) =>
    el(
      "li",
      { "data-key": now.group.id },
      button(groupShort(at.sheet, now.group), () => focusOn(at.job.id, now.group.id), { class: "wide" }),
    ),
  );
  const there = openJobs()
    .filter((job) => job.id !== at.job.id)
    .map((job) => ({ job, other: standing(job.id, at.now) }))
    .filter(({ other }) => other && !other.state.stopped && viewOf(other).current && actionable(viewOf(other).current))
    .map(({ job, other }) =>
      el(
        "li",
        { "data-key": job.id },
        button(`${job.vehicle.title}: ${needs(other).words}`, () => go("job", job.id), { class: "wide" }),
      ),
    );
  const all = [...here, ...there];
  return el(
    "section",
    { "data-key": "meanwhile" },
    el("h2", {}, say("wait.meanwhile")),
    all.length ? el("ul", { class: "rows bare" }, all) : el("p", {}, say("wait.meanwhile.none")),
  );
}

/** The waiting screen. */
export function waitScreen({ at, view }) {
  const now = view.current;
  const cure = cureOf(now);
  const rows = holdsOf(at, now).filter((row) => row.opens !== null && row.opens > at.now);
  return [
    jobHead(at),
    el(
      "main",
      { class: "work waiting" },
      notices(),
      placeLines(at, view),
      el(
        "h1",
        { tabindex: "-1" },
        say("wait.title"),
        " ",
        now.until === null
          ? say(now.state === "needs-reading" ? "cure.reading" : "cure.warm")
          : el("time", {}, say(cure ? "cure.until" : "wait.until", { time: moment(now.until, zone(), at.now) })),
      ),
      now.until === null
        ? null
        : el("p", { class: "huge seconds" }, say("wait.left", { span: span(now.until - at.now) })),
      el("p", { class: "step-of" }, groupShort(at.sheet, now.group)),
      cure ? [cureLines(at, cure), cureByClock(at, now.group.id)] : null,
      rows.map((row) => why(at, row)),
      carPicture(at, []),
      meanwhile(at, view),
      clocksStrip(shopNow(), at.job.id, (job, group) => !(job === at.job.id && group === now.group.id)),
      nextLine(at, view),
      actions(at),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      cure ? cureRead(at, cure, now.group.id) : null,
      el(
        "div",
        { class: "apart" },
        button(say("act.stop"), () => stop(at), { class: "stop", "data-key": "stop" }),
      ),
    ),
  ];
}

/** The window has shut: what to do instead. */
export function tooLateScreen({ at, view }) {
  const now = view.current;
  const rows = holdsOf(at, now).filter((row) => row.shuts !== null && row.shuts < at.now);
  const ways = rows.filter((row) => row.hold.if_late);
  const plan = planOf(at.sheet);
  const again = [
    ...new Map(
      ways
        .flatMap((row) => row.hold.if_late.reopen)
        .map((id) => plan.tasks.get(id))
        .filter(Boolean)
        .map((task) => [task.step, task]),
    ).values(),
  ];
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("late.title")),
      el("p", { class: "step-of" }, groupShort(at.sheet, now.group)),
      rows.map((row) =>
        el(
          "p",
          { class: "big-words", "data-key": row.hold.id },
          say("late.why", {
            hold: holdName(row.hold),
            time: moment(row.shuts, zone(), at.now),
            span: span(at.now - row.shuts),
          }),
        ),
      ),
      ways.map((row) =>
        row.hold.if_late.note ? words(at.sheet, row.hold.if_late.note, "p", { class: "big-words" }) : null,
      ),
      again.length
        ? [
            el("p", {}, say("late.reopen")),
            el(
              "ul",
              {},
              again.map((task) => el("li", {}, taskShort(at.sheet, { ...task, place: null }))),
            ),
          ]
        : el("p", {}, say("late.noway")),
      el("p", {}, say("late.decide")),
      meanwhile(at, view),
      clocksStrip(shopNow(), at.job.id, (job, group) => group !== now.group.id),
      actions(at),
    ),
    foot(
      at,
      again.length ? mainButton(say("late.do"), () => go("job", at.job.id, "decide", "late", now.group.id)) : null,
      () => stop(at),
      now.group.id,
    ),
  ];
}

/** Another step must come first (and can't be done now either). */
export function firstScreen({ at, view }) {
  const now = view.current;
  const plan = planOf(at.sheet);
  const firsts = now.because
    .filter(([code]) => code === "first")
    .map(([, id]) => plan.tasks.get(id))
    .filter(Boolean);
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("first.title")),
      el(
        "ul",
        {},
        [...new Map(firsts.map((task) => [task.group, task])).values()]
          .slice(0, 5)
          .map((task) => el("li", {}, say("first.do", { step: taskShort(at.sheet, task) }))),
      ),
      meanwhile(at, view),
      clocksStrip(shopNow(), at.job.id),
      actions(at),
    ),
    foot(at, null, () => stop(at), now.group.id),
  ];
}
