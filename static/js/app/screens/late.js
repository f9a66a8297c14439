// Steps out of the usual way: noted late, left out, noted with a clock that ran backwards.

import { wall } from "../clock.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { clock, moment } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { decisionForm } from "../lead.js";
import { groupShort } from "../names.js";
import { note } from "../outbox.js";
import { changed, personNow, phone, zone } from "../phone.js";
import { button, field, linkButton, mainButton } from "../pieces.js";
import { home, href } from "../route.js";
import { sign } from "../signing.js";
import { secondTap } from "../taps.js";
import { groupNow } from "../view.js";
import { say } from "../words.js";

/** The latest moment before now at which the shop's clock showed `HH:MM`, ms; null if that is no time. */
export function timeOfDay(text, now) {
  const found = /^(\d{1,2}):(\d{2})$/.exec(text.trim());
  if (!found || Number(found[1]) > 23 || Number(found[2]) > 59) return null;
  const [h, m] = clock(now, zone()).split(":").map(Number);
  const back = (h * 60 + m - (Number(found[1]) * 60 + Number(found[2])) + 1440) % 1440;
  return Math.floor(now / 60000) * 60000 - back * 60000;
}

/** Something done earlier and not noted then: `late/GROUP`. */
export function lateScreen({ at, view, route }) {
  const chosen = route.args[0] ? view.byGroup.get(route.args[0]) : null;
  const open = view.nows.filter((now) => !["done", "left-out", "not-right"].includes(now.state)).slice(0, 12);
  if (!chosen) {
    return [
      jobHead(at, true),
      el(
        "main",
        { class: "work" },
        el("h1", { tabindex: "-1" }, say("late.entry")),
        el("p", {}, say(open.length ? "late.entry.which" : "late.entry.none")),
        el(
          "ul",
          { class: "rows bare" },
          open.map((now) =>
            el(
              "li",
              { "data-key": now.group.id },
              linkButton(groupShort(at.sheet, now.group), href("job", at.job.id, "late", now.group.id), {
                class: "wide",
              }),
            ),
          ),
        ),
      ),
    ];
  }
  const key = `late.${at.job.id}.${chosen.group.id}`;
  const typed = draft(`${key}.when`, clock(at.now, zone()));
  const when = timeOfDay(typed, at.now);
  const who = draft(`${key}.who`, personNow()?.id);
  const keep = (name) => (event) => {
    setDraft(`${key}.${name}`, event.target.value);
    changed(false);
  };
  const send = secondTap(async () => {
    await note(at.job.id, { type: "done", tasks: chosen.signable, person: who, data: { happened: when } });
    dropDrafts(key);
    home(at);
  });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("late.entry")),
      el("p", { class: "step-of" }, groupShort(at.sheet, chosen.group)),
      field(say("late.entry.when"), el("input", { id: "when", type: "time", value: typed, oninput: keep("when") })),
      field(
        say("late.entry.who"),
        el(
          "select",
          { id: "who", onchange: keep("who") },
          phone.people.map((one) => el("option", { value: one.id, selected: one.id === who }, one.name)),
        ),
      ),
      el("p", { class: "small" }, say("late.entry.note")),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      el(
        "button",
        {
          type: "button",
          class: "main big",
          "data-main": true,
          disabled: when === null || when > at.now,
          onclick: send,
        },
        say("late.entry.do", {
          step: groupShort(at.sheet, chosen.group),
          time: when === null ? "–" : moment(when, zone(), at.now),
        }),
      ),
    ),
  ];
}

/** Leave a step out, with reason and decider: `leave/GROUP`. */
export function leaveScreen({ at, view, route }) {
  const chosen = route.args[0] ? view.byGroup.get(route.args[0]) : null;
  if (!chosen) {
    const open = view.nows.filter((now) => now.open.length && now.state !== "not-right");
    return [
      jobHead(at, true),
      el(
        "main",
        { class: "work" },
        el("h1", { tabindex: "-1" }, say("leave.title")),
        el("p", {}, say("leave.how")),
        el(
          "ul",
          { class: "rows bare" },
          open.map((now) =>
            el(
              "li",
              { "data-key": now.group.id },
              linkButton(groupShort(at.sheet, now.group), href("job", at.job.id, "leave", now.group.id), {
                class: "wide",
              }),
            ),
          ),
        ),
      ),
    ];
  }
  const make = (reason, decider, claimed) => ({
    type: "left-out",
    tasks: groupNow(chosen.group, at).signable,
    data: { reason, decider, claimed },
  });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("leave.title")),
      el("p", { class: "step-of" }, groupShort(at.sheet, chosen.group)),
      el("p", {}, say("leave.how")),
      decisionForm({ key: `leave.${at.job.id}`, job: at.job.id, make, text: say("leave.do"), done: () => home(at) }),
    ),
  ];
}

/** A clock that ran backwards: `clockback/GROUP`. */
export function clockBackScreen({ at, view, route }, latest) {
  const now = view.byGroup.get(route.args[0]);
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      el("h1", { tabindex: "-1" }, say("clockback.title")),
      el(
        "p",
        { class: "big-words" },
        say("clockback.how", { now: moment(wall(), zone(), latest), seen: moment(latest, zone(), latest) }),
      ),
      now
        ? button(
            say("clockback.anyway"),
            secondTap(async () => {
              await note(at.job.id, { type: "done", tasks: now.signable, data: {} });
              home(at);
            }),
            { class: "wide" },
          )
        : null,
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say("clockback.again"), async () => {
        const event = now ? await sign(at, now) : null;
        if (event || !now) home(at);
      }),
    ),
  ];
}
