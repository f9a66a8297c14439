// The release: a lead or the owner looks everything over. The PIN is checked by the shop's computer, never here.

import { now as shopNow } from "../clock.js";
import { el } from "../dom.js";
import { moment } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { decisionForm } from "../lead.js";
import { groupShort } from "../names.js";
import { zone } from "../phone.js";
import { actions, carPicture, foot, linkButton, mainButton, placeLines } from "../pieces.js";
import { go, goInstead, href } from "../route.js";
import { stop } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { say, textOf } from "../words.js";
import { eventLine } from "./log.js";
import { before, stepWords } from "./step.js";

/** The state that this decision reaches, as its button says it; the car's release only where nothing else is left. */
const reached = (at, { group }, last) =>
  last || !group.lead.done_says ? say(last ? "release.first" : "release.do") : textOf(at.sheet, group.lead.done_says).text;

const role = (now) => now.who?.role ?? now.group.lead.release ?? "lead";

/** A release point is next: who decides, and what still waits. */
export function releasePoint({ at, view }) {
  const now = view.current;
  const last = !view.nows.some((one) => one !== now && one.open.length);
  const waits = now.because.filter(([code]) => code === "claimed" || code === "not-right");
  const claimed = waits.filter(([code]) => code === "claimed").length;
  const who = say(`release.${role(now)}`);
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      before(at, now),
      stepWords(at, now),
      el("p", { class: "big-words" }, say(last ? "release.how" : "release.point", { role: who })),
      waits.length
        ? el(
            "div",
            { class: "notice amber" },
            el("b", {}, say("release.because")),
            claimed ? el("p", {}, say("release.claimed", { n: claimed })) : null,
            waits
              .filter(([code]) => code === "claimed")
              .map(([, id]) => at.events.find((event) => event.id === id))
              .filter(Boolean)
              .map((event) =>
                linkButton(
                  say("release.confirm", { what: eventLine(at, event) }),
                  href("job", at.job.id, "decide", "confirm", event.id),
                  { class: "wide", key: event.id },
                ),
              ),
            waits
              .filter(([code]) => code === "not-right")
              .map(([, key]) => el("p", {}, `${say("trouble.title")}: ${key}`)),
          )
        : null,
      carPicture(at, []),
      clocksStrip(shopNow(), at.job.id),
      actions(at),
    ),
    foot(
      at,
      mainButton(reached(at, now, last), () => go("job", at.job.id, "release", now.group.id)),
      () => stop(at),
      now.group.id,
    ),
  ];
}

/** Name and PIN: the second of two taps. */
export function releaseScreen({ at, view, route }) {
  const now = view.byGroup.get(route.args[0]);
  if (!now) return [jobHead(at, true)];
  const last = !view.nows.some((one) => one !== now && one.open.length);
  const make = () => ({ type: last ? "released" : "done", tasks: now.signable, data: {} });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, last ? say("release.title") : groupShort(at.sheet, now.group)),
      last ? el("p", { class: "step-of" }, groupShort(at.sheet, now.group)) : null,
      el("p", {}, say("release.online")),
      decisionForm({
        key: `release.${at.job.id}`,
        job: at.job.id,
        role: role(now),
        make,
        text: last ? say("release.sure") : `${reached(at, now, last)}: ${say("lead.confirm")}`,
        offline: false,
        reason: false,
        done: () => goInstead("job", at.job.id),
      }),
    ),
  ];
}

/** Nothing is left to do. */
export function overScreen({ at, view }) {
  const event = at.events.find((one) => one.id === at.state.released);
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el(
        "h1",
        { tabindex: "-1" },
        event ? say("job.released", { time: moment(event.at - (event.offset ?? 0), zone(), at.now) }) : say("job.over"),
      ),
      event ? null : el("p", { class: "big-words" }, say("job.over.how")),
      carPicture(at, []),
      clocksStrip(shopNow(), at.job.id),
      actions(at),
    ),
  ];
}
