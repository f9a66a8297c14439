// What the label says, the data sheet, batch and use-by date.

import { home } from "../route.js";
import * as db from "../db.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { jobHead, notices } from "../heads.js";
import { productName, words } from "../names.js";
import { note } from "../outbox.js";
import { changed, phone, zone } from "../phone.js";
import { button, field, mainButton } from "../pieces.js";
import { wear } from "../ppe.js";
import { productsOf } from "../view.js";
import { say } from "../words.js";

async function openDataSheet(name) {
  const { type, bytes } = await db.one("files", name);
  const url = URL.createObjectURL(new Blob([bytes], { type }));
  el("a", { href: url, target: "_blank", rel: "noopener" }).click();
  setTimeout(() => URL.revokeObjectURL(url), 600000);
}

function productCard(at, id) {
  const product = at.sheet.products[id];
  const applied = at.state.applied[id];
  const list = (title, keys) =>
    keys?.length
      ? [
          el("h3", {}, title),
          el(
            "ul",
            {},
            keys.map((key) => words(at.sheet, key, "li")),
          ),
        ]
      : null;
  return el(
    "section",
    { class: "product", "data-key": id },
    el("h2", {}, productName(at.sheet, id)),
    el(
      "div",
      { class: "from-label" },
      el("p", { class: "label" }, say("label.from")),
      product.label?.signal
        ? el("p", {}, el("strong", { class: "signal" }, say(`signal.${product.label.signal.toUpperCase()}`)))
        : null,
      list(say("label.hazards"), product.label?.hazards),
      list(say("label.precautions"), product.label?.precautions),
    ),
    product.ppe?.length ? el("ul", { class: "wear-list" }, product.ppe.map(wear)) : null,
    list(say("label.firstaid"), product.first_aid),
    applied
      ? el(
          "p",
          {},
          say("label.batch", { batch: applied.batch }),
          applied.expiry ? `, ${say("label.expiry", { date: applied.expiry })}` : "",
        )
      : null,
    phone.files.has(product.sds)
      ? button(say("label.sds"), () => openDataSheet(product.sds), { class: "wide", "data-key": "sds" })
      : el("p", { class: "notice amber" }, say("label.nosds")),
  );
}

/** Label and data sheet of the products of this step, else of the job. */
export function labelScreen({ at, view, route }) {
  const here = view.current ? productsOf(view.current.group.tasks) : [];
  const first = [...new Set([...(route.args[0] ? [route.args[0]] : []), ...here])].filter(
    (id) => at.sheet.products[id],
  );
  const rest = Object.keys(at.sheet.products).filter((id) => !first.includes(id));
  return [
    jobHead(at, true),
    el(
      "main",
      {},
      el("h1", { tabindex: "-1" }, say("label.title")),
      el("p", { class: "safety" }, say("safety.line")),
      first.length ? first.map((id) => productCard(at, id)) : el("p", {}, say("label.none")),
      rest.length ? [el("h2", {}, say("label.all")), rest.map((id) => productCard(at, id))] : null,
    ),
  ];
}

/** Before a step: a batch noted on this car, or one on the shelf, that must not be used any more. */
export function staleLines(at, tasks) {
  const today = new Intl.DateTimeFormat("en-CA", { timeZone: zone() }).format(at.now);
  return productsOf(tasks).flatMap((id) => {
    const noted = at.state.applied[id];
    const shelf = (phone.shop.stale?.[id] ?? []).filter(([batch]) => !noted || noted.batch === batch);
    const past = noted?.expiry && noted.expiry < today ? [[noted.batch, "expired", noted.expiry]] : [];
    return (past.length ? past : shelf).map(([batch, why, date]) =>
      el(
        "p",
        { class: "notice amber", "data-key": `stale.${id}.${batch}` },
        say(why === "opened" ? "batch.old" : "batch.expired", { product: productName(at.sheet, id), batch: batch || "–", date }),
      ),
    );
  });
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
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("step.batch", { product: productName(at.sheet, product) })),
      field(
        say("batch.batch"),
        el("input", {
          id: "batch",
          value: draft(`${key}.batch`),
          maxlength: 60,
          autocomplete: "off",
          autocapitalize: "characters",
          oninput: keep("batch"),
        }),
        say("batch.need"),
      ),
      field(say("batch.expiry"), el("input", { id: "expiry", type: "date", value: expiry, oninput: keep("expiry") })),
      expiry && expiry < today
        ? el("p", { class: "notice red", role: "alert" }, say("batch.past", { date: expiry }))
        : null,
    ),
    el("footer", { class: "foot", "data-key": "foot" }, mainButton(say("batch.do"), send, { disabled: !typed })),
  ];
}
