// Which gauge a reading is taken with: kept for all that follow, until another one is chosen.

import { el } from "./dom.js";
import { draft, setDraft } from "./drafts.js";
import { changed, phone } from "./phone.js";
import { say } from "./words.js";

const kindOf = (reading) =>
  reading === "humidity" ? "hygrometer" : reading.endsWith("_temp") ? "thermometer" : reading.split("_")[0];

const fitting = (reading) => (phone.shop.gauges ?? []).filter((one) => one.kind === kindOf(reading));

/** The gauge that was chosen for readings of this kind, or "". */
export function gaugeFor(reading) {
  const chosen = draft(`kept.${kindOf(reading)}`);
  return fitting(reading).some((one) => one.id === chosen) ? chosen : "";
}

/** A select for what is the same for many readings; null where there is nothing to choose from. */
export const kept = (name, label, choices) =>
  choices.length < 2
    ? null
    : el(
        "label",
        { class: "kept", "data-key": name },
        label,
        el(
          "select",
          {
            onchange: (event) => {
              setDraft(`kept.${name}`, event.target.value);
              changed(false);
            },
          },
          choices.map(([value, text]) => el("option", { value, selected: draft(`kept.${name}`) === value }, text)),
        ),
      );

/** The select of the shop's gauges for a reading, or null. */
export const gaugeSelect = (reading) =>
  kept(kindOf(reading), say("survey.gauge"), [
    ["", say("survey.gauge.none")],
    ...fitting(reading).map((one) => [one.id, one.name]),
  ]);
