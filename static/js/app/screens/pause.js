// Pausing, closing for the day, and taking over next morning.

import { when } from "../../core/index.js";
import { attended } from "../attention.js";
import { isWipe } from "../coat.js";
import { contact } from "../contact.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { clock, moment, span } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { groupShort, readingName, taskShort } from "../names.js";
import { note } from "../outbox.js";
import { changed, nameOf, personNow, phone, unsent, zone } from "../phone.js";
import { button, field, mainButton, swapButton } from "../pieces.js";
import { home, href } from "../route.js";
import { stop } from "../signing.js";
import { keyOf, lastSigned, planOf } from "../view.js";
import { say, textOf } from "../words.js";

/** A pause shorter than this asks nothing when the same person goes on (own figure). */
const SHORT_MS = 180000;

/** Between what is open, where things are and what comes first, in the one note of a closed day. */
const BETWEEN = " | ";

/** Close for the day: what is open, where things are, what comes first; and send before leaving. */
export function dayScreen({ at, view }) {
  const key = `day.${at.job.id}`;
  const keep = (name) => (event) => setDraft(`${key}.${name}`, event.target.value);
  const area = (name) =>
    field(
      say(`day.${name}`),
      el("textarea", { id: `day-${name}`, rows: 2, maxlength: 600, oninput: keep(name) }, draft(`${key}.${name}`)),
    );
  const send = async () => {
    const words = ["open", "where", "first"]
      .map((name) => draft(`${key}.${name}`).trim())
      .filter(Boolean)
      .join(BETWEEN);
    const keys = view.current ? view.current.keys.slice(0, 200) : [];
    await note(at.job.id, { type: "paused", data: { note: words, open: keys } });
    dropDrafts(key);
    await contact();
    home(at);
  };
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("day.title")),
      area("open"),
      area("where"),
      area("first"),
      el("p", { class: "notice" }, unsent().length ? say("day.unsent") : say("day.sent")),
    ),
    el("footer", { class: "foot", "data-key": "foot" }, mainButton(say("day.do"), send)),
  ];
}

/** The pause is noted already; a reason may be told, and the day may be closed. */
function pauseReasons(at) {
  return el(
    "div",
    { class: "choices", role: "group", "aria-label": say("pause.why"), "data-key": "reasons" },
    el("p", { class: "label" }, say("pause.why")),
    ["break", "parts", "car"].map((why) =>
      button(say(`pause.${why}`), () => note(at.job.id, { type: "paused", data: { note: say(`pause.${why}`) } }), {
        "data-key": why,
      }),
    ),
    el("a", { class: "button", href: href("job", at.job.id, "day") }, say("pause.day")),
  );
}

/** What the night made void: readings that no longer count, panels wiped but not coated. */
export function expired(at) {
  const open = at.sheet.tasks.filter((task) => !["done", "left-out"].includes(at.gates[keyOf(task, at.state)].state));
  const wanted = new Set(
    open.flatMap((task) => [
      ...task.measure,
      ...task.limits.flatMap(({ reading }) =>
        reading === "dew_margin" ? ["surface_temp", "air_temp", "humidity"] : [reading],
      ),
    ]),
  );
  const readings = Object.entries(at.state.readings)
    .map(([key, rows]) => [key.split("|")[0], rows])
    .filter(
      ([name, rows]) =>
        rows.length && wanted.has(name) && at.now - rows.at(-1)[0] > (at.sheet.readings[name]?.valid_ms ?? 0),
    )
    .map(([name]) => say("over.reading", { name: readingName(at.sheet, name) }));
  const wiped = at.sheet.tasks
    .filter(
      (task) =>
        isWipe(task) &&
        at.state.done[keyOf(task, at.state)] &&
        at.now - at.state.done[keyOf(task, at.state)].t > 4 * 3600000,
    )
    .filter((task) =>
      at.sheet.tasks.some(
        (later) => later.after.includes(task.id) && at.gates[keyOf(later, at.state)].state !== "done",
      ),
    )
    .map((task) =>
      say("over.wipe", {
        panel:
          textOf(at.sheet, at.sheet.body.panels.find((panel) => panel.id === task.place)?.name ?? "").text ||
          taskShort(at.sheet, task),
      }),
    );
  return [...new Set([...readings, ...wiped])];
}

/**
 * After a pause, a change of person or phone, a new day or a long gap: the last three things, and the look at what was open.
 * @param {{at: object, view: object}} context
 * @param {object} why what `attention` found: {kind, since}
 */
export function overScreen({ at }, why) {
  const key = `over.${at.job.id}`;
  const paused = at.state.paused ? at.events.find((event) => event.id === at.state.paused) : null;
  const signed = lastSigned(at, 3);
  const openKeys = paused?.data.open ?? [];
  const own = paused && paused.person === personNow()?.id;
  const short = own && at.now - when(paused) < SHORT_MS;
  const asked = [
    ...(signed[0] && !short
      ? [{ id: signed[0].event, keys: signed[0].keys, words: groupShort(at.sheet, signed[0].group), signed: true }]
      : []),
    ...groupsOf(at, openKeys),
  ];
  const looked = draft(key, {});
  const answer = (id, word) => {
    setDraft(key, { ...looked, [id]: word });
    changed(false);
  };
  const all = asked.every((item) => looked[item.id]);
  const other = paused ? !own : why.kind !== "gap";
  const go = async () => {
    const outcome = {};
    for (const item of asked) for (const one of item.keys) outcome[one] = looked[item.id] === "done" ? "done" : "again";
    await note(at.job.id, { type: other ? "taken-over" : "resumed", data: { looked: outcome } });
    for (const item of asked) {
      if (item.signed && looked[item.id] !== "done")
        await note(at.job.id, {
          type: "taken-back",
          data: { of: item.id, reason: say(looked[item.id] === "unsure" ? "over.unsure" : "over.again") },
        });
      if (!item.signed && looked[item.id] === "done")
        await note(at.job.id, { type: "done", tasks: item.keys, data: { note: say("over.done") } });
    }
    dropDrafts(key);
    attended(at.job.id);
    changed();
  };
  const gone = expired(at);
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say(paused ? "over.title" : "over.do")),
      paused
        ? el("p", {}, say("over.by", { name: nameOf(paused.person), time: moment(when(paused), zone(), at.now) }))
        : null,
      own && !paused.data.note ? pauseReasons(at) : null,
      paused?.data.note
        ? el(
            "div",
            { class: "notice" },
            el("b", {}, say("over.note")),
            paused.data.note.split(BETWEEN).map((line) => el("p", {}, line)),
          )
        : null,
      !paused && why.since
        ? el(
            "p",
            {},
            say("over.gap", {
              span: span(at.now - why.since),
              step: signed[0] ? groupShort(at.sheet, signed[0].group) : "–",
            }),
          )
        : null,
      asked.length ? el("h2", {}, say("over.open")) : null,
      asked.map((item) =>
        el(
          "div",
          { class: "choices", role: "group", "aria-label": item.words, "data-key": item.id },
          el("p", { class: "label" }, item.words),
          ["done", "again", "unsure"].map((word) =>
            button(say(`over.${word}`), () => answer(item.id, word), {
              "aria-pressed": String(looked[item.id] === word),
              "data-key": word,
            }),
          ),
        ),
      ),
      signed.length
        ? [
            el("h2", {}, say("over.last")),
            el(
              "ul",
              {},
              signed.map((one) =>
                el(
                  "li",
                  { "data-key": one.event },
                  `${groupShort(at.sheet, one.group)} · ${nameOf(one.person)}, ${moment(one.t, zone(), at.now)}`,
                ),
              ),
            ),
          ]
        : null,
      gone.length
        ? [
            el("h2", {}, say("over.expired")),
            el(
              "ul",
              {},
              gone.map((words) => el("li", {}, words)),
            ),
            el("p", {}, say("over.look")),
          ]
        : null,
      at.now - (phone.contact?.server ?? 0) > 60000
        ? el(
            "p",
            { class: "notice amber" },
            say("over.unheard", { time: phone.contact ? clock(phone.contact.server, zone()) : "–" }),
          )
        : null,
      el(
        "nav",
        { class: "acts" },
        swapButton(),
        el("a", { class: "button", href: href("emergency", at.job.id) }, say("act.emergency")),
      ),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say(other ? "over.do" : "over.resume"), go, { disabled: !all, note: all ? null : say("over.all") }),
      el(
        "div",
        { class: "apart" },
        button(say("act.stop"), () => stop(at), { class: "stop", "data-key": "stop" }),
      ),
    ),
  ];
}

function groupsOf(at, keys) {
  const plan = planOf(at.sheet);
  const found = new Map();
  for (const key of keys) {
    const task = plan.tasks.get(key.slice(0, key.lastIndexOf("#")));
    if (!task || keyOf(task, at.state) !== key || at.gates[key]?.state === "done") continue;
    if (!["ready", "needs-other-person"].includes(at.gates[key]?.state)) continue;
    if (!found.has(task.group))
      found.set(task.group, {
        id: task.group,
        keys: [],
        words: groupShort(at.sheet, plan.byId.get(task.group)),
        signed: false,
      });
    found.get(task.group).keys.push(key);
  }
  return [...found.values()];
}
