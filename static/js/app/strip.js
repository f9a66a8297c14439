// The strip of running clocks: all cars, most urgent first, never more than two lines.

import { clocksOf } from "./clocks.js";
import { el } from "./dom.js";
import { moment, span } from "./format.js";
import { groupShort } from "./names.js";
import { openJobs, standing, zone } from "./phone.js";
import { planOf, stepOf } from "./view.js";
import { say } from "./words.js";

function clockWords(at, running, name) {
  const values = (extra) => ({ step: name, ...extra });
  if (running.shuts !== null && running.shuts < at.now)
    return say("hold.late", values({ span: span(at.now - running.shuts) }));
  if (running.opens !== null && running.opens > at.now) {
    const soon = running.opens - at.now < 600000;
    return say(
      soon ? "hold.opens.in" : "hold.opens",
      values(soon ? { span: span(running.opens - at.now) } : { time: moment(running.opens, zone(), at.now) }),
    );
  }
  if (running.shuts !== null) {
    const soon = running.shuts - at.now < 600000;
    return say(
      soon ? "hold.open.in" : "hold.open",
      values(soon ? { span: span(running.shuts - at.now) } : { time: moment(running.shuts, zone(), at.now) }),
    );
  }
  return say("hold.nolimit", values({ time: moment(running.opens, zone(), at.now) }));
}

/**
 * Holds and windows that run, of all jobs, most urgent first, never more than `most` lines.
 * @param {(job: string, group: string) => boolean} [shown] leaves out what the screen shows itself
 * @param {number|null} [within] only what presses within so many ms
 */
export function clocksStrip(when, hereId = null, shown = () => true, most = 2, within = null) {
  let all = openJobs()
    .flatMap((job) => {
      const at = standing(job.id, when);
      if (!at || at.state.released) return [];
      return clocksOf(at)
        .filter((running) => shown(job.id, running.group))
        .map((running) => ({ at, running, job }));
    })
    .filter(({ at, running }) => running.shuts !== null || running.opens > at.now);
  const press = ({ at, running }) => (running.shuts !== null ? running.shuts - at.now : running.opens - at.now + 60000);
  if (within !== null) all = all.filter((one) => press(one) < within);
  all.sort((a, b) => press(a) - press(b));
  const seen = new Map();
  for (const one of all) {
    const key = `${one.job.id}${stepOf(one.running.task)}`;
    if (seen.has(key)) seen.get(key).more += 1;
    else seen.set(key, { ...one, more: 0 });
  }
  const lines = [...seen.values()].slice(0, most).map(({ at, running, job, more }) => {
    const short = groupShort(at.sheet, planOf(at.sheet).byId.get(running.group));
    const name = more ? say("hold.more", { step: short, n: more }) : short;
    const late = running.shuts !== null && running.shuts - at.now < 15000;
    return el(
      "li",
      { class: late ? "pressing" : "", "data-key": `${job.id}${running.group}` },
      clockWords(at, running, job.id === hereId ? name : `${job.vehicle.title}: ${name}`),
    );
  });
  return lines.length ? el("ul", { class: "clocks", "data-key": "clocks" }, lines) : null;
}
