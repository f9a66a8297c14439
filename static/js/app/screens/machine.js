// Before machine work: how much of the day is left to these hands and ears. The shop's computer sums it up over all jobs.

import { el } from "../dom.js";
import { moment, spanDown } from "../format.js";
import { personNow, phone, zone } from "../phone.js";
import { mainButton } from "../pieces.js";
import { go } from "../route.js";
import { say, textOf } from "../words.js";

const OLD_MS = 600000;
const DAY_OVER_MS = 43200000;

const kindsOf = (tasks) => [...new Set(tasks.map((task) => task.machine).filter(Boolean))];

/** What this phone has not sent yet: the procedure's minutes of this person's work with such a machine on this car. */
function unsent(kind, at) {
  const keys = phone.outbox
    .map((row) => row.event)
    .filter((event) => event?.type === "done" && event.job === at.job.id && event.person === personNow()?.id)
    .flatMap((event) => event.tasks);
  const held = at.sheet.tasks.filter((task) => task.machine === kind && keys.some((key) => key.startsWith(`${task.id}#`)));
  return held.reduce((sum, task) => sum + task.labour_ms, 0);
}

/** [ms to the action value, ms to the limit, ms to 85 dB(A)] for a kind, as the shop last said; null where not known. */
function leftFor(kind, at) {
  const told = phone.shop.machines ?? {};
  const today = at.now - (phone.contact?.server ?? 0) < DAY_OVER_MS;
  const left = ((today && told[personNow()?.id]) || told[""])?.[kind];
  return left ? left.map((ms) => (ms === null ? null : Math.max(0, ms - unsent(kind, at)))) : null;
}

const spent = (left) => left !== null && left[1] !== null && left[1] <= 0;

/** What to know before a machine is taken up: one notice for each kind that these tasks need. */
export function machineLines(at, tasks) {
  const heard = phone.contact?.server ?? 0;
  const name = personNow()?.name ?? "";
  return kindsOf(tasks).map((kind) => {
    const machine = textOf(at.sheet, `machine.${kind}`).text;
    const left = leftFor(kind, at);
    const [action, limit, noise] = left ?? [null, null, null];
    const about =
      limit === null
        ? say("machine.unknown", { machine })
        : say(spent(left) ? "machine.spent" : action > 0 ? "machine.left" : "machine.action", {
            name,
            machine,
            action: spanDown(action),
            limit: spanDown(limit),
          });
    return el(
      "p",
      { class: action === 0 ? "notice amber" : "notice", "data-key": `machine.${kind}` },
      about,
      noise !== null && noise < 28800000 ? ` ${say(noise > 0 ? "machine.noise" : "machine.loud", { span: spanDown(noise) })}` : "",
      left && at.now - heard > OLD_MS ? ` ${say("machine.asof", { time: moment(heard, zone(), at.now) })}` : "",
    );
  });
}

/** The main button where whoever holds the phone has reached the day's limit: somebody else goes on. Else null. */
export const spentButton = (at, tasks) =>
  kindsOf(tasks).some((kind) => spent(leftFor(kind, at))) && tasks.every((task) => !task.rescue)
    ? mainButton(say("machine.other"), () => go("names"), { note: say("machine.other.note") })
    : null;
