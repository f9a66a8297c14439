// A reading: a big number pad, the limit as a ruler with the typed value on it, a question when the number can't be.

import { el, svg } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { fromTyped, moment, unitSign, value } from "../format.js";
import { gaugeFor, gaugeSelect } from "../gauges.js";
import { jobHead, notices } from "../heads.js";
import { readingName, subjectName } from "../names.js";
import { note } from "../outbox.js";
import { changed, openJobs, standing, units, zone } from "../phone.js";
import { button, mainButton } from "../pieces.js";
import { limitsOn, newest } from "../readings.js";
import { goInstead } from "../route.js";
import { keyOf, planOf } from "../view.js";
import { say } from "../words.js";
import { dewAhead } from "./told.js";

/** The limits as a ruler: what is allowed is thick, the typed value stands on it. */
function ruler(limits, plausible, number, unit, unitsShown) {
  const ends = [limits.min, limits.max, number].filter((one) => one !== null && one !== undefined);
  if (!ends.length || (limits.min === null && limits.max === null)) return null;
  const low = Math.max(plausible[0], Math.min(...ends) - 80);
  const high = Math.min(plausible[1], Math.max(...ends) + 80);
  const x = (one) => 10 + (300 * (Math.min(high, Math.max(low, one)) - low)) / Math.max(1, high - low);
  const from = x(limits.min ?? low);
  const to = x(limits.max ?? high);
  const tick = (one, y) => [
    svg("path", { d: `M${x(one)} 22V50`, class: "edge" }),
    svg(
      "text",
      { x: x(one), y, "text-anchor": x(one) > 250 ? "end" : x(one) < 60 ? "start" : "middle" },
      value(one, unit, unitsShown),
    ),
  ];
  return svg(
    "svg",
    {
      class: "ruler",
      viewBox: "0 0 320 74",
      role: "img",
      "aria-label": [
        limits.min === null ? "" : say("read.least", { value: value(limits.min, unit, unitsShown) }),
        limits.max === null ? "" : say("read.most", { value: value(limits.max, unit, unitsShown) }),
      ].join(" "),
    },
    svg("path", { d: "M10 36H310", class: "line" }),
    svg("path", { d: `M${from} 36H${to}`, class: "allowed" }),
    limits.min === null ? null : tick(limits.min, 70),
    limits.max === null ? null : tick(limits.max, 70),
    number === null ? null : svg("path", { d: `M${x(number)} 34l-9 -22h18z`, class: "typed" }),
  );
}

function press(key, name) {
  const old = draft(key);
  let text = old;
  if (name === "erase") text = old.slice(0, -1);
  else if (name === "-") text = old.startsWith("-") ? old.slice(1) : `-${old}`;
  else if (name === ".") text = old.includes(".") || !/\d/.test(old) ? old : `${old}.`;
  else if (!/\.\d$/.test(old) && old.replace(/\D/g, "").length < 4) text = old + name;
  setDraft(key, text);
  setDraft(`${key}.sure`, "");
  changed(false);
}

/** What other jobs have read of the same air, and still counts. */
function borrowable(at, reading, subject) {
  if (subject !== "air") return [];
  return openJobs()
    .filter((job) => job.id !== at.job.id)
    .map((job) => ({ job, other: standing(job.id, at.now) }))
    .filter(({ other }) => other?.sheet.readings[reading])
    .map(({ job, other }) => ({ job, known: newest(other, reading, [subject]) }))
    .filter(({ known }) => known);
}

function judge(limits, number) {
  if (number === null) return null;
  if (limits.min !== null && number < limits.min) return { words: say("read.low"), bad: true };
  if (limits.max !== null && number > limits.max) return { words: say("read.high"), bad: true };
  return limits.min === null && limits.max === null ? null : { words: say("read.ok"), bad: false };
}

/** Gloss read at 60° that is to be reported at another angle (bayflow/trade/gloss.py): the reading that comes next. */
export const glossAngle = (reading, value) =>
  reading !== "gloss_60" ? null : value > 700 ? "gloss_20" : value < 100 ? "gloss_85" : null;

/** The limits that this reading must meet: of the step it is read for, else of the next step that has one. */
function limitsAhead(at, group, reading) {
  const limited = (one) => one.tasks.some((task) => task.limits.some((limit) => limit.reading === reading));
  const open = (one) => one.tasks.some((task) => !["done", "left-out"].includes(at.gates[keyOf(task, at.state)].state));
  const next = group && limited(group) ? group : planOf(at.sheet).groups.find((one) => limited(one) && open(one));
  const found = limitsOn(next ? next.tasks : [], reading);
  const dry = next && reading === "surface_temp" ? dewAhead(at, next.tasks)?.needed : null;
  return (dry ?? null) === null ? found : { ...found, min: Math.max(dry, found.min ?? dry) };
}

/** The screen of one reading: `reading/NAME/SUBJECT/GROUP`. */
export function readingScreen({ at, route }) {
  const [reading, subject, groupId] = route.args;
  const what = at.sheet.readings[reading];
  if (!what) return [jobHead(at, true), el("main", {}, el("p", {}, say("log.none")))];
  const key = `read.${at.job.id}.${reading}.${subject}`;
  const typed = draft(key);
  const number = fromTyped(typed.replace(/\.$/, ""), what.unit, units());
  const group = planOf(at.sheet).byId.get(groupId);
  const limits = limitsAhead(at, group, reading);
  const instrument = gaugeFor(reading);
  const named = instrument ? { instrument } : {};
  const send = async (chosen, raw, data = {}) => {
    await note(at.job.id, { type: "reading", data: { reading, subject, value: chosen, raw, ...(data.from ? {} : named), ...data } });
    dropDrafts(key);
    const angle = glossAngle(reading, chosen);
    if (angle && at.sheet.readings[angle]) goInstead("job", at.job.id, "reading", angle, subject, groupId);
    else goInstead("job", at.job.id);
  };
  const title = el(
    "h1",
    { tabindex: "-1", class: "reading-title" },
    readingName(at.sheet, reading),
    el("small", {}, subject === "air" ? ` ${say("read.bay")}` : ` ${say("read.on")} ${subjectName(at.sheet, subject)}`),
  );
  const borrow = borrowable(at, reading, subject).map(({ job, known }) =>
    button(
      say("step.borrow", {
        value: value(known.value, what.unit, units()),
        car: job.vehicle.title,
        time: moment(known.t, zone(), at.now),
      }),
      () => send(known.value, value(known.value, what.unit, units()), { from: { job: job.id, event: known.event } }),
      { class: "wide", "data-key": job.id },
    ),
  );
  if (what.unit === "yesno") {
    return [
      jobHead(at, true),
      el("main", { class: "work" }, notices(), title, borrow),
      el(
        "footer",
        { class: "foot", "data-key": "foot" },
        el(
          "div",
          { class: "answers" },
          mainButton(say("no"), () => send(0, say("no"))),
          mainButton(say("yes"), () => send(1, say("yes")), { kind: "" }),
        ),
      ),
    ];
  }
  const [low, high] = what.plausible;
  const odd = number !== null && (number < low || number > high);
  const show = (one) => value(one, what.unit, units());
  const verdict = judge(limits, odd ? null : number);
  const pad = ["1", "2", "3", "4", "5", "6", "7", "8", "9", what.unit === "dc" ? "-" : "", "0", "."].map((name) =>
    name
      ? el(
          "button",
          {
            type: "button",
            "data-key": `k${name}`,
            onclick: () => press(key, name),
            "aria-label": name === "-" ? say("read.minus") : name === "." ? say("read.point") : null,
          },
          name === "-" ? "±" : name,
        )
      : el("span", { "data-key": "gap" }),
  );
  const sure = odd && draft(`${key}.sure`) !== "yes";
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work reading" },
      notices(),
      title,
      borrow,
      gaugeSelect(reading),
      sure ? null : ruler(limits, what.plausible, odd ? null : number, what.unit, units()),
      sure
        ? el(
            "p",
            { class: "notice amber", role: "alert", "data-key": "odd" },
            say("read.sure", { value: show(number) }),
            " ",
            say("read.range", { min: show(low), max: show(high) }),
          )
        : null,
    ),
    el(
      "footer",
      { class: "foot pad-foot", "data-key": "foot" },
      el(
        "p",
        { class: "typed", "data-key": "typed", role: "status", "aria-label": say("read.typed") },
        el("b", { class: "huge seconds" }, typed || "–"),
        " ",
        unitSign(what.unit, units()),
        verdict ? el("span", { class: verdict.bad ? "word amber" : "word" }, verdict.words) : null,
      ),
      el(
        "div",
        { class: "pad", role: "group", "aria-label": say("read.type") },
        pad,
        el(
          "button",
          { type: "button", class: "erase", "data-key": "erase", onclick: () => press(key, "erase") },
          say("read.erase"),
        ),
      ),
      sure
        ? mainButton(say("read.yes", { value: show(number) }), () => send(number, typed), { kind: "" })
        : mainButton(
            number === null ? say("read.type") : say("read.note", { value: show(number) }),
            () => send(number, typed),
            { disabled: number === null },
          ),
    ),
  ];
}

/** Keys of a real keyboard type on the pad. */
export function typeOnPad(event, route) {
  if (route.screen !== "reading") return false;
  const key = `read.${route.job}.${route.args[0]}.${route.args[1]}`;
  const name = event.key === "Backspace" ? "erase" : event.key === "," ? "." : event.key;
  if (!/^(\d|\.|-|erase)$/.test(name)) return false;
  press(key, name);
  return true;
}
