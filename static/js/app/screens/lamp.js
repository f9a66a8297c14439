// Looks under the lamp: ready ones, and those whose window would be over if they waited longer.

import { coatGroup } from "../coat.js";
import { el } from "../dom.js";
import { focusOn } from "../focus.js";
import { span } from "../format.js";
import { groupShort } from "../names.js";
import { button } from "../pieces.js";
import { actionable } from "../view.js";
import { say } from "../words.js";

const readyLooks = (view, part) =>
  view.nows.filter((now) => now.group.part === part && !coatGroup(now.group) && actionable(now));

/**
 * A look under the lamp whose window was half over when the last panel was spread, so that the field never changes
 * under the hand of somebody who is spreading.
 */
export function dueLook(view, coat) {
  const due = readyLooks(view, coat.part.id).filter(
    (now) => now.until !== null && now.until - coat.laid < windowOf(now) / 2,
  );
  return due.sort((a, b) => a.until - b.until)[0] ?? null;
}

const windowOf = (now) =>
  Math.min(...now.open.flatMap((entry) => entry.task.holds.map((hold) => hold.most ?? Infinity)));

/** Looks under the lamp that are ready: walked by side at the next pause. */
export function looks(at, view, part) {
  const ready = readyLooks(view, part);
  return ready.length
    ? el(
        "nav",
        { class: "acts", "data-key": "looks" },
        ready.map((now) =>
          button(
            [
              groupShort(at.sheet, now.group),
              now.until === null ? "" : ` · ${say("coat.left", { span: span(now.until - at.now) })}`,
            ],
            () => focusOn(at.job.id, now.group.id),
            { class: "wide", "data-key": now.group.id },
          ),
        ),
      )
    : null;
}
