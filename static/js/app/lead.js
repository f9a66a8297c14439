// Decisions: a lead's name, a reason, and the PIN where the shop's computer answers. Without it the name is claimed.

import { tellShop } from "./ask.js";
import { now } from "./clock.js";
import { contact } from "./contact.js";
import { el } from "./dom.js";
import { draft, dropDrafts, setDraft } from "./drafts.js";
import { moment } from "./format.js";
import { note } from "./outbox.js";
import { changed, phone, zone } from "./phone.js";
import { button, field } from "./pieces.js";
import { secondTap } from "./taps.js";
import { say } from "./words.js";

const faults = new Map();

/** PINs as they are typed: in memory only, never on the disk. */
const pins = new Map();

/** People who may decide; `role` "owner" leaves only owners. */
const deciders = (role = "lead") =>
  phone.people.filter((one) => one.role === "owner" || (role === "lead" && one.role === "lead"));

function fault(key, words) {
  faults.set(key, words);
  changed(false);
}

/** Why a PIN was refused, in the person's language; null for anything else, which comes with its own sentence. */
export function refusal({ code, left, until }, person) {
  const name = phone.people.find((one) => one.id === person)?.name ?? "";
  if (code === "wrong-pin") return say("pin.wrong", { name, n: left });
  if (code === "locked-out") return say("pin.locked", { name, time: moment(until, zone(), now()) });
  return code === "no-pin" ? say("pin.none", { name }) : null;
}

/**
 * Ask the shop to check a PIN and append what was decided. Resolves to true, or says on the screen why not.
 * @param {string} key of the form
 * @param {string} person who decides
 * @param {string} pin
 * @param {object} what {type, job, tasks, reason, about, outcome, note, cause}
 */
export async function confirm(key, person, pin, what) {
  let response;
  try {
    response = await tellShop("/api/confirm", { person, pin, what });
  } catch {
    fault(key, say("pin.away"));
    return false;
  }
  if (response.ok) {
    dropDrafts(key);
    faults.delete(key);
    pins.delete(key);
    await contact();
    return true;
  }
  const body = await response.json().catch(() => ({}));
  fault(key, refusal(body, person) ?? body.message ?? say("pin.other", { why: response.status }));
  pins.delete(key);
  return false;
}

/**
 * The form of a decision.
 * @param {object} options
 *   key: of its drafts; job; role: who may decide; make(reason, decider, claimed) → {type, tasks, data} or {fault};
 *   text: of the button; offline: may it be claimed; done(): where to go; pin: is a reason left out
 */
export function decisionForm({
  key,
  job,
  role = "lead",
  make,
  text,
  offline = true,
  done,
  reason = true,
  kind = "main",
}) {
  const people = deciders(role);
  const chosen = draft(`${key}.who`);
  const read = () => ({ words: draft(`${key}.reason`).trim(), who: draft(`${key}.who`), pin: pins.get(key) ?? "" });
  const check = ({ words, who }) =>
    !people.some((one) => one.id === who) ? say("lead.who") : reason && !words ? say("lead.reason.need") : null;
  const claim = async () => {
    const typed = read();
    const wrong = check(typed);
    if (wrong) return fault(key, wrong);
    const part = make(typed.words, typed.who, true);
    if (part.fault) return fault(key, part.fault);
    await note(job, part);
    dropDrafts(key);
    faults.delete(key);
    return done();
  };
  const prove = async () => {
    const typed = read();
    const wrong = check(typed) ?? (typed.pin ? null : say("lead.pin.need"));
    if (wrong) return fault(key, wrong);
    const part = make(typed.words, typed.who, false);
    if (part.fault) return fault(key, part.fault);
    return (
      (await confirm(key, typed.who, typed.pin, { job, type: part.type, tasks: part.tasks, ...part.data })) && done()
    );
  };
  const keep = (name) => (event) => setDraft(`${key}.${name}`, event.target.value);
  return el(
    "section",
    { class: "decision", "data-key": key },
    people.length
      ? el(
          "div",
          { class: "choices", role: "group", "aria-label": say("lead.who") },
          el("p", { class: "label" }, say(role === "owner" ? "lead.owner" : "lead.who")),
          people.map((one) =>
            button(
              one.name,
              () => {
                setDraft(`${key}.who`, one.id);
                changed(false);
              },
              { "aria-pressed": String(chosen === one.id), "data-key": one.id },
            ),
          ),
        )
      : el("p", { class: "notice amber" }, say("lead.none")),
    reason
      ? field(
          say("lead.reason"),
          el(
            "textarea",
            { id: `${key}-reason`, rows: 2, oninput: keep("reason"), maxlength: 1000 },
            draft(`${key}.reason`),
          ),
        )
      : null,
    field(
      say("lead.pin"),
      el("input", {
        id: `${key}-pin`,
        type: "password",
        inputmode: "numeric",
        autocomplete: "current-password",
        oninput: (event) => pins.set(key, event.target.value),
        value: pins.get(key) ?? "",
      }),
    ),
    faults.get(key) ? el("p", { class: "fault", role: "alert" }, faults.get(key)) : null,
    el(
      "button",
      { type: "button", class: `${kind} big`, "data-main": true, "data-key": "prove", onclick: secondTap(prove) },
      text ?? say("lead.confirm"),
    ),
    offline
      ? [
          el("p", { class: "small" }, say("lead.claim")),
          el(
            "button",
            { type: "button", class: "wide", "data-key": "claim", onclick: secondTap(claim) },
            say("lead.offline"),
          ),
        ]
      : null,
  );
}
