// Damage found in mid-job, and trouble on one panel by its tile.

import { tileCar } from "../../car.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { typedLength } from "../format.js";
import { jobHead, notices } from "../heads.js";
import { placeName } from "../names.js";
import { note } from "../outbox.js";
import { changed, units } from "../phone.js";
import { takePhoto } from "../photo.js";
import { button, field, mainButton } from "../pieces.js";
import { go, home } from "../route.js";
import { say, textOf } from "../words.js";

let photos = new Map();

/** Trouble on one panel, by the tile car: tar, new damage, anything that is not as it should be. */
export function troubleTiles({ at }) {
  const tile = (panel) => {
    const { text, lang } = textOf(at.sheet, panel.name);
    return { text, lang };
  };
  return [
    jobHead(at, true),
    el(
      "main",
      {},
      el("h1", { tabindex: "-1" }, say("wash.trouble")),
      el("p", {}, say("wash.trouble.how")),
      tileCar(at.sheet.body, {
        tile,
        choose: (panel) => go("job", at.job.id, "damage", panel),
        label: say("wash.trouble"),
      }),
    ),
  ];
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
    const data = {
      place: where,
      words: text,
      ...(typedLength(mm, units()) === null ? {} : { mm: typedLength(mm, units()) }),
      ...(taken.length ? { photos: taken.map((one) => one.hash) } : {}),
    };
    await note(at.job.id, { type: "damage-found", data }, taken);
    photos.delete(at.job.id);
    dropDrafts(key);
    home(at);
  };
  return [
    jobHead(at, true),
    el(
      "main",
      { class: "work" },
      notices(),
      el("h1", { tabindex: "-1" }, say("damage.title")),
      field(
        say("damage.where"),
        el(
          "select",
          { id: "where", onchange: keep("where") },
          el("option", { value: "" }, "–"),
          at.sheet.body.panels.map((panel) =>
            el("option", { value: panel.id, selected: panel.id === where }, placeName(at.sheet, panel.id)),
          ),
        ),
      ),
      field(
        say("damage.words"),
        el("textarea", { id: "words", rows: 2, maxlength: 600, oninput: keep("words") }, draft(`${key}.words`)),
      ),
      field(say(units() === "F" ? "damage.in" : "damage.mm"), el("input", { id: "mm", inputmode: "decimal", value: mm, oninput: keep("mm") })),
      button([say("damage.photo"), taken.length ? ` · ${say("note.photos", { n: taken.length })}` : ""], shoot, {
        class: "wide",
      }),
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say("damage.do"), send, {
        disabled: !where || !text,
        note: !where || !text ? say("damage.need") : null,
      }),
    ),
  ];
}
