// Direct sun ahead, said before the panel is hot: when it comes, how hot it may get, where to begin.

import { el } from "../dom.js";
import { moment, wholeDegrees } from "../format.js";
import { placeName } from "../names.js";
import { phone, units, zone } from "../phone.js";
import { sunAhead } from "../sky.js";
import { say } from "../words.js";

const SIDES = ["n", "ne", "e", "se", "s", "sw", "w", "nw"];
const TRUSTED = 800; // dc; over about 80 °C a hot panel stirs its own air, and the estimate is too high (trade/heat.py)

const between = ([low, high], difference) => {
  if (!difference && low > TRUSTED) return say("sky.over", { most: wholeDegrees(TRUSTED, units()) });
  const most = wholeDegrees(difference ? high : Math.min(high, TRUSTED), units(), difference);
  const words = { low: parseInt(wholeDegrees(low, units(), difference), 10), high: most };
  return say(!difference && high > TRUSTED ? "sky.tomore" : "sky.between", words);
};

/** How hot panels may get, where that is more than the work allows; without a reading of the air, how much over it. */
function heat({ hot, most }, time) {
  if (most === null || (hot.air !== null && hot.dark[1] <= most)) return null;
  const difference = hot.air === null;
  const words = { dark: between(hot.dark, difference), light: between(hot.light, difference), time };
  return `${say(difference ? "sky.rise" : "sky.hot", words)} ${say("sky.most", { limit: wholeDegrees(most, units()) })}`;
}

/** What to do about it: first what gets hottest, the shade, or the side in the shade. */
function first(at, { lit, shade, hot, to }) {
  const level = at.sheet.body.panels.filter((panel) => panel.side === "top").map((panel) => placeName(at.sheet, panel.id));
  const panels = level.slice(0, 3).join(", ");
  if (lit) return shade ? say("sky.move", { time: moment(to, zone(), at.now) }) : say("sky.shadow", { panels });
  return hot.level ? say("sky.level", { panels }) : say("sky.side", { side: say(`sky.${SIDES[hot.side]}`) });
}

/** The warning of this step, or null. */
export function sunLines(at, view) {
  const ahead = sunAhead(at, view, phone.skies);
  if (!ahead) return null;
  const time = (ms) => moment(ms, zone(), at.now);
  const words = { place: ahead.place, time: time(ahead.lit ? ahead.to : ahead.from) };
  return el(
    "div",
    { class: "notice amber", "data-key": "sun" },
    el("p", {}, el("b", {}, say(ahead.lit ? "sky.now" : "sky.from", words)), " ", first(at, ahead)),
    el("p", {}, heat(ahead, time(ahead.hot.t))),
  );
}
