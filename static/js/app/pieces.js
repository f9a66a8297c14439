// Pieces that many screens share: the head with the truth about sync, the place in the job, running clocks, fields.

import { now } from "./clock.js";
import { clock, moment, span } from "./format.js";
import { el } from "./dom.js";
import { drawCar } from "../car.js";
import { groupShort, placeName, taskShort, words } from "./names.js";
import { note } from "./outbox.js";
import { codeOf, openJobs, personNow, phone, set, standing, unsent, zone } from "./phone.js";
import { go, href } from "./route.js";
import { mainTap, tap } from "./taps.js";
import { clocksOf, panelLooks, planOf, stepOf } from "./view.js";
import { say, textOf } from "./words.js";

/** What is true about sync, in a few words. */
export function syncWords() {
  const waiting = unsent();
  if (waiting.length) return say("sync.unsent", { n: waiting.length, time: clock(waiting[0].wall, zone()) });
  const photos = phone.photos.filter((photo) => !photo.sent).length;
  if (photos) return say("sync.photos", { n: photos });
  if (!phone.contact) return say("sync.never");
  return phone.reach === "heard" ? say("sync.all") : say("sync.heard", { time: moment(phone.contact.server, zone(), now()) });
}

/** The button that leads to what is not on the shop's computer. */
export const syncButton = () => el("a", { href: href("unsent"), class: `button quiet sync${unsent().length ? " behind" : ""}`, "data-key": "sync" }, syncWords());

/** The head of a screen outside a job. */
export const head = (title, backTo = null) => el("header", { class: "head", "data-key": "head" },
  backTo ? el("a", { class: "button quiet", href: backTo }, `‹ ${say("back")}`) : null, el("h1", { tabindex: "-1" }, title), syncButton());

/** The head of every screen of a job: which car, and the truth about sync. */
export const jobHead = (at, inside = false) => el("header", { class: "head", "data-key": "head" },
  el("a", { class: "button quiet", href: inside ? href("job", at.job.id) : "#/" }, `‹ ${say(inside ? "back" : "cars")}`),
  el("p", { class: "which" }, el("b", {}, at.job.vehicle.title), ` · ${codeOf(at.job)}`), syncButton());

/** Notices about the phone itself; empty when there is nothing to say. */
export function notices() {
  const list = [];
  if (phone.trouble) list.push(el("p", { class: "notice red", role: "alert" }, phone.trouble));
  if (["away", "unpaired", "ill"].includes(phone.reach)) list.push(el("p", { class: "notice amber", role: "status" }, say(`sync.${phone.reach}`)));
  if (phone.refused.length) list.push(el("p", { class: "notice red" }, el("a", { href: href("unsent") }, say("sync.refused", { n: phone.refused.length }))));
  return list;
}

/** Where the person is in the job, and the last thing done. */
export function placeLines(at, view) {
  const { part, parts, last } = view;
  return el("div", { class: "place", "data-key": "place" },
    part ? el("p", {}, el("b", {}, say("place.part", { part: textOf(at.sheet, part.title).text, n: part.number, total: parts.length })),
      " · ", say("place.step", { n: view.step, total: part.total })) : null,
    el("p", {}, last ? say("place.last", { step: taskShort(at.sheet, last.task), time: moment(last.t, zone(), at.now) }) : say("place.nolast")));
}

/** The next step's line. */
export const nextLine = (at, view) => el("p", { class: "next", "data-key": "next" },
  view.next ? say("place.next", { step: groupShort(at.sheet, view.next.group) }) : say("place.nonext"));

function clockWords(at, running, name) {
  const values = (extra) => ({ step: name, ...extra });
  if (running.shuts !== null && running.shuts < at.now) return say("hold.late", values({ span: span(at.now - running.shuts) }));
  if (running.opens !== null && running.opens > at.now) {
    const soon = running.opens - at.now < 600000;
    return say(soon ? "hold.opens.in" : "hold.opens", values(soon ? { span: span(running.opens - at.now) } : { time: moment(running.opens, zone(), at.now) }));
  }
  if (running.shuts !== null) {
    const soon = running.shuts - at.now < 600000;
    return say(soon ? "hold.open.in" : "hold.open", values(soon ? { span: span(running.shuts - at.now) } : { time: moment(running.shuts, zone(), at.now) }));
  }
  return say("hold.nolimit", values({ time: moment(running.opens, zone(), at.now) }));
}

/**
 * Holds and windows that run, of all jobs, most urgent first, never more than `most` lines.
 * @param {(job: string, group: string) => boolean} [shown] leaves out what the screen shows itself
 * @param {number|null} [within] only what presses within so many ms
 */
export function clocksStrip(when, hereId = null, shown = () => true, most = 2, within = null) {
  let all = openJobs().flatMap((job) => {
    const at = standing(job.id, when);
    if (!at || at.state.released) return [];
    return clocksOf(at).filter((running) => shown(job.id, running.group)).map((running) => ({ at, running, job }));
  }).filter(({ at, running }) => running.shuts !== null || running.opens > at.now);
  const press = ({ at, running }) => (running.shuts !== null ? running.shuts - at.now : running.opens - at.now + 60000);
  if (within !== null) all = all.filter((one) => press(one) < within);
  all.sort((a, b) => press(a) - press(b));
  const seen = new Map();
  for (const one of all) {
    const key = `${one.job.id}${stepOf(one.running.task)}`;
    if (seen.has(key)) seen.get(key).more += 1;
    else seen.set(key, { ...one, more: 0 });
  }
  const lines = [...seen.values()].slice(0, most).map(({ at, running, job, more }) => {
    const short = groupShort(at.sheet, planOf(at.sheet).byId.get(running.group));
    const name = more ? say("hold.more", { step: short, n: more }) : short;
    const late = running.shuts !== null && running.shuts - at.now < 15000;
    return el("li", { class: late ? "pressing" : "", "data-key": `${job.id}${running.group}` },
      clockWords(at, running, job.id === hereId ? name : `${job.vehicle.title}: ${name}`));
  });
  return lines.length ? el("ul", { class: "clocks", "data-key": "clocks" }, lines) : null;
}

/** The one main button of a screen. */
export const mainButton = (text, work, { lang = null, disabled = false, note = null, kind = "main" } = {}) => el("button", {
  type: "button", class: `${kind} big`, "data-main": true, "data-key": "main", lang, disabled, onclick: mainTap(work),
}, el("span", {}, text), note ? el("small", {}, note) : null);

/** Any other button. */
export const button = (text, work, props = {}) => el("button", { type: "button", onclick: tap(work), ...props }, text);

/** A link that looks like a button. */
export const linkButton = (text, to, props = {}) => el("a", { class: `button ${props.class ?? ""}`, href: to, "data-key": props.key ?? null }, text);

/** Swap the person in one tap: to whoever held this phone before, else choose. */
export function swapButton(at) {
  const before = (phone.settings.recent ?? []).map((id) => phone.people.find((one) => one.id === id)).find((one) => one && one.id !== phone.person);
  if (!before) return linkButton(personNow()?.name ?? say("act.who"), href("names"), { key: "swap" });
  return el("button", { type: "button", "data-key": "swap", onclick: tap(() => choosePerson(before.id)), "aria-label": say("act.swap", { name: before.name }) },
    el("span", {}, personNow()?.name ?? "", " ⇄ ", before.name));
}

/** Take up a person, and remember who was here before. */
export async function choosePerson(id) {
  const recent = [id, ...(phone.settings.recent ?? []).filter((one) => one !== id)].slice(0, 3);
  await set("settings", { ...phone.settings, recent });
  await set("person", id);
}

/** The row of buttons above the foot of a working screen. */
export const actions = (at, { label = null } = {}) => el("nav", { class: "acts", "data-key": "acts", "aria-label": say("more") },
  linkButton(say("act.back"), href("job", at.job.id, "back"), { key: "back" }),
  button(say("act.pause"), () => note(at.job.id, { type: "paused", data: {} }).then(() => toJob(at)), { "data-key": "pause" }),
  swapButton(at),
  linkButton(say("act.emergency"), href("emergency", at.job.id), { key: "emergency" }),
  linkButton(say("act.label"), label ? href("job", at.job.id, "label", label) : href("job", at.job.id, "label"), { key: "label" }),
  linkButton(say("more"), href("job", at.job.id, "more"), { key: "more" }));

/** The foot: the main button, and below it, well apart, what goes another way. */
export const foot = (at, main, stop, group = null) => el("footer", { class: "foot", "data-key": "foot" }, main,
  el("div", { class: "apart" },
    group ? linkButton(say("act.notright"), href("job", at.job.id, "trouble", group), { key: "notright" }) : null,
    button(say("act.stop"), stop, { class: "stop", "data-key": "stop" })));

/** A labelled field. */
export const field = (label, input, hint = null, id = input.id) => el("p", { class: "field" }, el("label", { for: id }, label), hint ? el("span", { class: "hint" }, hint) : null, input);

/** The unfolded car of a job at this moment. */
export function carPicture(at, here = [], turned = true) {
  const looks = panelLooks(at);
  const look = (panel) => {
    const seen = looks.get(panel);
    return { ...seen, time: seen.until !== null && seen.until - at.now > 300000 && !here.includes(panel) ? clock(seen.until, zone()) : null, troubleWords: say("look.bad") };
  };
  const heard = at.sheet.body.panels.map((panel) => {
    const seen = look(panel.id);
    const state = seen.trouble ? say("look.bad") : seen.time ? say("look.until", { time: seen.time }) : say(`look.${seen.texture || "empty"}`);
    return `${placeName(at.sheet, panel.id)}: ${state}`;
  }).join(". ");
  return el("figure", { class: turned ? "picture turned" : "picture", "data-key": "car" }, drawCar(at.sheet.body, { look, here, turned, label: heard }));
}

/** Cautions of these tasks, before the step. */
export function cautions(at, tasks) {
  const seen = new Map(tasks.flatMap((task) => task.cautions).map((caution) => [`${caution.signal}${caution.text}`, caution]));
  return [...seen.values()].map((caution) => el("div", { class: `caution says-${caution.signal.toLowerCase()}`, "data-key": `c${caution.text}` },
    el("strong", { class: "signal" }, caution.signal), words(at.sheet, caution.text, "p")));
}

/** Go to the job's own screen. */
export const toJob = (at) => go("job", at.job.id);
