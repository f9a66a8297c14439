// Safety at hand: stopped, emergency, what the label says, batches, damage found.

import { when } from "../../core/index.js";
import { now } from "../clock.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { moment } from "../format.js";
import { head, jobHead, notices } from "../heads.js";
import { decisionForm } from "../lead.js";
import { groupShort, productName, words } from "../names.js";
import { note } from "../outbox.js";
import { changed, jobOf, nameOf, phone, standing, zone } from "../phone.js";
import { button, field, linkButton, swapButton } from "../pieces.js";
import { home, href } from "../route.js";
import { sign } from "../signing.js";
import { known, say } from "../words.js";

/** What was said about this stop, first things first. */
function told(at) {
  const before = Math.max(-Infinity, ...at.events.filter((one) => one.type === "cleared").map(when));
  return at.events
    .filter((one) => one.type === "stopped" && one.data.note && when(one) > before)
    .sort((a, b) => when(a) - when(b));
}

/** Work on this car has stopped. What rescues the car stays allowed. */
export function stoppedScreen({ at, view }) {
  const event = at.events.find((one) => one.id === at.state.stopped);
  const key = `stop.${at.job.id}`;
  const rescue = view.nows.filter(
    (one) => one.state === "ready" && one.open.length && one.open.every((entry) => entry.task.rescue),
  );
  const add = async () => {
    const text = draft(key).trim();
    if (!text) return;
    await note(at.job.id, { type: "stopped", data: { note: text } });
    dropDrafts(key);
    changed();
  };
  const make = (reason, decider) => ({ type: "cleared", tasks: [], data: { note: reason, decider } });
  return [
    jobHead(at),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, el("span", { class: "word red" }, say("stop.title"))),
      event
        ? el("p", {}, say("stop.by", { name: nameOf(event.person), time: moment(when(event), zone(), at.now) }))
        : null,
      el("p", { class: "big-words" }, say("stop.how")),
      told(at).map((one) => el("p", { class: "notice red", "data-key": one.id }, one.data.note)),
      el(
        "a",
        { class: "button main big", "data-main": true, "data-key": "main", href: href("emergency", at.job.id) },
        say("act.emergency"),
      ),
      rescue.map((one) =>
        button(say("stop.rescue", { step: groupShort(at.sheet, one.group) }), () => sign(at, one), {
          class: "wide",
          "data-key": one.group.id,
        }),
      ),
      field(
        say("stop.note"),
        el(
          "textarea",
          { id: "happened", rows: 3, maxlength: 1000, oninput: (input) => setDraft(key, input.target.value) },
          draft(key),
        ),
      ),
      button(say("stop.add"), add, { class: "wide" }),
      el("nav", { class: "acts" }, swapButton(), linkButton(say("act.label"), href("job", at.job.id, "label"))),
      el("h2", {}, say("stop.clear")),
      decisionForm({ key: `clear.${at.job.id}`, job: at.job.id, make, text: say("stop.clear"), done: () => home(at) }),
    ),
  ];
}

const EMERGENCY = ["number", "poison", "first_aider", "address", "eyewash", "extinguisher", "assembly", "note"];

/** The emergency page: filled by the owner, here without the network, one tap away. */
export function emergencyScreen({ route }) {
  const page = phone.shop.emergency ?? {};
  const entries = [...new Set([...EMERGENCY, ...Object.keys(page)])]
    .map((name) => [name, page[name]])
    .filter(([, text]) => typeof text === "string" && text.trim());
  const call = (name, text) =>
    ["number", "poison"].includes(name) && /^[+\d][\d\s()./-]*$/.test(text)
      ? el(
          "a",
          { class: "button main big", href: `tel:${text.replace(/[^+\d]/g, "")}` },
          `${say("emergency.call")} ${text}`,
        )
      : el("p", { class: "big-words" }, text);
  const at = route.args[0] && jobOf(route.args[0]) ? standing(route.args[0], now()) : null;
  const products = at ? Object.entries(at.sheet.products).filter(([, product]) => product.first_aid?.length) : [];
  return [
    head(say("emergency.title"), at ? href("job", at.job.id) : "#/"),
    el(
      "main",
      { class: "emergency" },
      entries.length
        ? entries.map(([name, text]) =>
            el(
              "section",
              { "data-key": name },
              el("h2", {}, known(`emergency.${name}`) ? say(`emergency.${name}`) : name),
              call(name, text),
            ),
          )
        : el("p", { class: "notice red big-words" }, say("emergency.none")),
      products.length
        ? el(
            "section",
            {},
            el("h2", {}, say("emergency.first")),
            products.map(([id, product]) =>
              el(
                "div",
                { "data-key": id },
                el("h3", {}, productName(at.sheet, id)),
                el(
                  "ul",
                  {},
                  product.first_aid.map((key) => words(at.sheet, key, "li")),
                ),
              ),
            ),
          )
        : null,
      el("p", { class: "safety" }, say("safety.line")),
    ),
  ];
}
