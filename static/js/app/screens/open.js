// Opening a car by its label: scanned where the browser can, else a photo that the shop's computer reads, else typed.

import { ask, tellShop } from "../ask.js";
import { randomId } from "../clock.js";
import { el } from "../dom.js";
import { draft, dropDrafts, setDraft } from "../drafts.js";
import { head, notices } from "../heads.js";
import { changed, openJobs, personNow } from "../phone.js";
import { chooseImage, shrink, takePhoto } from "../photo.js";
import { button, field, mainButton } from "../pieces.js";
import { go, goInstead } from "../route.js";
import { say } from "../words.js";

let fault = null;

let unknown = null;

let scan = null;

/** The short code in what a label says: the last part of an address, or six characters. */
export function codeOf(text) {
  const bare = text.trim().toUpperCase();
  const found = /\/V\/([A-Z0-9]{6,40})\/?$/.exec(bare);
  return found ? found[1] : bare.replace(/[^A-Z0-9]/g, "");
}

const matches = (job, code) =>
  [job.vehicle.code, job.vehicle.short_code, job.id].filter(Boolean).some((one) => codeOf(String(one)) === code);

/** Open the job of a label's code; else offer a note. Returns whether it was found. */
export function openCode(text, replace = false) {
  const code = codeOf(text);
  const job = openJobs().find((one) => matches(one, code));
  fault = null;
  unknown = job ? null : code;
  if (job) (replace ? goInstead : go)("job", job.id);
  else changed(false);
  return Boolean(job);
}

async function byPhoto() {
  const file = await chooseImage();
  if (!file) return;
  let response;
  try {
    const { bytes } = await shrink(file);
    response = await ask("/api/label", {
      method: "POST",
      body: bytes,
      headers: { "Content-Type": "image/jpeg" },
      limit: 20000,
    });
  } catch (error) {
    return tell(error.name === "InvalidStateError" || error.name === "EncodingError" ? "open.unreadable" : "open.away");
  }
  if (!response.ok) return tell(response.status === 422 ? "open.unreadable" : "open.away");
  const { code } = await response.json();
  openCode(code);
}

function tell(key) {
  fault = say(key);
  changed(false);
}

function endScan() {
  scan?.stream.getTracks().forEach((track) => track.stop());
  scan = null;
}

async function startScan() {
  try {
    const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    scan = { stream, detector: new globalThis.BarcodeDetector({ formats: ["qr_code"] }) };
    changed(false);
    look();
  } catch {
    endScan();
    tell("open.unreadable");
  }
}

async function look() {
  if (!scan || !location.hash.startsWith("#/open")) return endScan();
  const finder = document.querySelector("video.finder");
  const seen = finder ? await scan.detector.detect(finder).catch(() => []) : [];
  if (seen.length && scan) {
    endScan();
    openCode(seen[0].rawValue);
    return;
  }
  setTimeout(look, 250);
}

const finder = (stream) =>
  el("video", {
    class: "finder",
    "data-key": "finder",
    autoplay: true,
    playsinline: true,
    muted: true,
    srcObject: stream,
  });

/** The screen; `code` when an address brought one that no job here answers to. */
export function openScreen() {
  const typed = draft("open.code");
  const canScan = "BarcodeDetector" in globalThis && navigator.mediaDevices;
  return [
    head(say("open.title"), "#/"),
    el(
      "main",
      { class: "narrow" },
      notices(),
      el("p", {}, say("open.how")),
      scan ? [el("p", {}, say("open.scanning")), finder(scan.stream)] : null,
      el(
        "nav",
        { class: "acts" },
        canScan && !scan ? button(say("open.scan"), startScan) : null,
        button(say("open.photo"), byPhoto, { "data-key": "photo" }),
      ),
      field(
        say("open.code"),
        el("input", {
          id: "code",
          class: "code",
          value: typed,
          maxlength: 12,
          autocomplete: "off",
          autocapitalize: "characters",
          spellcheck: "false",
          oninput: (event) => setDraft("open.code", event.target.value),
        }),
      ),
      fault ? el("p", { class: "fault", role: "alert" }, fault) : null,
      unknown
        ? el(
            "p",
            { class: "notice", role: "alert" },
            say("open.unknown", { code: unknown }),
            " ",
            button(say("open.note", { code: unknown }), () => go("note", unknown), { class: "wide" }),
          )
        : null,
    ),
    el(
      "footer",
      { class: "foot", "data-key": "foot" },
      mainButton(say("open.do"), () => {
        const code = draft("open.code").trim();
        if (code && openCode(code)) dropDrafts("open.code");
      }),
    ),
  ];
}

let photos = [];

/** A note about a car that this phone does not hold: sent to the office, nothing more. */
export function noteScreen(route) {
  const code = route.args[0] ?? "";
  const key = `note.${code}`;
  const send = async () => {
    const words = draft(key).trim();
    if (!words && !photos.length) return;
    let response;
    try {
      for (const photo of photos) {
        const kept = await ask(`/api/photo/${photo.hash}`, {
          method: "PUT",
          body: photo.bytes,
          headers: { "Content-Type": photo.type },
          limit: 60000,
        });
        if (!kept.ok) return tell("note.away");
      }
      response = await tellShop("/api/note", {
        id: noteId(key),
        car: code,
        words,
        photos: photos.map(({ hash }) => hash),
        person: personNow()?.id ?? "",
      });
    } catch {
      return tell("note.away");
    }
    if (!response.ok) return tell("note.away");
    photos = [];
    dropDrafts(key);
    fault = say("note.sent");
    changed(false);
  };
  const shoot = async () => {
    const photo = await takePhoto();
    if (photo) photos = [...photos, photo];
    changed(false);
  };
  return [
    head(say("note.title", { code }), "#/open"),
    el(
      "main",
      { class: "narrow" },
      notices(),
      field(
        say("note.words"),
        el(
          "textarea",
          { id: "words", rows: 4, maxlength: 2000, oninput: (event) => setDraft(key, event.target.value) },
          draft(key),
        ),
      ),
      button([say("note.photo"), photos.length ? ` · ${say("note.photos", { n: photos.length })}` : ""], shoot, {
        class: "wide",
      }),
      fault ? el("p", { class: "notice", role: "alert" }, fault) : null,
    ),
    el("footer", { class: "foot", "data-key": "foot" }, mainButton(say("note.do"), send)),
  ];
}

/** One id a note, kept with its draft: sent twice it is kept once. */
function noteId(key) {
  if (!draft(`${key}.id`)) setDraft(`${key}.id`, randomId(26));
  return draft(`${key}.id`);
}
