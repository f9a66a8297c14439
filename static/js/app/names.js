// How things of a sheet are called on the screen: places, steps, groups, readings, products.

import { el } from "./dom.js";
import { stepOf } from "./view.js";
import { known, say, textOf } from "./words.js";

/** Words of a sheet as a node, marked with their language where it isn't the person's. */
export function words(sheet, key, tag = "span", props = {}) {
  const { text, lang } = textOf(sheet, key);
  return el(tag, { ...props, lang: lang === document.documentElement.lang ? null : lang }, text);
}

/** A place: panel, band, side, corner. */
export function placeName(sheet, place) {
  if (!place) return "";
  const panel = sheet.body.panels.find((one) => one.id === place);
  if (panel) return textOf(sheet, panel.name).text;
  for (const kind of ["band", "side", "corner"]) {
    const found = textOf(sheet, `${kind}.${place}`).text;
    if (found !== `${kind}.${place}`) return found;
  }
  return place;
}

/** What a reading is about: `panel:bonnet`, `side:left`, `car`, `air`. */
export function subjectName(sheet, subject) {
  if (subject === "car" || subject === "air") return say(`subject.${subject}`);
  return placeName(sheet, subject.slice(subject.indexOf(":") + 1));
}

/** What a reading is called. */
export const readingName = (sheet, reading) => textOf(sheet, sheet.readings[reading]?.name ?? reading).text;

/** What is to be read, and where if that is not the whole car or its air. */
export const readingAt = (sheet, reading, subject) =>
  subject === "car" || subject === "air"
    ? readingName(sheet, reading)
    : say("step.read.on", { reading: readingName(sheet, reading), subject: subjectName(sheet, subject) });

/** Where a number is from: the usual sources in the person's language, any other as it was written. */
export const basisWords = (basis) =>
  say("wait.basis", { basis: known(`basis.${basis}`) ? say(`basis.${basis}`) : basis });

/** What a product is called. */
export const productName = (sheet, product) => textOf(sheet, sheet.products[product]?.title ?? product).text;

/** A short name of a group for clocks, lists and the "next" line: where when it is one place, and what. */
export function groupShort(sheet, group) {
  const text = textOf(sheet, group.lead.do)
    .text.split(/(?<=[.;:])\s/)[0]
    .replace(/[.;:]$/, "");
  const short = text.length <= 60 ? text : `${text.slice(0, text.lastIndexOf(" ", 56))} …`;
  return group.places.length === 1 ? say("step.at", { step: short, place: placeName(sheet, group.places[0]) }) : short;
}

/** A task's short name. */
export const taskShort = (sheet, task) =>
  groupShort(sheet, {
    lead: task,
    places: task.place && task.place !== "car" ? [task.place] : [],
    steps: [stepOf(task)],
  });
