// What a step should be told before anybody begins: dew on a cold panel, a window with nobody here, an unmeasured night.

import { surfaceNeeded } from "../../core/index.js";
import { unmeasured, windowAhead } from "../ahead.js";
import { clocksOf } from "../clocks.js";
import { el } from "../dom.js";
import { moment, value } from "../format.js";
import { phone, units, zone } from "../phone.js";
import { newest } from "../readings.js";
import { keyOf, settled } from "../view.js";
import { known, say, textOf } from "../words.js";

const degrees = (dc) => value(dc, "dc", units());

/** The strictest dew margin that these tasks ask for, with the subjects it is read on; null where none does. */
export function dewAhead(at, tasks) {
  const limits = tasks.flatMap((task) => task.limits).filter((limit) => limit.reading === "dew_margin");
  if (!limits.length) return null;
  const [temp, humid] = ["air_temp", "humidity"].map((name) => newest(at, name, limits[0].air));
  const of = [...new Set(["car", ...limits.flatMap((limit) => limit.of)])];
  const least = Math.max(...limits.map((limit) => limit.min));
  return { of, needed: temp && humid ? surfaceNeeded(temp.value, humid.value, least) : null };
}

/** In this air a panel must be so warm; how it stands. Said where panel and air are read, before anything is wetted. */
function dew(at, now) {
  if (!now.group.lead.measure.includes("surface_temp")) return null;
  const open = at.sheet.tasks.filter((task) => !settled(at.gates[keyOf(task, at.state)]));
  const ahead = dewAhead(at, open);
  const surface = ahead && newest(at, "surface_temp", ahead.of);
  if (!surface || ahead.needed === null) return null;
  const cold = surface.value < ahead.needed;
  const words = { value: degrees(surface.value), limit: degrees(ahead.needed) };
  return el(
    "p",
    { class: cold ? "notice amber" : "notice", "data-key": "dew" },
    say(cold ? "told.cold" : "told.dry", words),
  );
}

/** By when to begin the coat ahead, or that nobody will be here. */
function ahead(at, view) {
  const found = windowAhead(at, view, phone.shop.staffed, zone());
  if (!found) return null;
  const time = (ms) => moment(ms, zone(), at.now);
  const hold = known(`hold.${found.hold.kind}`) ? say(`hold.${found.hold.kind}`) : found.hold.id;
  const part = textOf(at.sheet, at.sheet.parts.find((one) => one.id === found.part).title).text;
  const words = { part, hold, opens: time(found.opens), shuts: time(found.shuts) };
  const text = found.latest
    ? say("told.by", { ...words, time: time(found.latest) })
    : `${say("told.nobody", words)} ${found.better ? say("told.better", { time: time(found.better) }) : ""}`;
  return el("p", { class: "notice amber", "data-key": "ahead" }, text);
}

/** A wait by the label's clock that is over: when nobody measured. It is said, and is no fault. */
function night(at, now) {
  const found = clocksOf(at).find((one) => one.group === now.group.id && one.opens !== null && one.opens <= at.now);
  if (!found || !["recoat", "cure"].includes(found.hold.kind) || found.hold.cure?.rates.length) return null;
  const gap = unmeasured(at, found.since, Math.min(at.now, found.opens));
  if (!gap) return null;
  const [from, to] = gap.map((ms) => moment(ms, zone(), at.now));
  return el("p", { class: "notice", "data-key": "night" }, say("told.night", { from, to }));
}

/** What warns stands before the step, what is right or only said after it. */
export function toldLines(at, view) {
  const lines = [dew(at, view.current), ahead(at, view), night(at, view.current)].filter(Boolean);
  const warns = (line) => line.classList.contains("amber");
  return { warnings: lines.filter(warns), remarks: lines.filter((line) => !warns(line)) };
}
