// A wait by a product's table of temperatures: what counts so far, what it waits for, and every way on.

import { el } from "../dom.js";
import { moment, spanDown, value } from "../format.js";
import { basisWords, productName, readingAt, readingName, subjectName } from "../names.js";
import { units, zone } from "../phone.js";
import { linkButton, mainButton } from "../pieces.js";
import { go, href } from "../route.js";
import { widest } from "../signing.js";
import { say } from "../words.js";

/** Of the places that wait by a table the one that has least: `{hold, need, clock, measured, credited, …}` or null. */
export function cureOf(now) {
  if (!["waiting", "needs-reading", "out-of-limits"].includes(now.state)) return null;
  const told = now.because.filter(([code]) => code === "cure").sort((a, b) => a[5] - b[5])[0];
  if (!told) return null;
  const [, id, need, clock, measured, credited, last, rate, opens] = told;
  const entry = now.open.find(({ task }) => task.holds.some((hold) => hold.id === id && hold.cure));
  const hold = entry.task.holds.find((one) => one.id === id);
  return { hold, task: entry.task, need, clock, measured, credited, last, rate, opens };
}

/** What is read for it: `[reading, subject]`. */
const wanted = ({ hold }) => [hold.cure.reading, widest(hold.cure.of)];

/** The sentences of one table: what counts, at which temperature, what the label says, when it opens. */
export function cureLines(at, cure) {
  const { hold, need, clock, measured, credited, last, rate, opens } = cure;
  const { rates } = hold.cure;
  const degrees = (dc) => value(dc, "dc", units());
  const [reading, subject] = wanted(cure);
  const shuts = hold.most === null ? null : at.now - clock + hold.most;
  const per = (permille) => spanDown(Math.ceil((need * 1000) / permille));
  return el(
    "div",
    { class: "why-wait cure", "data-key": `cure${hold.id}` },
    el("p", { class: "big-words" }, say("cure.counts", { credited: spanDown(credited), need: spanDown(need) })),
    el("p", {}, say("cure.clock", { clock: spanDown(clock), measured: spanDown(measured) })),
    el(
      "p",
      {},
      last === null
        ? say("cure.none", { reading: readingName(at.sheet, reading), subject: subjectName(at.sheet, subject) })
        : rate
          ? say("cure.rate", { value: degrees(last), min: Math.floor((rate * 60) / 1000) })
          : say("cure.cold", { value: degrees(last), least: degrees(rates[0][0]) }),
      " ",
      rate ? say("cure.opens", { time: moment(opens, zone(), at.now) }) : null,
    ),
    shuts !== null && opens > shuts
      ? el("p", { class: "notice amber" }, say("cure.shuts", { time: moment(shuts, zone(), at.now) }))
      : null,
    el(
      "details",
      { "data-key": `table${hold.id}` },
      el("summary", {}, say("cure.table", { product: productName(at.sheet, hold.cure.product.split("+")[0]) })),
      el("ul", {}, rates.map(([dc, share]) => el("li", {}, say("cure.row", { value: degrees(dc), span: per(share) })))),
      el("p", {}, basisWords(hold.cure.basis)),
    ),
    el("p", { class: "small" }, say("cure.how", { gap: spanDown(hold.cure.gap) })),
  );
}

/** The way round the table: a lead says that the clock is enough. */
export const cureByClock = (at, group) =>
  linkButton(say("cure.decide"), href("job", at.job.id, "decide", "cure", group), { key: "byclock" });

/** The button that reads what is missing. */
export function cureRead(at, cure, group) {
  const [reading, subject] = wanted(cure);
  const text = say("step.read", { reading: readingAt(at.sheet, reading, subject) });
  return mainButton(text, () => go("job", at.job.id, "reading", reading, subject, group));
}
