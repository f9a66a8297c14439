// Who spreads, who levels, and which phone keeps the car's clock.

import { when } from "../../core/index.js";
import { el } from "../dom.js";
import { jobHead, notices } from "../heads.js";
import { note } from "../outbox.js";
import { personNow, phone } from "../phone.js";
import { actions, button, placeLines } from "../pieces.js";
import { stop } from "../signing.js";
import { say } from "../words.js";

/** Who spreads and who levels, chosen once before the first panel. */
export function rolesScreen(at, view) {
  const me = personNow();
  const others = phone.people.filter((one) => one.id !== me?.id);
  const choose = (spreads, levels) => note(at.job.id, { type: "roles", data: { spreads, levels } });
  const pairs = (question, pair) =>
    el(
      "div",
      { class: "choices", "data-key": question },
      el("p", { class: "label" }, say(question, { a: me?.name })),
      others.map((one) => {
        const [a, b] = pair(one);
        const whole = say("coat.spreads", { a: a.name, b: b.name });
        return button(one.name, () => choose(a.id, b.id), { "aria-label": whole, "data-key": `${a.id}${b.id}` });
      }),
    );
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("coat.who")),
      button(say("coat.alone", { a: me?.name }), () => choose(me.id, me.id), { class: "wide", "data-key": "alone" }),
      ...(others.length ? [pairs("coat.wholevels", (one) => [me, one]), pairs("coat.whospreads", (one) => [one, me])] : []),
      actions(at),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      el(
        "div",
        { class: "apart" },
        button(say("act.stop"), () => stop(at), { class: "stop", "data-key": "stop" }),
      ),
    ),
  ];
}

/** One phone keeps the car's clock when another cannot hear the shop; that other one says so. */
export function clockPhone(at) {
  const last = at.events
    .filter((event) => event.type === "clock-phone")
    .sort((a, b) => when(a) - when(b))
    .at(-1);
  const others = at.events.some((event) => event.phone !== phone.phone && event.phone !== "shop");
  if (last && last.phone === phone.phone) return el("p", { class: "small" }, say("coat.clockphone"));
  if (phone.reach === "heard" || !others) return null;
  return last
    ? el("p", { class: "notice amber", "data-key": "clock-phone" }, say("coat.clockphone.other"))
    : button(say("coat.clockphone"), () => note(at.job.id, { type: "clock-phone", data: {} }), {
        class: "wide",
        "data-key": "clock-phone",
      });
}
