// Safety at hand: stopped, emergency, what the label says, batches, damage found.

import { el } from "../dom.js";
import * as db from "../db.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { moment } from "../format.js";
import { decisionForm } from "../lead.js";
import { groupShort, placeName, productName, words } from "../names.js";
import { note } from "../outbox.js";
import { button, field, head, jobHead, linkButton, mainButton, notices, swapButton } from "../pieces.js";
import { changed, jobOf, nameOf, phone, standing, zone } from "../phone.js";
import { takePhoto } from "../photo.js";
import { wear } from "../ppe.js";
import { go, goInstead, href } from "../route.js";
import { sign } from "../signing.js";
import { productsOf } from "../view.js";
import { now } from "../clock.js";
import { when } from "../../core/index.js";
import { known, say, textOf } from "../words.js";
import { tileCar } from "../../car.js";

const home = (at) => goInstead("job", at.job.id);

/** Work on this car has stopped. What rescues the car stays allowed. */
export function stoppedScreen({ at, view }) {
  const event = at.events.find((one) => one.id === at.state.stopped);
  const key = `stop.${at.job.id}`;
  const rescue = view.nows.filter((one) => one.state === "ready" && one.open.length && one.open.every((entry) => entry.task.rescue));
  const add = async () => {
    const text = draft(key).trim();
    if (!text) return;
    await note(at.job.id, { type: "stopped", data: { note: text } });
    dropDrafts(key);
    changed();
  };
  const make = (reason, decider) => ({ type: "cleared", tasks: [], data: { note: reason, decider } });
  return [jobHead(at), el("main", { class: "work" }, notices(), el("h1", { tabindex: "-1" }, el("span", { class: "word red" }, say("stop.title"))),
    event ? el("p", {}, say("stop.by", { name: nameOf(event.person), time: moment(when(event), zone(), at.now) })) : null, el("p", { class: "big-words" }, say("stop.how")),
    event?.data.note ? el("p", { class: "notice red" }, event.data.note) : null,
    el("a", { class: "button main big", "data-main": true, "data-key": "main", href: href("emergency", at.job.id) }, say("act.emergency")),
    rescue.map((one) => button(say("stop.rescue", { step: groupShort(at.sheet, one.group) }), () => sign(at, one), { class: "wide", "data-key": one.group.id })),
    field(say("stop.note"), el("textarea", { id: "happened", rows: 3, maxlength: 1000, oninput: (input) => setDraft(key, input.target.value) }, draft(key))),
    button(say("stop.add"), add, { class: "wide" }), el("nav", { class: "acts" }, swapButton(at), linkButton(say("act.label"), href("job", at.job.id, "label"))),
    el("h2", {}, say("stop.clear")), decisionForm({ key: `clear.${at.job.id}`, job: at.job.id, make, text: say("stop.clear"), done: () => home(at) }))];
}

const EMERGENCY = ["number", "poison", "first_aider", "address", "eyewash", "extinguisher", "assembly", "note"];

/** The emergency page: filled by the owner, here without the network, one tap away. */
export function emergencyScreen({ route }) {
  const page = phone.shop.emergency ?? {};
  const entries = [...new Set([...EMERGENCY, ...Object.keys(page)])].map((name) => [name, page[name]]).filter(([, text]) => typeof text === "string" && text.trim());
  const call = (name, text) => (["number", "poison"].includes(name) && /^[+\d][\d\s()./-]*$/.test(text)
    ? el("a", { class: "button main big", href: `tel:${text.replace(/[^+\d]/g, "")}` }, `${say("emergency.call")} ${text}`) : el("p", { class: "big-words" }, text));
  const at = route.args[0] && jobOf(route.args[0]) ? standing(route.args[0], now()) : null;
  const products = at ? Object.entries(at.sheet.products).filter(([, product]) => product.first_aid?.length) : [];
  return [head(say("emergency.title"), at ? href("job", at.job.id) : "#/"), el("main", { class: "emergency" },
    entries.length ? entries.map(([name, text]) => el("section", { "data-key": name }, el("h2", {}, known(`emergency.${name}`) ? say(`emergency.${name}`) : name), call(name, text))) : el("p", { class: "notice red big-words" }, say("emergency.none")),
    products.length ? el("section", {}, el("h2", {}, say("emergency.first")), products.map(([id, product]) => el("div", { "data-key": id }, el("h3", {}, productName(at.sheet, id)), el("ul", {}, product.first_aid.map((key) => words(at.sheet, key, "li")))))) : null,
    el("p", { class: "safety" }, say("safety.line")))];
}

async function openDataSheet(name) {
  const { type, bytes } = await db.one("files", name);
  const url = URL.createObjectURL(new Blob([bytes], { type }));
  el("a", { href: url, target: "_blank", rel: "noopener" }).click();
  setTimeout(() => URL.revokeObjectURL(url), 600000);
}

function productCard(at, id) {
  const product = at.sheet.products[id];
  const applied = at.state.applied[id];
  const list = (title, keys) => (keys?.length ? [el("h3", {}, title), el("ul", {}, keys.map((key) => words(at.sheet, key, "li")))] : null);
  return el("section", { class: "product", "data-key": id }, el("h2", {}, productName(at.sheet, id)),
    el("div", { class: "from-label" }, el("p", { class: "label" }, say("label.from")), product.label?.signal ? el("p", {}, el("strong", { class: "signal" }, product.label.signal)) : null,
      list(say("label.hazards"), product.label?.hazards), list(say("label.precautions"), product.label?.precautions)),
    product.ppe?.length ? el("ul", { class: "wear-list" }, product.ppe.map(wear)) : null, list(say("label.firstaid"), product.first_aid),
    applied ? el("p", {}, say("label.batch", { batch: applied.batch }), applied.expiry ? `, ${say("label.expiry", { date: applied.expiry })}` : "") : null,
    phone.files.has(product.sds) ? button(say("label.sds"), () => openDataSheet(product.sds), { class: "wide", "data-key": "sds" }) : el("p", { class: "notice amber" }, say("label.nosds")));
}

/** Label and data sheet of the products of this step, else of the job. */
export function labelScreen({ at, view, route }) {
  const here = view.current ? productsOf(view.current.group.tasks) : [];
  const first = [...new Set([...(route.args[0] ? [route.args[0]] : []), ...here])].filter((id) => at.sheet.products[id]);
  const rest = Object.keys(at.sheet.products).filter((id) => !first.includes(id));
  return [jobHead(at, true), el("main", {}, el("h1", { tabindex: "-1" }, say("label.title")), el("p", { class: "safety" }, say("safety.line")),
    first.length ? first.map((id) => productCard(at, id)) : el("p", {}, say("label.none")),
    rest.length ? [el("h2", {}, say("label.all")), rest.map((id) => productCard(at, id))] : null)];
}

/** Batch and use-by date of what is applied: `batch/PRODUCT`. */
export function batchScreen({ at, route }) {
  const product = route.args[0];
  const key = `batch.${at.job.id}.${product}`;
  const typed = draft(`${key}.batch`).trim();
  const expiry = draft(`${key}.expiry`);
  const today = new Intl.DateTimeFormat("en-CA", { timeZone: zone() }).format(at.now);
  const keep = (name) => (event) => {
    setDraft(`${key}.${name}`, event.target.value);
    changed(false);
  };
  const send = async () => {
    await note(at.job.id, { type: "applied", data: { product, batch: typed, expiry } });
    dropDrafts(key);
    home(at);
  };
  return [jobHead(at, true), el("main", { class: "work" }, notices(), el("h1", { tabindex: "-1" }, say("step.batch", { product: productName(at.sheet, product) })),
    field(say("batch.batch"), el("input", { id: "batch", value: draft(`${key}.batch`), maxlength: 60, autocomplete: "off", autocapitalize: "characters", oninput: keep("batch") }), say("batch.need")),
    field(say("batch.expiry"), el("input", { id: "expiry", type: "date", value: expiry, oninput: keep("expiry") })),
    expiry && expiry < today ? el("p", { class: "notice red", role: "alert" }, say("batch.past", { date: expiry })) : null),
  el("footer", { class: "foot", "data-key": "foot" }, mainButton(say("batch.do"), send, { disabled: !typed }))];
}

let photos = new Map();

/** Trouble on one panel, by the tile car: tar, new damage, anything that is not as it should be. */
export function troubleTiles({ at }) {
  const tile = (panel) => {
    const { text, lang } = textOf(at.sheet, panel.name);
    return { text, lang };
  };
  return [jobHead(at, true), el("main", {}, el("h1", { tabindex: "-1" }, say("wash.trouble")), el("p", {}, say("wash.trouble.how")),
    tileCar(at.sheet.body, { tile, choose: (panel) => go("job", at.job.id, "damage", panel), label: say("wash.trouble") }))];
}

/** Damage found in mid-job: where, what, how long, with photos. */
export function damageScreen({ at, view, route }) {
  const key = `damage.${at.job.id}`;
  const taken = photos.get(at.job.id) ?? [];
  const where = draft(`${key}.where`, route.args[0] ?? view.current?.group.places[0] ?? "");
  const text = draft(`${key}.words`).trim();
  const mm = draft(`${key}.mm`).trim();
  const keep = (name) => (event) => {
    setDraft(`${key}.${name}`, event.target.value);
    changed(false);
  };
  const shoot = async () => {
    const photo = await takePhoto();
    if (photo) photos = new Map(photos).set(at.job.id, [...taken, photo]);
    changed(false);
  };
  const send = async () => {
    const data = { place: where, words: text, ...(/^\d{1,4}$/.test(mm) ? { mm: Number(mm) } : {}), ...(taken.length ? { photos: taken.map((one) => one.hash) } : {}) };
    await note(at.job.id, { type: "damage-found", data }, taken);
    photos.delete(at.job.id);
    dropDrafts(key);
    home(at);
  };
  return [jobHead(at, true), el("main", { class: "work" }, notices(), el("h1", { tabindex: "-1" }, say("damage.title")),
    field(say("damage.where"), el("select", { id: "where", onchange: keep("where") }, el("option", { value: "" }, "–"), at.sheet.body.panels.map((panel) => el("option", { value: panel.id, selected: panel.id === where }, placeName(at.sheet, panel.id))))),
    field(say("damage.words"), el("textarea", { id: "words", rows: 2, maxlength: 600, oninput: keep("words") }, draft(`${key}.words`))),
    field(say("damage.mm"), el("input", { id: "mm", inputmode: "numeric", value: mm, oninput: keep("mm") })),
    button([say("damage.photo"), taken.length ? ` · ${say("note.photos", { n: taken.length })}` : ""], shoot, { class: "wide" })),
  el("footer", { class: "foot", "data-key": "foot" }, mainButton(say("damage.do"), send, { disabled: !where || !text, note: !where || !text ? say("damage.need") : null }))];
}

