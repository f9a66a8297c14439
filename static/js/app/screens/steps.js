// One step at a time: what to do, what to wear, what could go wrong, and one button that says the state reached.

import { now as shopNow } from "../clock.js";
import { clocksOf } from "../clocks.js";
import { el } from "../dom.js";
import { focusOn } from "../focus.js";
import { moment, span, value } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { basisWords, readingName } from "../names.js";
import { units, zone } from "../phone.js";
import { actions, carPicture, foot, linkButton, mainButton, nextLine, placeLines } from "../pieces.js";
import { go, href } from "../route.js";
import { stop, widest } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { productsOf } from "../view.js";
import { say } from "../words.js";
import { clockWarning, mainFor, readingLines, stepShown, stepWords } from "./step.js";
import { sunLines } from "./sun.js";
import { toldLines } from "./told.js";
import { wetButtons } from "./wet.js";

/** The screen of one step. */
export function stepScreen({ at, view }) {
  const now = view.current;
  const [label] = productsOf(now.group.tasks);
  const readings = readingLines(at, now);
  const { warnings, remarks } = toldLines(at, view);
  const opened = clocksOf(at).find((one) => one.group === now.group.id && one.opens !== null && one.opens <= at.now);
  const due =
    !now.group.lead.rescue && now.until !== null && now.until - at.now < 6 * 3600000
      ? el(
          "p",
          { class: "due", "data-key": "due" },
          el("b", { class: "seconds" }, say("step.ready.span", { span: span(now.until - at.now) })),
          ` ${say("step.ready.until", { time: moment(now.until, zone(), at.now) })}`,
        )
      : null;
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      view.chosen ? turn(at) : null,
      clockWarning(at, now),
      sunLines(at, view),
      warnings,
      stepShown(at, now),
      due,
      remarks,
      opened && !now.group.lead.rescue
        ? el(
            "p",
            { "data-key": "opened" },
            say("wait.opened", { time: moment(opened.opens, zone(), at.now), span: span(at.now - opened.opens) }),
          )
        : null,
      readings.length ? el("ul", { class: "readings", "data-key": "readings" }, readings) : null,
      wetButtons(at),
      clocksStrip(shopNow(), at.job.id, (job, group) => !(job === at.job.id && group === now.group.id)),
      nextLine(at, view),
      actions(at, { label }),
    ),
    foot(at, mainFor(at, now), () => stop(at), now.group.id),
  ];
}

function turn(at) {
  return el(
    "p",
    { class: "notice", "data-key": "turn" },
    say("step.meanwhile"),
    " ",
    el("button", { type: "button", class: "quiet", onclick: () => focusOn(at.job.id, null) }, say("step.turn")),
  );
}

/** A group is waiting for another person. */
export function otherScreen({ at, view }, nameOf) {
  const now = view.current;
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("other.title")),
      el("p", { class: "big-words" }, say("other.why", { names: now.who.not.map(nameOf).join(", ") })),
      carPicture(at, []),
      stepWords(at, now),
      clocksStrip(shopNow(), at.job.id),
      nextLine(at, view),
      actions(at),
    ),
    foot(
      at,
      el(
        "a",
        { class: "button main big", "data-main": true, "data-key": "main", href: href("names") },
        say("other.do"),
      ),
      () => stop(at),
      now.group.id,
    ),
  ];
}

/** A reading misses its limit: what it is, what it must be, what to do. */
export function limitsScreen({ at, view }) {
  const now = view.current;
  const [first] = now.because;
  const reading = first[0] === "dew" ? "surface_temp" : first[1];
  const unit = at.sheet.readings[reading]?.unit;
  const sentence =
    reading === "direct_sun"
      ? say("limits.sun")
      : first[0] === "dew"
        ? say("limits.dew", { value: value(first[1], "dc", units()), limit: value(first[2], "dc", units()) })
        : say(`limits.${first[0]}`, {
            name: readingName(at.sheet, reading),
            value: value(first[2], unit, units()),
            limit: value(first[3], unit, units()),
          });
  const limit = now.open
    .flatMap((entry) => entry.task.limits)
    .find((one) => one.reading === (first[0] === "dew" ? "dew_margin" : reading));
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("limits.title")),
      el("p", { class: "big-words" }, sentence),
      limit?.basis ? el("p", { class: "small" }, basisWords(limit.basis)) : null,
      reading === "direct_sun" ? null : el("p", {}, say("limits.what")),
      sunLines(at, view),
      stepWords(at, now),
      el("ul", { class: "readings" }, readingLines(at, now)),
      linkButton(say("limits.lead"), href("job", at.job.id, "leave", now.group.id)),
      clocksStrip(shopNow(), at.job.id),
      nextLine(at, view),
      actions(at),
    ),
    foot(
      at,
      mainButton(say("limits.read"), () => go("job", at.job.id, "reading", reading, widest(limit?.of ?? ["car"]), now.group.id)),
      () => stop(at),
      now.group.id,
    ),
  ];
}
