// The thickness survey: one screen for the whole part. The walk, the spot, a number pad, a wide Enter; the picture with its
// numbers. Nothing is asked for a single value: one question at a panel's end, and only where something is odd.

import { drawCar, tileCar } from "../../car.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { film } from "../format.js";
import { gaugeFor, gaugeSelect, kept } from "../gauges.js";
import { jobHead, notices } from "../heads.js";
import { placeName, words } from "../names.js";
import { note } from "../outbox.js";
import { changed, phone, units } from "../phone.js";
import { actions, button, linkButton } from "../pieces.js";
import { go, home, href } from "../route.js";
import * as survey from "../survey.js";
import { tap } from "../taps.js";
import { say, textOf } from "../words.js";
import { drawings } from "./step.js";

const SUBSTRATES = ["", "steel", "aluminium", "other"];
const REMARKS = ["plastic", "filler", "no-reach"];

const mil = () => units() === "F";

let busy = false;

/** The drafts of one panel's survey. */
function bench(at, panel) {
  const key = `survey.${at.job.id}/${panel}/`;
  const read = () => draft(key, null) ?? survey.blank();
  const keep = async (fresh) => {
    setDraft(key, fresh);
    changed(false);
    const now = survey.standing(at, panel, fresh);
    if (now.over && !now.doubt) await close(at, panel, key, fresh);
  };
  return { key, read, keep };
}

/** Note a panel: an event a spot, then the panel itself. */
async function close(at, panel, key, made) {
  if (busy) return;
  busy = true;
  try {
    const { task, open } = survey.taskOf(at, panel);
    const tasks = task ? [`${task.id}#${at.state.attempts[task.id] ?? 1}`] : [];
    for (const data of survey.spotData(panel, made, gaugeFor("film"), draft("kept.under")))
      await note(at.job.id, { type: "spot", tasks, data });
    if (open) await note(at.job.id, { type: "done", tasks, data: {} });
    dropDrafts(key);
    dropDrafts(`survey.${at.job.id}.pick`);
    if (draft("kept.under") !== "steel") dropDrafts("kept.under"); // the next panel is another metal, most likely
    if (location.hash.includes("/survey/")) home(at);
    else changed(false);
  } finally {
    busy = false;
  }
}

/** Back into the panel that was closed last: its entries are taken back, its values stand here again. */
async function climb(at, panel) {
  const last = survey.lastClosed(at, panel, phone.phone);
  if (!last || busy) return;
  busy = true;
  try {
    setDraft(`survey.${at.job.id}/${last.panel}/`, survey.erase(last.draft) ?? survey.blank());
    setDraft(`survey.${at.job.id}.pick`, last.panel);
    for (const of of last.events)
      await note(at.job.id, { type: "taken-back", data: { of, reason: say("survey.climbed") } });
  } finally {
    busy = false;
  }
}

const work = (at, panel) => {
  const { key, read, keep } = bench(at, panel);
  return {
    key,
    read,
    press: (name) => keep(survey.press(read(), name)),
    enter: () => {
      const value = survey.toFilm(read().typed, mil());
      if (value !== null) return keep(survey.take(read(), value, read().typed, survey.planned(at, panel).readings));
    },
    again: () => keep(survey.again(read())),
    remark: (why) => keep(survey.remark(read(), why)),
    erase: () => {
      const fresh = survey.erase(read());
      return fresh ? keep(fresh) : climb(at, panel);
    },
    keep: (fresh) => keep(fresh),
  };
};

/** Which panel: the one asked for, the one chosen, else the next of the walk. */
function panelOf(at, view, route) {
  if (route.screen === "survey" && route.args[0]) return route.args[0];
  const chosen = draft(`survey.${at.job.id}.pick`);
  if (chosen && survey.taskOf(at, chosen).open) return chosen;
  return view.current?.group.places[0] ?? at.sheet.body.panels[0].id;
}

/** The unfolded car with the numbers on it. */
function picture(at, panel) {
  const look = (one) => {
    const mean = survey.panelMean(at, one);
    const remark = (at.state.film[one] ?? []).at(-1)?.[4];
    return { texture: "", numeral: mean === null ? (remark ? "–" : "") : film(mean, units(), { sign: false }), trouble: false };
  };
  const heard = at.sheet.body.panels
    .map((one) => [placeName(at.sheet, one.id), look(one.id).numeral])
    .filter(([, numeral]) => numeral)
    .map((pair) => pair.join(" "));
  return el(
    "figure",
    { class: "picture turned", "data-key": "car" },
    drawCar(at.sheet.body, { look, here: [panel], turned: true, label: heard.join(", ") || say("survey.none") }),
  );
}

/** What was read at this spot, and the mean that was reached last. */
function sofar(at, now, made, panel) {
  const spot = now.open ?? (made.spots.length ? null : undefined);
  const shown = spot?.values.map((value) => film(value, units(), { sign: false })).join(" · ");
  const closed = made.spots.filter((one) => one !== now.open).at(-1);
  const last = closed ? null : survey.lastClosed(at, panel, phone.phone);
  const before = closed
    ? closed.remark
      ? say(`remark.${closed.remark}`)
      : say("survey.mean", { value: film(survey.meanOf(at, closed), units(), { fine: true }) })
    : last && last.panel !== panel
      ? `${placeName(at.sheet, last.panel)}: ${
          survey.panelMean(at, last.panel) === null
            ? say(`remark.${last.draft.spots.at(-1)?.remark || "no-reach"}`)
            : film(survey.panelMean(at, last.panel), units(), { fine: true })
        }`
      : "";
  return el(
    "p",
    { class: "readings-so-far", "data-key": "sofar", role: "status" },
    before ? el("b", {}, before) : null,
    shown ? el("span", { class: "seconds" }, shown) : null,
  );
}

function question(now, made, hand) {
  const { doubt } = now;
  const finely = (value) => film(value, units(), { fine: true });
  const shown = (value) => film(value, units());
  const text =
    doubt.kind === "alone"
      ? say("survey.alone", { values: doubt.spot.values.map(shown).join(", ") })
      : say("survey.apart", { value: finely(doubt.mean), usual: finely(doubt.usual) });
  const more = () => hand.keep(doubt.kind === "alone" ? survey.onceMore(made, doubt.spot) : survey.moreSpots(made));
  return {
    text: el("p", { class: "notice amber", role: "alert", "data-key": "doubt" }, text),
    buttons: el(
      "div",
      { class: "answers", "data-key": "answers" },
      mainOf(say(doubt.kind === "alone" ? "survey.once" : "survey.another"), more),
      button(say("survey.so"), () => hand.keep(survey.itReadsSo(made)), { class: "big", "data-key": "so" }),
    ),
  };
}

const mainOf = (text, act, disabled = false) =>
  el("button", { type: "button", class: "main big", "data-main": true, "data-key": "main", disabled, onclick: tap(act) }, text);

function pad(at, hand, made) {
  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "again"];
  return el(
    "div",
    { class: "pad", role: "group", "aria-label": say("read.type"), "data-key": "pad" },
    keys.map((name) =>
      el(
        "button",
        {
          type: "button",
          "data-key": `k${name}`,
          class: name === "again" ? "small-words" : null,
          disabled: name === "again" && !survey.canRepeat(made),
          "aria-label": name === "." ? say("read.point") : null,
          onclick: tap(() => (name === "again" ? hand.again() : hand.press(name))),
        },
        name === "again" ? say("survey.again") : name,
      ),
    ),
    el("button", { type: "button", class: "erase", "data-key": "erase", onclick: tap(hand.erase) }, say("read.erase")),
  );
}

const remarks = (hand, made) =>
  el(
    "div",
    { class: "acts", "data-key": "remarks" },
    REMARKS.map((why) =>
      button(say(`remark.${why}`), () => hand.remark(why), { "data-key": why, disabled: !survey.canRemark(made) }),
    ),
  );

/** One text for many readings: as many as this panel still wants are taken, the rest stays for the next one. */
function typing(at, panel, hand, made) {
  const key = `survey.${at.job.id}.text`;
  const plan = survey.planned(at, panel);
  const want = Math.max(0, plan.spots * plan.readings - made.spots.reduce((n, spot) => n + spot.values.length, 0));
  const found = survey.numbers(draft(key), mil());
  const these = found.slice(0, want);
  const shown = these.map(({ value }) => film(value, units(), { sign: false }));
  const takeThem = async () => {
    let fresh = hand.read();
    for (const { value, raw } of these) fresh = survey.take(fresh, value, raw, plan.readings);
    setDraft(key, found.slice(want).map(({ raw }) => raw).join(" "));
    const field = document.getElementById("many");
    if (field) field.value = draft(key);
    await hand.keep(fresh);
  };
  return {
    field: el(
      "p",
      { class: "field", "data-key": "many" },
      el("label", { for: "many" }, say("survey.many")),
      el("span", { class: "hint" }, say("survey.many.how")),
      el(
        "textarea",
        {
          id: "many",
          rows: 3,
          inputmode: "decimal",
          oninput: (event) => {
            setDraft(key, event.target.value);
            changed(false);
          },
        },
        draft(key),
      ),
    ),
    main: mainOf(
      these.length < want
        ? say("survey.want", { n: want - these.length })
        : say("survey.these", { panel: placeName(at.sheet, panel), values: shown.join(" ") }),
      takeThem,
      these.length < want || !want,
    ),
  };
}

function progress(at) {
  const tasks = at.sheet.tasks.filter((one) => one.measure.includes("film"));
  const over = tasks.filter((one) => !survey.taskOf(at, one.place).open).length;
  return say("survey.progress", { n: over, total: tasks.length });
}

/** The screen of a survey. */
export function surveyScreen({ at, view, route }) {
  const panel = panelOf(at, view, route);
  const hand = work(at, panel);
  const made = hand.read();
  const now = survey.standing(at, panel, made);
  const asks = now.doubt ? question(now, made, hand) : null;
  const many = draft(`survey.${at.job.id}.typing`) === "yes" && !asks ? typing(at, panel, hand, made) : null;
  const { task } = survey.taskOf(at, panel);
  const value = survey.toFilm(made.typed, mil());
  return [
    jobHead(at, route.screen === "survey"),
    el(
      "main",
      { class: "work survey", "data-survey": panel },
      notices(),
      el(
        "h1",
        { tabindex: "-1" },
        el("span", { class: "where" }, placeName(at.sheet, panel)),
        now.of > 1 ? ` ${say("survey.spot", { n: now.spot, total: now.of })} ` : " ",
        el("small", {}, progress(at)),
      ),
      asks?.text,
      picture(at, panel),
      many ? many.field : null,
      el(
        "nav",
        { class: "acts", "data-key": "survey-acts" },
        linkButton(say("survey.panel"), href("job", at.job.id, "surveytiles"), { key: "tiles" }),
        button(
          say(many ? "survey.pad" : "survey.type"),
          () => {
            setDraft(`survey.${at.job.id}.typing`, many ? "" : "yes");
            changed(false);
          },
          { "data-key": "mode" },
        ),
      ),
      el(
        "div",
        { class: "keeps", "data-key": "keeps" },
        gaugeSelect("film"),
        kept("under", say("survey.under"), SUBSTRATES.map((one) => [one, say(`under.${one || "none"}`)])),
      ),
      task?.why
        ? el("details", { "data-key": "why" }, el("summary", {}, say("step.why")), words(at.sheet, task.why, "p"))
        : null,
      el("p", { class: "small" }, task ? words(at.sheet, task.do) : null),
      task ? drawings(at, [task]) : null,
      actions(at),
    ),
    el(
      "footer",
      { class: "foot pad-foot survey-foot", "data-key": "foot" },
      asks || many
        ? null
        : el(
            "p",
            { class: "typed", "data-key": "typed", role: "status", "aria-label": say("read.typed") },
            el("b", { class: "huge seconds" }, made.typed ? (value === null ? made.typed : film(value, units())) : "–"),
            el("span", {}, say("survey.reading", { n: now.reading, total: now.open?.need ?? now.readings })),
          ),
      sofar(at, now, made, panel),
      asks ? asks.buttons : null,
      asks || many ? null : [remarks(hand, made), pad(at, hand, made)],
      many ? many.main : null,
      asks || many
        ? null
        : mainOf(
            made.typed && value === null ? say("survey.most") : say(made.typed ? "survey.enter" : "read.type"),
            hand.enter,
            value === null,
          ),
    ),
  ];
}

/** Any other panel, by the tile car with the numbers on it. */
export function surveyTiles({ at }) {
  const tile = (panel) => {
    const { text, lang } = textOf(at.sheet, panel.name);
    const mean = survey.panelMean(at, panel.id);
    const { task } = survey.taskOf(at, panel.id);
    return { text, lang, note: mean === null ? "" : film(mean, units()), disabled: !task };
  };
  const choose = (panel) => {
    const { open } = survey.taskOf(at, panel);
    if (!open) return go("job", at.job.id, "survey", panel);
    setDraft(`survey.${at.job.id}.pick`, panel);
    home(at);
  };
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      el("h1", { tabindex: "-1" }, say("survey.panel")),
      tileCar(at.sheet.body, { tile, choose, label: say("survey.panel") }),
    ),
  ];
}

/** Keys of a keyboard, or of a gauge that types like one. */
export function typeOnSurvey(event) {
  const shown = document.querySelector("[data-survey]");
  if (!shown || document.activeElement?.matches("input, select, textarea") || event.ctrlKey || event.metaKey) return false;
  const name = { Backspace: "erase", Enter: "main", ",": "." }[event.key] ?? event.key;
  const key = /^[\d.]$/.test(name) ? `k${name}` : name;
  const target = document.querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (!/^(k.|erase|main)$/.test(key) || !target || target.disabled) return false;
  target.click();
  return true;
}
