// A wet panel on any screen: how long there is, and its "levelled" button. Levelling is never out of reach.

import { coatNow, isLevel, twoPeople } from "../coat.js";
import { seconds } from "../format.js";
import { placeName } from "../names.js";
import { button } from "../pieces.js";
import { sign } from "../signing.js";
import { say } from "../words.js";

/** Seconds first: when to level, how long there is left, how long it is over. */
export function times(wet, now) {
  if (wet.shuts !== null && now > wet.shuts)
    return { text: say("coat.over", { span: seconds(now - wet.shuts) }), kind: "over" };
  if (now < wet.opens) return { text: say("coat.from", { span: seconds(wet.opens - now) }), kind: "early" };
  if (wet.shuts === null) return { text: say("coat.now"), kind: "open" };
  return {
    text: say("coat.left", { span: seconds(wet.shuts - now) }),
    kind: wet.shuts - now < 15000 ? "pressing" : "open",
  };
}

/** Who did it: whoever spreads or levels by agreement, whoever holds the phone. */
export const roleOf = (at, now) => {
  const two = twoPeople(at.state);
  return two ? (now.group.tasks.some(isLevel) ? two.levels : two.spreads) : undefined;
};

/** Wet panels of a job as buttons, for a screen that is about something else: levelling is never out of reach. */
export const wetButtons = (at) =>
  at.sheet.parts
    .filter((part) => part.mode === "coat")
    .flatMap((part) => coatNow(at, part.id).wet)
    .map((wet) =>
      button(
        [say("coat.level"), ": ", placeName(at.sheet, wet.panel), " · ", times(wet, at.now).text],
        () => sign(at, wet.now, {}, roleOf(at, wet.now)),
        { class: `wide wet-button ${times(wet, at.now).kind}`, "data-key": `wet${wet.panel}` },
      ),
    );
