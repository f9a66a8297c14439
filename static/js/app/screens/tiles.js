// Any other panel than the next of the walk, by the tile car.

import { tileCar } from "../../car.js";
import { coatNow, isSpread } from "../coat.js";
import { el } from "../dom.js";
import { moment } from "../format.js";
import { jobHead } from "../heads.js";
import { zone } from "../phone.js";
import { goInstead } from "../route.js";
import { firstWanted, sign } from "../signing.js";
import { mainTap } from "../taps.js";
import { say, textOf } from "../words.js";
import { roleOf } from "./wet.js";

/** Any other panel, by the tile car: a wet one is noted as levelled, another one as the next done. */
export function tilesScreen({ at, route }) {
  const part = route.args[0];
  const coat = coatNow(at, part);
  const tile = (panel) => {
    const { text, lang } = textOf(at.sheet, panel.name);
    const wet = coat.wet.find((one) => one.panel === panel.id);
    const open = coat.open.find((one) => one.panel === panel.id);
    const ready = open && open.now.state === "ready" && !firstWanted(at, open.now);
    const what = wet
      ? say("coat.level")
      : !open
        ? say("step.done")
        : open.now.state === "waiting"
          ? moment(open.now.until, zone(), at.now)
          : say(open.now.group.tasks.some(isSpread) ? "coat.spread" : "coat.wiped");
    return { text, lang, note: what, class: wet ? "is-wet" : "", disabled: !wet && !ready };
  };
  const choose = mainTapPanel(at, coat);
  return [
    jobHead(at, true),
    el(
      "main",
      {},
      el("h1", { tabindex: "-1" }, say("coat.tiles")),
      el("p", {}, say("coat.tiles.how")),
      tileCar(at.sheet.body, { tile, choose, label: say("coat.tiles") }),
    ),
  ];
}

function mainTapPanel(at, coat) {
  return (panel) =>
    mainTap(async () => {
      const wet = coat.wet.find((one) => one.panel === panel);
      const open = coat.open.find((one) => one.panel === panel);
      const now = wet ? wet.now : open.now;
      await sign(at, now, {}, roleOf(at, now));
      goInstead("job", at.job.id);
    })();
}
