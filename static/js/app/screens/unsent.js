// What is where: entries only on this phone, entries the shop did not take, and a file for the owner.

import { now } from "../clock.js";
import { contact } from "../contact.js";
import { el } from "../dom.js";
import { clock, moment } from "../format.js";
import { head, notices } from "../heads.js";
import { exportText } from "../outbox.js";
import { jobOf, nameOf, phone, unsent, zone } from "../phone.js";
import { button, mainButton } from "../pieces.js";
import { known, say } from "../words.js";

function save() {
  const url = URL.createObjectURL(new Blob([exportText()], { type: "application/json" }));
  const link = el("a", { href: url, download: `${say("unsent.file")}-${phone.phone ?? "phone"}.json` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

const line = (event) =>
  [
    known(`event.${event.type}`) ? say(`event.${event.type}`) : event.type,
    jobOf(event.job)?.vehicle.title ?? event.job,
    nameOf(event.person),
    clock(event.at, zone()),
  ].join(" · ");

/** The screen behind the words about sync. */
export function unsentScreen() {
  const waiting = unsent();
  const photos = phone.photos.filter((photo) => !photo.sent);
  return [
    head(say("unsent.title"), "#/"),
    el(
      "main",
      {},
      notices(),
      phone.contact
        ? el("p", {}, say("sync.heard", { time: moment(phone.contact.server, zone(), now()) }))
        : el("p", {}, say("sync.never")),
      waiting.length
        ? [
            el("h2", {}, say("unsent.list"), ` ${waiting.length}`),
            el(
              "ol",
              { class: "rows" },
              waiting.slice(0, 100).map((row) => el("li", { "data-key": row.event.id }, line(row.event))),
            ),
          ]
        : el("p", {}, say("unsent.none")),
      photos.length ? el("p", {}, `${say("unsent.photos")}: ${photos.length}`) : null,
      phone.refused.length
        ? [
            el("h2", {}, el("span", { class: "word red" }, say("unsent.refused"))),
            el("p", {}, say("unsent.refused.do")),
            el(
              "ol",
              { class: "rows" },
              phone.refused.map((row) =>
                el("li", { "data-key": row.id }, `${line(row.event)} · ${row.status} ${row.message}`),
              ),
            ),
          ]
        : null,
      button(say("unsent.export"), save, { class: "wide" }),
      el("p", { class: "small" }, say("unsent.export.why")),
      el("p", { class: "small" }, say("phone.this", { name: phone.phoneName ?? "–" })),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say("unsent.now"), () => contact()),
    ),
  ];
}
