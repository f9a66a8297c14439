// The sun at the job's place, as the shop's computer told it, against what the open work of a part allows. Pure.

import { newest } from "./readings.js";
import { keyOf, settled } from "./view.js";

const EARLY = 3 * 3600000; // said so long before the sun comes (common practice, no source)
const HOUR = 3600000;

/**
 * What the sun will do to the open work of the part in hand, or null where nobody need mind:
 * `{place, from, to, lit, shade, most, hot}`; `shade` where the work must stay in the shade, `most` its highest panel
 * temperature (dc or null), `hot` the hottest hour that is left: `{t, side, level, air, dark: [dc, dc], light: [dc, dc]}`,
 * degrees over the air while `air` is null.
 * @param {Object<string, object[]>} skies by place, `shop/sky.py`
 */
export function sunAhead(at, view, skies) {
  const place = at.events.find((event) => event.type === "job-opened")?.data.place ?? "";
  const spans = skies?.[place] ?? [];
  const span = spans.find((one) => one.to > at.now && one.from < at.now + EARLY);
  if (!span || !view.part) return null;
  const open = view.part.groups
    .flatMap((group) => group.tasks)
    .filter((task) => !settled(at.gates[keyOf(task, at.state)]));
  const limits = open.flatMap((task) => task.limits).filter((limit) => limit.max !== undefined && limit.max !== null);
  const shade = limits.some((limit) => limit.reading === "direct_sun");
  const heats = limits.filter((limit) => limit.reading === "surface_temp").map((limit) => limit.max);
  if (!shade && !heats.length) return null;
  const most = heats.length ? Math.min(...heats) : null;
  return { place, from: span.from, to: span.to, lit: span.from <= at.now, shade, most, hot: hottest(at, span) };
}

function hottest(at, span) {
  const left = span.hours.filter(([t]) => t > at.now - HOUR);
  const [t, side, level, ...rise] = (left.length ? left : span.hours.slice(-1)).reduce((a, b) => (b[4] > a[4] ? b : a));
  const air = newest(at, "air_temp", ["air"])?.value ?? null;
  const over = rise.map((dc) => dc + (air ?? 0));
  return { t, side, level: level === 1, air, dark: over.slice(0, 2), light: over.slice(2) };
}
