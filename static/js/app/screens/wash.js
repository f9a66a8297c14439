// Washing: nobody touches a phone under foam. One page a part, readable from a wall; four taps a wash.

import { now as shopNow } from "../clock.js";
import { el } from "../dom.js";
import { moment } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { groupShort } from "../names.js";
import { zone } from "../phone.js";
import { actions, foot, linkButton, nextLine, placeLines } from "../pieces.js";
import { href } from "../route.js";
import { stop } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { productsOf } from "../view.js";
import { say } from "../words.js";
import { mainFor, stepShown } from "./step.js";
import { sunLines } from "./sun.js";

function line(at, view, group) {
  const now = view.byGroup.get(group.id);
  const done = now.state === "done" ? at.state.done[`${group.lead.id}#${at.state.attempts[group.lead.id] ?? 1}`] : null;
  const here = now === view.current;
  const tail = done
    ? moment(done.t, zone(), at.now)
    : now.state === "waiting"
      ? moment(now.until, zone(), at.now)
      : now.state === "not-right"
        ? say("trouble.title")
        : here
          ? say("wash.next")
          : "";
  return el(
    "li",
    { class: here ? "here" : now.state, "data-key": group.id, "aria-current": here ? "step" : null },
    el("span", {}, groupShort(at.sheet, group)),
    el("b", {}, tail),
  );
}

/** The page of a wash part. */
export function washScreen({ at, view }) {
  const now = view.current;
  const [label] = productsOf(view.part.groups.flatMap((group) => group.tasks));
  return [
    jobHead(at),
    el(
      "main",
      { class: "work wash" },
      notices(),
      placeLines(at, view),
      sunLines(at, view),
      stepShown(at, now),
      el(
        "ol",
        { class: "course", "data-key": "course" },
        view.part.groups.map((group) => line(at, view, group)),
      ),
      clocksStrip(shopNow(), at.job.id, (job, group) => group !== now.group.id),
      nextLine(at, view),
      el(
        "nav",
        { class: "acts", "data-key": "wash-acts" },
        linkButton(say("wash.late"), href("job", at.job.id, "late"), { key: "late" }),
        linkButton(say("wash.trouble"), href("job", at.job.id, "panels"), { key: "tile" }),
      ),
      actions(at, { label }),
    ),
    foot(at, mainFor(at, now), () => stop(at), now.group.id),
  ];
}
