// The parts of a step's screen: words, cautions, mixes, readings, what is on the car, the main button.

import { lost, means, removed } from "../../core/index.js";
import { clocksOf } from "../clocks.js";
import { el } from "../dom.js";
import { film, moment, seconds, value, volume } from "../format.js";
import { panelLooks } from "../looks.js";
import { placeName, productName, readingAt, readingName, words } from "../names.js";
import { phone, units, zone } from "../phone.js";
import { askPhoto } from "../photo.js";
import { carPicture, cautions, mainButton } from "../pieces.js";
import { wear } from "../ppe.js";
import { measureSubjects, newest } from "../readings.js";
import { go, href } from "../route.js";
import { firstWanted, sign, widest } from "../signing.js";
import { say, textOf } from "../words.js";
import { staleLines } from "./label.js";
import { machineLines, spentButton } from "./machine.js";

const SOON_MS = 20 * 60000;

const tasksOf = (now) => (now.open.length ? now.open.map((entry) => entry.task) : now.group.tasks);

/** What to take in the hand, volumes to mix and to use, from the sheet. */
export function mixLines(at, tasks) {
  const mixes = new Map(tasks.flatMap((task) => task.mix).map((mix) => [JSON.stringify(mix), mix]));
  const uses = new Map();
  for (const use of tasks.flatMap((task) => task.use)) uses.set(use.product, (uses.get(use.product) ?? 0) + use.ml);
  const tools = new Set(tasks.map((task) => task.tools).filter(Boolean));
  return [
    ...[...tools].map((key) => el("li", {}, say("step.tools"), " ", words(at.sheet, key))),
    ...[...mixes.values()].map((mix) =>
      el(
        "li",
        {},
        el(
          "b",
          {},
          say("step.mix.line", {
            ml: volume(mix.product_ml, units()),
            product: productName(at.sheet, mix.product),
            water: volume(mix.water_ml, units()),
          }),
        ),
        mix.text ? [" ", words(at.sheet, mix.text)] : null,
      ),
    ),
    ...[...uses].map(([product, ml]) =>
      el("li", {}, say("step.use", { ml: volume(ml, units()), product: productName(at.sheet, product) })),
    ),
  ];
}

/** A step's words, and behind "why" and "if it goes wrong" what the sheet says. */
export function stepWords(at, now) {
  const { group } = now;
  const shown = group.steps.filter(
    (task) => tasksOf(now).some((open) => open.step === task.step) || task === group.lead,
  );
  const open = tasksOf(now)
    .map((task) => task.place)
    .filter((place) => place && place !== "car");
  const places = [...new Set(open)];
  return el(
    "section",
    { class: "step", "data-key": `step${group.id}` },
    el(
      "h1",
      { tabindex: "-1" },
      group.places.length === 1 ? el("span", { class: "where" }, placeName(at.sheet, group.places[0]), " ") : null,
      shown
        .filter((task) => task.do !== group.lead.do)
        .map((task) => words(at.sheet, task.do, "span", { class: "with" })),
      words(at.sheet, group.lead.do),
    ),
    places.length > 1
      ? el(
          "p",
          { class: "covers" },
          say("step.places", { places: places.map((place) => placeName(at.sheet, place)).join(", ") }),
        )
      : null,
    mixes(at, now),
    shown.map((task) =>
      task.why
        ? el(
            "details",
            { "data-key": `why${task.id}` },
            el("summary", {}, say("step.why")),
            words(at.sheet, task.why, "p"),
          )
        : null,
    ),
    shown.map((task) =>
      task.if_wrong
        ? el(
            "details",
            { "data-key": `wrong${task.id}` },
            el("summary", {}, say("step.wrong")),
            words(at.sheet, task.if_wrong, "p"),
          )
        : null,
    ),
  );
}

/** The drawings that show how these tasks are done; they came inside the sheet, so they are here offline. */
export function drawings(at, tasks) {
  const names = new Set(tasks.map((task) => task.picture).filter((name) => at.sheet.pictures?.[name]));
  return [...names].map((name) => {
    const { shows, svg } = at.sheet.pictures[name];
    const { text, lang } = textOf(at.sheet, shows);
    const src = `data:image/svg+xml,${encodeURIComponent(svg)}`;
    return el("img", { class: "how", "data-key": `how.${name}`, src, alt: text, lang, width: 320, height: 180 });
  });
}

/** Panels that belong to the bands, sides and panels worked on. */
const panelsAt = (at, places) =>
  at.sheet.body.panels
    .filter(({ id, side, bands }) => [id, side, ...(bands ?? [])].some((one) => places.has(one)))
    .map((panel) => panel.id);

const tells = ({ texture, until, trouble }) => texture || until || trouble;

/** Cautions, the step, the drawing of how, and the car, where it has something to show: a place, or how it stands. */
export function stepShown(at, now) {
  const how = drawings(at, tasksOf(now));
  const here = panelsAt(at, new Set(now.open.map((entry) => entry.task.place)));
  const car = here.length || (!how.length && [...panelLooks(at).values()].some(tells)) ? carPicture(at, here) : null;
  const warned = before(at, now);
  const told = [stepWords(at, now), how, dwell(at, now)];
  // cautions come before the step, always; where they or many answers leave little room, the car comes after the words
  const tight = warned.some(Boolean) || now.group.lead.answer?.length > 2;
  return tight ? [...warned, told, car] : [car, told];
}

/** Cautions and what to wear: before the step itself. */
export function before(at, now) {
  const tasks = tasksOf(now);
  const ppe = [...new Set(tasks.flatMap((task) => task.ppe))];
  return [
    ...cautions(at, tasks),
    ...machineLines(at, tasks),
    ...staleLines(at, tasks),
    ppe.length
      ? el("ul", { class: "wear-list", "aria-label": say("ppe.title"), "data-key": "ppe" }, ppe.map(wear))
      : null,
  ];
}

/** What to take, to mix and to use, right after the step's words. */
function mixes(at, now) {
  const lines = mixLines(at, tasksOf(now));
  return lines.length ? el("ul", { class: "mixes", "data-key": "mix" }, lines) : null;
}

/** How thick the film is on the one panel that is polished now, and what may still go. */
function filmLine(at, now) {
  const limits = new Map(tasksOf(now).flatMap((task) => task.limits.map((limit) => [limit.reading, limit])));
  const of = limits.get("film")?.of ?? [];
  const panel = of[0]?.slice(of[0].indexOf(":") + 1);
  const read = of.length === 1 ? Object.values(means(at.state, panel, at.now)) : [];
  if (!read.length) return null;
  const most = limits.get("film_removed")?.max;
  const shown = (value) => film(value, units(), { fine: true });
  const here = shown(Math.min(...read.map(([mean]) => mean)));
  const left = most && shown(Math.max(0, most - removed(lost(at.index, at.state, panel, at.now))));
  return el("li", { "data-key": "film" }, left ? say("step.film.left", { value: here, left }) : say("step.film", { value: here }));
}

/** Readings that serve this step and still count. */
export function readingLines(at, now) {
  const seen = new Set();
  const measures = now.group.lead.measure.length > 0;
  const wanted = tasksOf(now)
    .flatMap((task) => [
      ...task.measure.map((reading) => [reading, measureSubjects(at.sheet, task, reading)]),
      ...task.limits.flatMap((limit) =>
        limit.reading === "dew_margin"
          ? [
              ["surface_temp", limit.of],
              ["air_temp", limit.air],
              ["humidity", limit.air],
            ]
          : [[limit.reading, limit.of]],
      ),
    ])
    .filter(([reading, subjects]) => !seen.has(`${reading}${subjects}`) && seen.add(`${reading}${subjects}`));
  const lines = wanted
    .map(([reading, subjects]) => {
      const known = newest(at, reading, subjects);
      if (!known || (!measures && known.until - at.now > SOON_MS)) return null;
      return el(
        "li",
        { "data-key": `${reading}${subjects}` },
        say("step.reading", {
          reading: readingName(at.sheet, reading),
          value: value(known.value, at.sheet.readings[reading].unit, units()),
          time: moment(known.t, zone(), at.now),
          until: moment(known.until, zone(), at.now),
        }),
        measures
          ? el(
              "a",
              {
                class: "button quiet",
                href: href("job", at.job.id, "reading", reading, widest(subjects), now.group.id),
              },
              say("step.again"),
            )
          : null,
      );
    })
    .filter(Boolean);
  const thick = filmLine(at, now);
  return thick ? [thick, ...lines] : lines;
}

/** What the main button does now: tell what is wanted first, answer, or sign. */
export function mainFor(at, now) {
  const other = spentButton(at, tasksOf(now));
  if (other) return other;
  const wanted = firstWanted(at, now);
  const job = at.job.id;
  if (wanted?.kind === "batch")
    return mainButton(say("step.batch", { product: productName(at.sheet, wanted.product) }), () =>
      go("job", job, "batch", wanted.product),
    );
  if (wanted?.kind === "reading") {
    const subject = widest(wanted.subjects);
    const text = say("step.read", { reading: readingAt(at.sheet, wanted.reading, subject) });
    const panel = subject.slice(subject.indexOf(":") + 1);
    return mainButton(text, () =>
      wanted.reading === "film" ? go("job", job, "survey", panel) : go("job", job, "reading", wanted.reading, subject, now.group.id),
    );
  }
  if (wanted?.kind === "photo")
    return mainButton(say("step.photo"), () => askPhoto(job, now.signable), { note: say("step.photo.why") });
  const { lead } = now.group;
  if (lead.answer) {
    return el(
      "div",
      { class: "answers", "data-key": "answers", role: "group", "aria-label": say("answer.title") },
      lead.answer.map((choice) => {
        const { text, lang } = textOf(at.sheet, choice.text);
        return mainButton(text, () => sign(at, now, { answer: choice.id }), { lang, kind: choice.ok ? "main" : "" });
      }),
    );
  }
  const says = lead.done_says ? textOf(at.sheet, lead.done_says) : { text: say("step.done"), lang: null };
  return mainButton(says.text, () => sign(at, now), {
    lang: says.lang === document.documentElement.lang ? null : says.lang,
  });
}

/** What is on the car and must come off: for how long, how long still, and what to do when it is late. Never locked. */
export function dwell(at, now) {
  const running = clocksOf(at).find((one) => one.group === now.group.id);
  if (!running || !now.group.tasks.some((task) => task.rescue)) return null;
  const late = running.shuts !== null && running.shuts < at.now;
  const early = running.opens !== null && running.opens > at.now;
  const left = late
    ? say("coat.over", { span: seconds(at.now - running.shuts) })
    : early
      ? say("wash.more", { span: seconds(running.opens - at.now) })
      : running.shuts === null
        ? ""
        : say("coat.left", { span: seconds(running.shuts - at.now) });
  const note = late && running.hold.if_late?.note;
  return el(
    "div",
    { class: `dwell${late ? " pressing" : ""}`, "data-key": "dwell" },
    el("p", { class: "seconds" }, left),
    el("p", {}, say("wash.dwell", { span: seconds(at.now - running.since) }), ". ", early ? say("wash.rinse") : ""),
    note ? words(at.sheet, note, "p", { class: "big-words" }) : null,
  );
}

/** Was the wait before this step counted by this phone's own clock alone? */
export function clockWarning(at, now) {
  const opened = now.open.flatMap((entry) => entry.task.holds.filter((hold) => hold.least >= 600000)).length > 0;
  const heard = phone.contact?.server ?? 0;
  if (!opened || at.now - heard < 600000) return null;
  return el(
    "p",
    { class: "notice amber", "data-key": "clock" },
    say("step.clock", { time: moment(heard, zone(), at.now) }),
  );
}
