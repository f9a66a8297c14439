// The log of one job as this phone knows it, and the list of all its steps.

import { inOrder, when } from "../../core/index.js";
import { el } from "../dom.js";
import { focusOn } from "../focus.js";
import { film, moment, value } from "../format.js";
import { jobHead } from "../heads.js";
import { groupShort, placeName, productName, readingName, subjectName, taskShort } from "../names.js";
import { nameOf, phone, units, zone } from "../phone.js";
import { button, toJob } from "../pieces.js";
import { actionable, planOf } from "../view.js";
import { known, say, textOf } from "../words.js";

function about(at, event) {
  const { data } = event;
  const plan = planOf(at.sheet);
  const tasks = [
    ...new Map(
      event.tasks
        .map((key) => plan.tasks.get(key.slice(0, key.lastIndexOf("#"))))
        .filter(Boolean)
        .map((task) => [task.group, task]),
    ).values(),
  ];
  const steps = tasks
    .slice(0, 2)
    .map((task) => taskShort(at.sheet, task))
    .join("; ");
  if (event.type === "reading") {
    const unit = at.sheet.readings[data.reading]?.unit;
    return `${readingName(at.sheet, data.reading)}, ${subjectName(at.sheet, data.subject)}: ${value(data.value, unit, units())}`;
  }
  if (event.type === "spot") {
    const read = data.values.map((one) => film(one, units(), { sign: false })).join(" ");
    return `${placeName(at.sheet, data.panel)}: ${read || say(`remark.${data.remark}`)}`;
  }
  if (event.type === "applied")
    return `${productName(at.sheet, data.product)}, ${say("label.batch", { batch: data.batch })}`;
  if (event.type === "damage-found") return `${placeName(at.sheet, data.place)}: ${data.words}`;
  if (event.type === "roles") return say("coat.spreads", { a: nameOf(data.spreads), b: nameOf(data.levels) });
  if (event.type === "decided")
    return [
      known(`outcome.${data.outcome}`) ? say(`outcome.${data.outcome}`) : data.outcome,
      data.reason,
      nameOf(data.decider),
    ]
      .filter(Boolean)
      .join(", ");
  const answer = data.answer && tasks[0]?.answer?.find((one) => one.id === data.answer);
  return [steps, answer ? textOf(at.sheet, answer.text).text : "", data.words, data.note, data.reason]
    .filter(Boolean)
    .join(" · ");
}

/** One event in a line of words. */
export function eventLine(at, event) {
  const name = known(`event.${event.type}`) ? say(`event.${event.type}`) : event.type;
  return [
    name,
    about(at, event),
    say("log.by", { name: nameOf(event.person), time: moment(when(event), zone(), at.now) }),
  ]
    .filter(Boolean)
    .join(" · ");
}

/** The log, newest first. */
export function logScreen({ at }) {
  const here = new Set(phone.outbox.filter((row) => row.kind === "event").map((row) => row.event.id));
  const log = inOrder(at.events).reverse();
  return [
    jobHead(at, true),
    el(
      "main",
      {},
      el("h1", { tabindex: "-1" }, say("log.title")),
      log.length
        ? el(
            "ol",
            { class: "rows log" },
            log.map((event) =>
              el(
                "li",
                { "data-key": event.id },
                eventLine(at, event),
                event.noted_by && event.noted_by !== event.person
                  ? ` · ${say("log.noted", { name: nameOf(event.noted_by) })}`
                  : "",
                event.data.happened ? ` · ${say("log.late")}` : "",
                at.state.taken_back[event.id] ? el("b", {}, ` · ${say("log.taken")}`) : null,
                here.has(event.id) ? el("b", { class: "word amber" }, say("log.here")) : null,
              ),
            ),
          )
        : el("p", {}, say("log.none")),
    ),
  ];
}

const STATE_WORD = {
  done: "step.done",
  waiting: "wait.title",
  "too-late": "late.title",
  "not-right": "trouble.title",
  "left-out": "event.left-out",
  "out-of-limits": "limits.title",
  stopped: "cars.stopped",
};

/** Every step of the job: to read, and to choose one that is ready. */
export function stepsScreen({ at, view }) {
  const item = (now) => {
    const tail =
      now.state === "waiting" && now.until !== null
        ? say("wait.until", { time: moment(now.until, zone(), at.now) })
        : STATE_WORD[now.state]
          ? say(STATE_WORD[now.state])
          : now === view.current
            ? say("wash.next")
            : "";
    const text = [el("span", {}, groupShort(at.sheet, now.group)), el("b", {}, tail)];
    return el(
      "li",
      { "data-key": now.group.id, class: now === view.current ? "here" : "" },
      actionable(now)
        ? button(text, () => focusOn(at.job.id, now.group.id).then(() => toJob(at)), { class: "wide split" })
        : el("p", { class: "split" }, text),
    );
  };
  return [
    jobHead(at, true),
    el(
      "main",
      {},
      el("h1", { tabindex: "-1" }, say("steps.title")),
      el("p", {}, say("steps.how")),
      view.parts.map((part) =>
        el(
          "section",
          { "data-key": part.id },
          el("h2", {}, textOf(at.sheet, part.title).text, el("small", {}, ` ${part.over}/${part.total}`)),
          el(
            "ol",
            { class: "rows bare" },
            part.groups.map((group) => item(view.byGroup.get(group.id))),
          ),
        ),
      ),
    ),
  ];
}
