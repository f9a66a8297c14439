// Entries about entries: take back, put right, note late, leave out. Nothing noted is ever erased.

import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { fromTyped, moment, value } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { note } from "../outbox.js";
import { changed, nameOf, phone, units, zone } from "../phone.js";
import { button, field, linkButton } from "../pieces.js";
import { home, href } from "../route.js";
import { secondTap } from "../taps.js";
import { say } from "../words.js";
import { timeOfDay } from "./late.js";
import { eventLine } from "./log.js";

const REVOCABLE = ["done", "reading", "spot", "photo", "applied", "not-right", "damage-found", "left-out", "roles"];

/** Events that may be taken back, newest first. */
const revocable = (at) =>
  at.events
    .filter((event) => REVOCABLE.includes(event.type) && !at.state.taken_back[event.id])
    .sort((a, b) => b.at - (b.offset ?? 0) - (a.at - (a.offset ?? 0)))
    .slice(0, 8);

/** Choose an entry, say why, take it back: two taps in two places. */
export function backScreen({ at }) {
  const key = `back.${at.job.id}`;
  const list = revocable(at);
  const chosen = list.find((event) => event.id === draft(`${key}.of`)) ?? list[0];
  const take = (reason) =>
    secondTap(async () => {
      await note(at.job.id, { type: "taken-back", data: { of: chosen.id, reason } });
      dropDrafts(key);
      home(at);
    });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("back.title")),
      el("p", {}, say(list.length ? "back.how" : "back.none")),
      el(
        "ul",
        { class: "rows bare" },
        list.map((event) =>
          el(
            "li",
            { "data-key": event.id },
            button(
              eventLine(at, event),
              () => {
                setDraft(`${key}.of`, event.id);
                changed(false);
              },
              { class: "wide", "aria-pressed": String(event === chosen) },
            ),
          ),
        ),
      ),
    ),
    chosen
      ? el(
          "footer",
          { class: "foot", "data-key": "foot" },
          el("p", { class: "label" }, say("back.reason")),
          el(
            "div",
            { class: "acts" },
            ["tap", "panel", "notdone"].map((why) =>
              el(
                "button",
                { type: "button", "data-key": why, onclick: take(say(`back.reason.${why}`)) },
                say(`back.reason.${why}`),
              ),
            ),
          ),
        )
      : null,
  ].filter(Boolean);
}

const FIELDS = { reading: ["value"], done: ["person", "happened", "answer"], applied: ["batch"] };

/** Put an entry right: the first value stays readable. */
export function amendScreen({ at, route }) {
  const event = at.events.find((one) => one.id === route.args[0]);
  if (!event) {
    const list = revocable(at).filter((one) => FIELDS[one.type]);
    return [
      jobHead(at, true),
      el(
        "main",
        {},
        el("h1", { tabindex: "-1" }, say("amend.title")),
        el("p", {}, say(list.length ? "amend.how" : "back.none")),
        el(
          "ul",
          { class: "rows bare" },
          list.map((one) =>
            el(
              "li",
              { "data-key": one.id },
              linkButton(eventLine(at, one), href("job", at.job.id, "amend", one.id), { class: "wide" }),
            ),
          ),
        ),
      ),
    ];
  }
  const key = `amend.${event.id}`;
  const field1 = draft(`${key}.field`, FIELDS[event.type][0]);
  const old = {
    value: event.data.value,
    person: event.person,
    batch: event.data.batch,
    happened: event.data.happened ?? event.at - (event.offset ?? 0),
    answer: event.data.answer ?? "",
  }[field1];
  const unit = event.type === "reading" ? at.sheet.readings[event.data.reading]?.unit : null;
  const show =
    field1 === "value"
      ? value(old, unit, units())
      : field1 === "person"
        ? nameOf(old)
        : field1 === "happened"
          ? moment(old, zone(), at.now)
          : old;
  const typed = draft(`${key}.new`);
  const made = () =>
    field1 === "value"
      ? fromTyped(typed.trim(), unit, units())
      : field1 === "happened"
        ? timeOfDay(typed, at.now)
        : typed.trim() || null;
  const reason = draft(`${key}.reason`).trim();
  const send = secondTap(async () => {
    const fresh = made();
    if (fresh === null || !reason) return;
    await note(at.job.id, { type: "amended", data: { of: event.id, field: field1, old, new: fresh, reason } });
    dropDrafts(key);
    home(at);
  });
  const keep = (name) => (input) => {
    setDraft(`${key}.${name}`, input.target.value);
    changed(false);
  };
  const choices = FIELDS[event.type].filter((name) => name !== "answer");
  const input =
    field1 === "person"
      ? el(
          "select",
          { id: "new", onchange: keep("new") },
          el("option", { value: "" }, "–"),
          phone.people.map((one) => el("option", { value: one.id, selected: one.id === typed }, one.name)),
        )
      : el("input", {
          id: "new",
          type: field1 === "happened" ? "time" : "text",
          inputmode: field1 === "value" ? "decimal" : null,
          value: typed,
          oninput: keep("new"),
        });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("amend.title")),
      el("p", {}, eventLine(at, event)),
      choices.length > 1
        ? el(
            "div",
            { class: "choices" },
            choices.map((name) =>
              button(
                say(`amend.${name}`),
                () => {
                  setDraft(`${key}.field`, name);
                  setDraft(`${key}.new`, "");
                  changed(false);
                },
                { "aria-pressed": String(name === field1), "data-key": name },
              ),
            ),
          )
        : null,
      el("p", {}, say("amend.old", { value: show })),
      el("div", { "data-key": field1 }, field(say("amend.new"), input)),
      field(
        say("lead.reason"),
        el("textarea", { id: "reason", rows: 2, oninput: keep("reason") }, draft(`${key}.reason`)),
      ),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      el(
        "button",
        { type: "button", class: "main big", "data-main": true, disabled: made() === null || !reason, onclick: send },
        say("amend.do"),
      ),
    ),
  ];
}
