// A panel too thin to polish, not read, or polished enough: what it is, who may decide, and what nobody opens.

import { el } from "../dom.js";
import { draft, setDraft } from "../drafts.js";
import { film } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { decisionForm } from "../lead.js";
import { placeName } from "../names.js";
import { changed, units } from "../phone.js";
import { actions, button, foot, linkButton, mainButton, nextLine, placeLines } from "../pieces.js";
import { go, home, href } from "../route.js";
import { stop } from "../signing.js";
import { say } from "../words.js";
import { stepWords } from "./step.js";

/** What the gate says of a film, or null: `["below", "film", …]`, `["unread", …]`, `["above", "film_removed", …]`. */
export const thinOf = (now) =>
  now.because.find(([code, name]) => code === "unread" || name === "film" || name === "film_removed") ?? null;

function sentence(because, panel) {
  const shown = (value) => film(value, units(), { fine: true });
  const [code, name, value, bound] = because;
  if (code === "unread") return say("thin.unread", { panel, why: say(`remark.${name}`) });
  if (name === "film_removed") return say("thin.removed", { panel, value: shown(value), limit: shown(bound) });
  return say(code === "below" ? "thin.below" : "thin.above", { panel, value: shown(value), limit: shown(bound) });
}

/** The owner's decision, with the customer's signature; claimed where the shop can't be heard. */
function decision(at, event) {
  const key = `thin.${event}`;
  const make = (reason, decider, claimed) =>
    draft(`${key}.signed`) === "yes"
      ? { type: "decided", data: { about: event, outcome: "accept-as-is", reason, decider, claimed, customer: true } }
      : { fault: say("thin.sign") };
  return el(
    "details",
    { "data-key": "owner" },
    el("summary", {}, say("thin.owner")),
    button(
      say("thin.signed"),
      () => {
        setDraft(`${key}.signed`, draft(`${key}.signed`) === "yes" ? "" : "yes");
        changed(false);
      },
      { class: "wide", "aria-pressed": String(draft(`${key}.signed`) === "yes"), "data-key": "signed" },
    ),
    decisionForm({ key, job: at.job.id, role: "owner", make, text: say("thin.do"), kind: "", done: () => home(at) }),
  );
}

/** The screen of a panel whose film says no. */
export function thinScreen({ at, view }) {
  const now = view.current;
  const because = thinOf(now);
  const event = because[1] === "film_removed" ? null : because.at(-1);
  const known = event && at.events.find((one) => one.id === event);
  const panel = known?.data.panel ?? now.group.places[0] ?? at.sheet.body.panels[0].id;
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      placeLines(at, view),
      el("h1", { tabindex: "-1" }, say("limits.title")),
      el("p", { class: "big-words" }, sentence(because, placeName(at.sheet, panel))),
      el("p", {}, say(event ? "thin.what" : "thin.never")),
      stepWords(at, now),
      linkButton(say("more.leave"), href("job", at.job.id, "leave", now.group.id)),
      event ? decision(at, event) : null,
      nextLine(at, view),
      actions(at),
    ),
    foot(at, mainButton(say("limits.read"), () => go("job", at.job.id, "survey", panel)), () => stop(at), now.group.id),
  ];
}
