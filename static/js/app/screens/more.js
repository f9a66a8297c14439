// Everything else that can be done in a job, each one tap away.

import { el } from "../dom.js";
import { jobHead } from "../heads.js";
import { linkButton } from "../pieces.js";
import { href } from "../route.js";
import { say } from "../words.js";

const PLACES = [
  ["more.steps", "steps"],
  ["more.late", "late"],
  ["more.leave", "leave"],
  ["more.damage", "damage"],
  ["more.amend", "amend"],
  ["more.log", "log"],
  ["more.close", "day"],
  ["more.label", "label"],
];

/** The list. */
export function moreScreen({ at }) {
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      el("h1", { tabindex: "-1" }, say("more.title")),
      el(
        "ul",
        { class: "rows bare" },
        PLACES.map(([key, screen]) =>
          el("li", { "data-key": screen }, linkButton(say(key), href("job", at.job.id, screen), { class: "wide" })),
        ),
      ),
    ),
  ];
}
