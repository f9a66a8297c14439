// Pieces that many screens share: the head with the truth about sync, the place in the job, running clocks, fields.

import { drawCar } from "../car.js";
import { el } from "./dom.js";
import { clock, moment } from "./format.js";
import { panelLooks } from "./looks.js";
import { groupShort, placeName, taskShort, words } from "./names.js";
import { note } from "./outbox.js";
import { personNow, phone, set, zone } from "./phone.js";
import { go, href } from "./route.js";
import { mainTap, tap } from "./taps.js";
import { say, textOf } from "./words.js";

/** Where the person is in the job, and the last thing done. */
export function placeLines(at, view) {
  const { part, parts, last } = view;
  return el(
    "div",
    { class: "place", "data-key": "place" },
    part
      ? el(
          "p",
          {},
          el(
            "b",
            {},
            say("place.part", { part: textOf(at.sheet, part.title).text, n: part.number, total: parts.length }),
          ),
          " · ",
          say("place.step", { n: view.step, total: part.total }),
        )
      : null,
    el(
      "p",
      {},
      last
        ? say("place.last", { step: taskShort(at.sheet, last.task), time: moment(last.t, zone(), at.now) })
        : say("place.nolast"),
    ),
  );
}

/** The next step's line. */
export const nextLine = (at, view) =>
  el(
    "p",
    { class: "next", "data-key": "next" },
    view.next ? say("place.next", { step: groupShort(at.sheet, view.next.group) }) : say("place.nonext"),
  );

/** The one main button of a screen. */
export const mainButton = (text, work, { lang = null, disabled = false, note = null, kind = "main" } = {}) =>
  el(
    "button",
    {
      type: "button",
      class: `${kind} big`,
      "data-main": true,
      "data-key": "main",
      lang,
      disabled,
      onclick: mainTap(work),
    },
    el("span", {}, text),
    note ? el("small", {}, note) : null,
  );

/** Any other button. */
export const button = (text, work, props = {}) => el("button", { type: "button", onclick: tap(work), ...props }, text);

/** A link that looks like a button. */
export const linkButton = (text, to, props = {}) =>
  el("a", { class: `button ${props.class ?? ""}`, href: to, "data-key": props.key ?? null }, text);

/** Swap the person in one tap: to whoever held this phone before, else choose. */
export function swapButton() {
  const before = (phone.settings.recent ?? [])
    .map((id) => phone.people.find((one) => one.id === id))
    .find((one) => one && one.id !== phone.person);
  if (!before) return linkButton(personNow()?.name ?? say("act.who"), href("names"), { key: "swap" });
  return el(
    "button",
    {
      type: "button",
      "data-key": "swap",
      onclick: tap(() => choosePerson(before.id)),
      "aria-label": say("act.swap", { name: before.name }),
    },
    el("span", {}, personNow()?.name ?? "", " ⇄ ", before.name),
  );
}

/** Take up a person, and remember who was here before. */
export async function choosePerson(id) {
  const recent = [id, ...(phone.settings.recent ?? []).filter((one) => one !== id)].slice(0, 3);
  await set("settings", { ...phone.settings, recent });
  await set("person", id);
}

/** The row of buttons above the foot of a working screen. */
export const actions = (at, { label = null } = {}) =>
  el(
    "nav",
    { class: "acts", "data-key": "acts", "aria-label": say("more") },
    linkButton(say("act.back"), href("job", at.job.id, "back"), { key: "back" }),
    button(say("act.pause"), () => note(at.job.id, { type: "paused", data: {} }).then(() => toJob(at)), {
      "data-key": "pause",
    }),
    swapButton(),
    linkButton(say("act.emergency"), href("emergency", at.job.id), { key: "emergency" }),
    linkButton(say("act.label"), label ? href("job", at.job.id, "label", label) : href("job", at.job.id, "label"), {
      key: "label",
    }),
    linkButton(say("more"), href("job", at.job.id, "more"), { key: "more" }),
  );

/** The foot: the main button, and below it, well apart, what goes another way. */
export const foot = (at, main, stop, group = null) =>
  el(
    "footer",
    { class: "foot", "data-key": "foot" },
    main,
    el(
      "div",
      { class: "apart" },
      group ? linkButton(say("act.notright"), href("job", at.job.id, "trouble", group), { key: "notright" }) : null,
      button(say("act.stop"), stop, { class: "stop", "data-key": "stop" }),
    ),
  );

/** A labelled field. */
export const field = (label, input, hint = null, id = input.id) =>
  el(
    "p",
    { class: "field" },
    el("label", { for: id }, label),
    hint ? el("span", { class: "hint" }, hint) : null,
    input,
  );

/** The unfolded car of a job at this moment. */
export function carPicture(at, here = [], turned = true) {
  const looks = panelLooks(at);
  const look = (panel) => {
    const seen = looks.get(panel);
    return {
      ...seen,
      time:
        seen.until !== null && seen.until - at.now > 300000 && !here.includes(panel) ? clock(seen.until, zone()) : null,
      troubleWords: say("look.bad"),
    };
  };
  const heard = at.sheet.body.panels
    .map((panel) => {
      const seen = look(panel.id);
      const state = seen.trouble
        ? say("look.bad")
        : seen.time
          ? say("look.until", { time: seen.time })
          : say(`look.${seen.texture || "empty"}`);
      return `${placeName(at.sheet, panel.id)}: ${state}`;
    })
    .join(". ");
  return el(
    "figure",
    { class: turned ? "picture turned" : "picture", "data-key": "car" },
    drawCar(at.sheet.body, { look, here, turned, label: heard }),
  );
}

/** Cautions of these tasks, before the step. */
export function cautions(at, tasks) {
  const seen = new Map(
    tasks.flatMap((task) => task.cautions).map((caution) => [`${caution.signal}${caution.text}`, caution]),
  );
  return [...seen.values()].map((caution) =>
    el(
      "div",
      { class: `caution says-${caution.signal.toLowerCase()}`, "data-key": `c${caution.text}` },
      el("strong", { class: "signal" }, say(`signal.${caution.signal}`)),
      words(at.sheet, caution.text, "p"),
    ),
  );
}

/** Go to the job's own screen. */
export const toJob = (at) => go("job", at.job.id);
