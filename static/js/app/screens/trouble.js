// Not right: what, where, and what a lead makes of it.

import { cureAbout, followers } from "../../core/index.js";
import { now as shopNow } from "../clock.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { jobHead, notices } from "../heads.js";
import { decisionForm } from "../lead.js";
import { groupShort, placeName } from "../names.js";
import { note } from "../outbox.js";
import { changed, nameOf } from "../phone.js";
import { actions, button, carPicture, field, foot, linkButton, mainButton, placeLines } from "../pieces.js";
import { go, goInstead, href } from "../route.js";
import { stop } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { groupNow, keyOf, planOf } from "../view.js";
import { say } from "../words.js";
import { cureOf } from "./cure.js";
import { eventLine } from "./log.js";
import { meanwhile } from "./wait.js";

/** Note something as not right: `trouble/GROUP`. */
export function troubleScreen({ at, route }) {
  const group = planOf(at.sheet).byId.get(route.args[0]);
  if (!group) return [jobHead(at, true)];
  const now = groupNow(group, at);
  const key = `trouble.${at.job.id}`;
  const chosen = draft(`${key}.where`, []);
  const tasks = group.tasks.filter((task) => at.gates[keyOf(task, at.state)].state !== "left-out");
  const places = [...new Set(tasks.map((task) => task.place))];
  const toggle = (place) => {
    setDraft(`${key}.where`, chosen.includes(place) ? chosen.filter((one) => one !== place) : [...chosen, place]);
    changed(false);
  };
  const send = async () => {
    const where = places.length === 1 ? places : chosen;
    const keys = tasks.filter((task) => where.includes(task.place)).map((task) => keyOf(task, at.state));
    if (!keys.length) return;
    await note(at.job.id, { type: "not-right", tasks: keys, data: { words: draft(`${key}.words`).trim() } });
    dropDrafts(key);
    goInstead("job", at.job.id);
  };
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("trouble.title")),
      el("p", { class: "step-of" }, groupShort(at.sheet, now.group)),
      places.length > 1
        ? el(
            "div",
            { class: "choices", role: "group", "aria-label": say("trouble.where") },
            el("p", { class: "label" }, say("trouble.where")),
            places.map((place) =>
              button(placeName(at.sheet, place), () => toggle(place), {
                "aria-pressed": String(chosen.includes(place)),
                "data-key": place,
              }),
            ),
          )
        : null,
      field(
        say("trouble.what"),
        el(
          "textarea",
          { id: "what", rows: 3, maxlength: 1000, oninput: (event) => setDraft(`${key}.words`, event.target.value) },
          draft(`${key}.words`),
        ),
      ),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say("trouble.do"), send, { disabled: places.length > 1 && !chosen.length }),
    ),
  ];
}

const wordsOf = (at, id) => at.events.find((event) => event.id === id);

/** Something is not right and waits for a lead. */
export function notRightScreen({ at, view }) {
  const now = view.current;
  const ids = [
    ...new Set(now.open.filter((entry) => entry.state === "not-right").map((entry) => at.state.not_right[entry.key])),
  ];
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, el("span", { class: "word red" }, say("trouble.open"))),
      el("p", { class: "step-of" }, groupShort(at.sheet, now.group)),
      ids
        .map((id) => wordsOf(at, id))
        .filter(Boolean)
        .map((event) =>
          el(
            "p",
            { class: "notice red", "data-key": event.id },
            `${nameOf(event.person)}: ${event.data.words || answerWords(at, event)}`,
          ),
        ),
      el("p", {}, say("trouble.next")),
      carPicture(at, []),
      linkButton(say("trouble.accept"), href("job", at.job.id, "decide", "accept", now.group.id)),
      meanwhile(at, view),
      clocksStrip(shopNow(), at.job.id),
      actions(at),
    ),
    foot(
      at,
      mainButton(say("trouble.redo"), () => go("job", at.job.id, "decide", "redo", now.group.id)),
      () => stop(at),
    ),
  ];
}

function answerWords(at, event) {
  const id = event.tasks[0]?.slice(0, event.tasks[0].lastIndexOf("#"));
  const task = planOf(at.sheet).tasks.get(id);
  const choice = task?.answer?.find((one) => one.id === event.data.answer);
  return choice ? groupShort(at.sheet, { lead: { do: choice.text }, places: [] }) : say("trouble.title");
}

/** Keys of these tasks, and of what was done after them on that place: all go to their next attempt. */
function redoKeys(at, ids) {
  const all = new Set(ids.flatMap((id) => followers(at.index, id)));
  const touched = (key) => at.state.done[key] || at.state.left_out[key] || at.state.not_right[key];
  return at.sheet.tasks
    .filter((task) => all.has(task.id))
    .map((task) => [task.id, keyOf(task, at.state)])
    .filter(([id, key]) => ids.includes(id) || touched(key))
    .map(([, key]) => key);
}

const done = (at) => () => goInstead("job", at.job.id);

/** `decide/confirm/EVENT`: what was claimed without the shop is confirmed with the PIN, or refused. */
function confirmScreen(at, id) {
  const event = at.events.find((one) => one.id === id);
  if (!event) return [jobHead(at, true)];
  const outcome = draft(`confirm.${id}.outcome`, "confirmed");
  const choose = (name) => () => {
    setDraft(`confirm.${id}.outcome`, name);
    changed(false);
  };
  const make = (reason, decider, claimed) => ({
    type: "decided",
    tasks: [],
    data: { about: id, outcome, reason, decider, claimed },
  });
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("lead.confirm")),
      el("p", { class: "step-of" }, eventLine(at, event)),
      el(
        "div",
        { class: "choices" },
        ["confirmed", "refused"].map((name) =>
          button(say(`outcome.${name}`), choose(name), { "aria-pressed": String(name === outcome), "data-key": name }),
        ),
      ),
      decisionForm({
        key: `confirm.${id}`,
        job: at.job.id,
        make,
        text: say("lead.confirm"),
        offline: false,
        done: done(at),
      }),
    ),
  ];
}

/** `decide/redo|accept|late|cure/GROUP`: a lead decides. */
export function decideScreen({ at, route }) {
  const [kind, groupId] = route.args;
  if (kind === "confirm") return confirmScreen(at, groupId);
  const group = planOf(at.sheet).byId.get(groupId);
  if (!group) return [jobHead(at, true)];
  const now = groupNow(group, at);
  const bad = now.open.filter((entry) => entry.state === "not-right");
  const about = [...new Set(bad.map((entry) => at.state.not_right[entry.key]))];
  const base = (reason, decider, claimed) => ({ reason, decider, claimed });
  const made = {
    redo: (...typed) => ({
      type: "reopened",
      tasks: redoKeys(
        at,
        bad.map((entry) => entry.task.id),
      ),
      data: { ...base(...typed), cause: about[0] ?? groupId },
    }),
    accept: (...typed) => ({
      type: "decided",
      tasks: [],
      data: { about: about[0] ?? "", outcome: "accept-as-is", ...base(...typed) },
    }),
    late: (...typed) => {
      const holds = now.open.flatMap((entry) => entry.task.holds).filter((hold) => hold.if_late);
      return {
        type: "reopened",
        tasks: redoKeys(at, [...new Set(holds.flatMap((hold) => hold.if_late.reopen))]),
        data: { ...base(...typed), cause: holds[0]?.id ?? "" },
      };
    },
    cure: (...typed) => {
      const { task, hold } = cureOf(now) ?? {};
      if (!task) return { fault: say("cure.over") };
      const about = cureAbout(task, hold);
      return { type: "decided", tasks: [], data: { about, outcome: "accept-as-is", ...base(...typed) } };
    },
  }[kind];
  const title = { redo: "trouble.redo", accept: "trouble.accept", late: "late.do", cure: "cure.decide" }[kind];
  if (!made) return [jobHead(at, true)];
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say(title)),
      el("p", { class: "step-of" }, groupShort(at.sheet, group)),
      decisionForm({
        key: `decide.${at.job.id}.${kind}`,
        job: at.job.id,
        make: made,
        text: say(title),
        done: done(at),
      }),
    ),
  ];
}
