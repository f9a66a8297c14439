// The heads of screens, and the truth about sync.

import { now } from "./clock.js";
import { el } from "./dom.js";
import { clock, moment } from "./format.js";
import { codeOf, phone, unsent, zone } from "./phone.js";
import { href } from "./route.js";
import { say } from "./words.js";

/** What is true about sync, in a few words. */
function syncWords() {
  const waiting = unsent();
  if (waiting.length) return say("sync.unsent", { n: waiting.length, time: clock(waiting[0].wall, zone()) });
  const photos = phone.photos.filter((photo) => !photo.sent).length;
  if (photos) return say("sync.photos", { n: photos });
  if (!phone.contact) return say("sync.never");
  return phone.reach === "heard"
    ? say("sync.all")
    : say("sync.heard", { time: moment(phone.contact.server, zone(), now()) });
}

/** The button that leads to what is not on the shop's computer. */
const syncButton = () =>
  el(
    "a",
    { href: href("unsent"), class: `button quiet sync${unsent().length ? " behind" : ""}`, "data-key": "sync" },
    syncWords(),
  );

/** The head of a screen outside a job. */
export const head = (title, backTo = null) =>
  el(
    "header",
    { class: "head", "data-key": "head" },
    backTo ? el("a", { class: "button quiet", href: backTo }, `‹ ${say("back")}`) : null,
    el("h1", { tabindex: "-1" }, title),
    syncButton(),
  );

/** The head of every screen of a job: which car, and the truth about sync. */
export const jobHead = (at, inside = false) =>
  el(
    "header",
    { class: "head", "data-key": "head" },
    el(
      "a",
      { class: "button quiet", href: inside ? href("job", at.job.id) : "#/" },
      `‹ ${say(inside ? "back" : "cars")}`,
    ),
    el("p", { class: "which" }, el("b", {}, at.job.vehicle.title), ` · ${codeOf(at.job)}`),
    syncButton(),
  );

/** Notices about the phone itself; empty when there is nothing to say. */
export function notices() {
  const list = [];
  if (phone.trouble) list.push(el("p", { class: "notice red", role: "alert" }, phone.trouble));
  if (["away", "unpaired", "ill"].includes(phone.reach))
    list.push(el("p", { class: "notice amber", role: "status" }, say(`sync.${phone.reach}`)));
  if (phone.refused.length)
    list.push(
      el(
        "p",
        { class: "notice red" },
        el("a", { href: href("unsent") }, say("sync.refused", { n: phone.refused.length })),
      ),
    );
  return list;
}
