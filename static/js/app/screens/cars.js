// The cars in work: one line each, with what needs a person next.

import { now } from "../clock.js";
import { clocksOf } from "../clocks.js";
import { el } from "../dom.js";
import { moment } from "../format.js";
import { head, notices } from "../heads.js";
import { groupShort } from "../names.js";
import { codeOf, openJobs, personNow, phone, standing, zone } from "../phone.js";
import { linkButton } from "../pieces.js";
import { href } from "../route.js";
import { clocksStrip } from "../strip.js";
import { viewOf } from "../view.js";
import { say } from "../words.js";

/** What a car's line says: the next thing that it needs, or waits for. */
export function needs(at) {
  if (at.state.stopped) return { words: say("cars.stopped"), kind: "red" };
  const view = viewOf(at);
  if (view.over || !view.current) return { words: say("cars.over"), kind: "" };
  const current = view.current;
  const step = groupShort(at.sheet, current.group);
  const time = (ms) => moment(ms, zone(), at.now);
  if (current.state === "waiting") return { words: say("cars.waiting", { time: time(current.until), step }), kind: "" };
  if (current.state === "too-late") return { words: say("cars.toolate", { step }), kind: "red" };
  if (current.state === "not-right") return { words: say("cars.notright", { step }), kind: "red" };
  const running = clocksOf(at).find((one) => one.group === current.group.id && one.shuts !== null);
  const words =
    running && running.opens !== null
      ? say("cars.since", { time: time(running.opens), latest: time(running.shuts), step })
      : say("cars.ready", { step });
  return { words: at.state.paused ? `${say("cars.paused")}. ${words}` : words, kind: running ? "amber" : "" };
}

function line(job) {
  const at = standing(job.id, now());
  const need = at ? needs(at) : { words: say("cars.sheet"), kind: "" };
  return el(
    "li",
    { "data-key": job.id },
    el(
      "a",
      { class: "row-link", href: href("job", job.id) },
      el(
        "span",
        { class: "car-name" },
        el("b", {}, job.vehicle.title),
        " · ",
        el("span", { class: "code" }, codeOf(job)),
      ),
      el("span", { class: `need ${need.kind}` }, need.words),
    ),
  );
}

/** The list of cars. */
export function carsScreen() {
  const jobs = openJobs();
  return [
    head(say("cars.title")),
    el(
      "main",
      {},
      notices(),
      clocksStrip(now(), null, () => true, 2, 600000),
      jobs.length ? el("ul", { class: "rows" }, jobs.map(line)) : el("p", { class: "empty" }, say("cars.none")),
      phone.alarms.map((alarm) => el("p", { class: "notice amber", "data-key": alarm.message }, alarm.message)),
      el("p", { class: "safety" }, say("safety.line")),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      el("a", { class: "button main big", "data-main": true, href: href("open") }, say("cars.open")),
      el(
        "div",
        { class: "apart" },
        linkButton(say("cars.who", { name: personNow()?.name ?? "" }), href("names"), { key: "who" }),
        linkButton(say("cars.emergency"), href("emergency"), { key: "emergency" }),
      ),
    ),
  ];
}
