// Coating: two giant fields, a bar for each wet panel, the tile car for any other panel.

import { now as shopNow } from "../clock.js";
import { coatNow, isSpread, twoPeople } from "../coat.js";
import { el, svg } from "../dom.js";
import { focusOn } from "../focus.js";
import { moment, span } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { groupShort, placeName, productName, readingName, subjectName, words } from "../names.js";
import { note } from "../outbox.js";
import { nameOf, zone } from "../phone.js";
import { actions, button, carPicture, cautions, linkButton, placeLines } from "../pieces.js";
import { wear } from "../ppe.js";
import { go, href } from "../route.js";
import { firstWanted, sign, stop, widest } from "../signing.js";
import { clocksStrip } from "../strip.js";
import { mainTap } from "../taps.js";
import { say, textOf } from "../words.js";
import { dueLook, looks } from "./lamp.js";
import { clockPhone, rolesScreen } from "./roles.js";
import { clockWarning, drawings, mixLines } from "./step.js";
import { sunLines } from "./sun.js";
import { roleOf, times } from "./wet.js";

const WIDE = 320;

function filling(part, opens) {
  return svg(
    "svg",
    { class: "filling", viewBox: `0 0 ${WIDE} 16`, preserveAspectRatio: "none", "aria-hidden": "true" },
    svg("path", { class: "all", d: `M1 8H${WIDE - 1}` }),
    svg("path", { class: "full", d: `M1 8H${1 + Math.round(part * (WIDE - 2))}` }),
    svg("path", { class: "look", d: `M${Math.round(opens * WIDE)} 0V16` }),
    svg("path", { class: "latest", d: `M${WIDE - 3} 0V16` }),
  );
}

/** One wet panel as a bar: filling, "level by look", thick at the latest. */
function bar(at, wet) {
  const end = wet.shuts ?? wet.opens + 60000;
  const parts = 40;
  const filled = Math.min(parts, Math.max(0, Math.floor(((at.now - wet.since) / (end - wet.since)) * parts)));
  const { text, kind } = times(wet, at.now);
  return el(
    "li",
    { class: `wet ${kind}`, "data-key": wet.panel },
    el("span", { class: "panel-name" }, placeName(at.sheet, wet.panel)),
    el("span", { class: "seconds" }, text),
    filling(filled / parts, (wet.opens - wet.since) / (end - wet.since)),
  );
}

function levelField(at, coat) {
  const [oldest] = coat.wet;
  if (!oldest) return el("p", { class: "field-empty", "data-key": "level" }, say(coat.next ? "coat.none" : "coat.all"));
  const { text, kind } = times(oldest, at.now);
  return el(
    "button",
    {
      type: "button",
      class: `giant level ${kind}`,
      "data-key": "level",
      "data-main": true,
      onclick: mainTap(() => sign(at, oldest.now, {}, roleOf(at, oldest.now))),
    },
    el("span", { class: "what" }, say("coat.level"), ": ", el("b", {}, placeName(at.sheet, oldest.panel))),
    el("span", { class: "seconds" }, text),
  );
}

/** What the upper field asks for: a reading, a batch, a wipe or the coat itself. */
function layField(at, view, coat, main) {
  const { next } = coat;
  const job = at.job.id;
  const panel = next ? placeName(at.sheet, next.panel) : null;
  const shown = (what, note, work, kind = "", disabled = false, on = panel) =>
    el(
      "button",
      {
        type: "button",
        class: `giant spread ${kind}`,
        "data-key": "spread",
        "data-main": main,
        disabled,
        onclick: mainTap(work),
      },
      el("span", { class: "what" }, what, on ? [": ", el("b", {}, on)] : null),
      note ? el("span", { class: "seconds" }, note) : null,
    );
  const look = dueLook(view, coat);
  if (look) {
    return shown(
      groupShort(at.sheet, look.group),
      look.until === null ? null : say("coat.left", { span: span(look.until - at.now) }),
      () => focusOn(job, look.group.id),
      "asks",
      false,
      null,
    );
  }
  if (!next) return el("p", { class: "field-empty", "data-key": "spread" }, say("coat.all"));
  if (next.now.state === "waiting")
    return shown(
      say("coat.spread"),
      say("coat.wait", { time: moment(next.now.until, zone(), at.now) }),
      () => {},
      "",
      true,
    );
  if (next.now.state === "out-of-limits")
    return shown(say("limits.title"), null, () => go("job", job, "limits", next.now.group.id), "asks");
  const wanted = firstWanted(at, next.now);
  if (wanted?.kind === "batch")
    return shown(
      say("batch.title"),
      null,
      () => go("job", job, "batch", wanted.product),
      "asks",
      false,
      productName(at.sheet, wanted.product),
    );
  if (wanted?.kind === "reading") {
    const subject = widest(wanted.subjects);
    return shown(
      say("coat.needs", { reading: `${readingName(at.sheet, wanted.reading)}, ${subjectName(at.sheet, subject)}` }),
      null,
      () => go("job", job, "reading", wanted.reading, subject, next.now.group.id),
      "asks",
      false,
      null,
    );
  }
  if (next.now.state !== "ready") return shown(say("first.title"), null, () => {}, "", true);
  const spreading = next.now.group.tasks.some(isSpread);
  const arms = spreading && coat.armed > at.now;
  const full = spreading && coat.cap !== null && coat.wet.length + 1 > coat.cap;
  const says =
    next.now.group.lead.done_says && !spreading
      ? textOf(at.sheet, next.now.group.lead.done_says).text
      : say(spreading ? "coat.spread" : "coat.wiped");
  const word = arms
    ? say("coat.arms", { span: span(coat.armed - at.now) })
    : full
      ? say("coat.cap", { n: coat.wet.length })
      : null;
  return shown(says, word, () => sign(at, next.now, {}, roleOf(at, next.now)), full ? "full" : "", arms);
}

/** How one panel is done, in words and drawings: open before the first one, a tap away after it. */
function howTo(at, { part, over, wet }) {
  const tasks = part.groups.flatMap((group) => group.tasks);
  const first = over === 0 && !wet.length;
  return el(
    "details",
    { "data-key": first ? "how-first" : "how", open: first },
    el("summary", {}, say("coat.how")),
    el(
      "ol",
      { class: "big-words" },
      [...new Map(tasks.map((task) => [task.step, task])).values()].map((task) => words(at.sheet, task.do, "li")),
    ),
    drawings(at, tasks),
  );
}

/** The coating screen of one part. */
export function coatScreen({ at, view, part }) {
  if (!at.state.roles) return rolesScreen(at, view);
  const coat = coatNow(at, part);
  const two = twoPeople(at.state);
  const group = (coat.wet[0]?.now ?? coat.next?.now ?? view.current).group;
  const tasks = coat.next?.now.group.tasks ?? group.tasks;
  const oneField = !two;
  const [label] = tasks.flatMap((task) => task.use.map((use) => use.product));
  const mixes = coat.over === 0 && !coat.wet.length ? mixLines(at, tasks) : [];
  const ppe = [...new Set(tasks.flatMap((task) => task.ppe))];
  const fields = oneField
    ? coat.wet.length
      ? [levelField(at, coat)]
      : [layField(at, view, coat, true)]
    : [layField(at, view, coat, !coat.wet.length), levelField(at, coat)];
  return [
    jobHead(at),
    el(
      "main",
      { class: "work coat" },
      notices(),
      placeLines(at, view),
      coat.next && !coat.wet.length ? clockWarning(at, coat.next.now) : null,
      coat.wet.length ? null : sunLines(at, view),
      coat.over === 0 && !coat.wet.length ? cautions(at, tasks) : null,
      ppe.length && coat.over === 0 && !coat.wet.length
        ? el("ul", { class: "wear-list", "aria-label": say("ppe.title"), "data-key": "ppe" }, ppe.map(wear))
        : null,
      mixes.length ? el("ul", { class: "mixes" }, mixes) : null,
      el("h1", { class: "unseen", tabindex: "-1" }, textOf(at.sheet, coat.part.title).text),
      el(
        "p",
        { class: "roles", "data-key": "roles" },
        el("b", {}, say("coat.progress", { n: coat.over, total: coat.total })),
        coat.cap === null ? "" : ` · ${say("coat.cap.hint", { n: coat.cap })}`,
      ),
      clockPhone(at),
      howTo(at, coat),
      coat.wet.length
        ? el(
            "ul",
            { class: "wets", "data-key": "wets", "aria-label": say("coat.wet", { n: coat.wet.length }) },
            coat.wet.map((wet) => bar(at, wet)),
          )
        : null,
      carPicture(at, [coat.wet[0]?.panel, coat.next?.panel].filter(Boolean)),
      coat.late.length
        ? el(
            "p",
            { class: "lamp" },
            say("coat.lamp", { panels: coat.late.map(({ panel }) => placeName(at.sheet, panel)).join(", ") }),
          )
        : null,
      looks(at, view, coat.part.id),
      clocksStrip(shopNow(), at.job.id, (job) => job !== at.job.id),
      el("p", { class: "small" }, say("coat.look")),
      two
        ? el(
            "p",
            { "data-key": "who" },
            el("span", {}, say("coat.spreads", { a: nameOf(two.spreads), b: nameOf(two.levels) })),
            " ",
            button(
              say("coat.swap", { a: nameOf(two.levels), b: nameOf(two.spreads) }),
              () => note(at.job.id, { type: "roles", data: { spreads: two.levels, levels: two.spreads } }),
              { class: "quiet" },
            ),
          )
        : null,
      actions(at, { label }),
    ),
    el(
      "footer",
      { class: "foot coat-foot", "data-key": "foot" },
      fields,
      el(
        "div",
        { class: "apart" },
        linkButton(say("coat.other"), href("job", at.job.id, "tiles", part), { key: "other" }),
        linkButton(say("act.notright"), href("job", at.job.id, "trouble", group.id), { key: "notright" }),
        button(say("act.stop"), () => stop(at), { class: "stop", "data-key": "stop" }),
      ),
    ),
  ];
}
