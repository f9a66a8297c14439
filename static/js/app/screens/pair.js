// Pairing: the one-use code from the office screen, and what this phone is called.

import { contact } from "../contact.js";
import * as db from "../db.js";
import { el } from "../dom.js";
import { draft, setDraft } from "../drafts.js";
import { head } from "../heads.js";
import { changed, phone, set } from "../phone.js";
import { field, mainButton } from "../pieces.js";
import { goInstead } from "../route.js";
import { say } from "../words.js";

let fault = null;

async function pair() {
  const code = draft("pair.code").trim();
  const name = draft("pair.name").trim();
  if (!code || !name) return tell("pair.fault.empty");
  let response;
  try {
    response = await fetch("/api/pair", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ code, name }),
      credentials: "omit",
      signal: AbortSignal.timeout(10000),
    });
  } catch {
    return tell("pair.fault.reach");
  }
  if (!response.ok) {
    const why = await response.json().then(
      (body) => body.message ?? "",
      () => "",
    );
    return [400, 401, 403, 404, 410, 422].includes(response.status)
      ? tell("pair.fault.code")
      : tell("pair.fault.other", why || response.status);
  }
  const { phone: id, token } = await response.json();
  fault = null;
  phone.fresh = phone.outbox.length === 0 && (await db.kept("n", 0)) === 0;
  await db.put("kv", { k: "token", v: token }, { k: "phone", v: id }, { k: "phoneName", v: name });
  Object.assign(phone, { token, phone: id, phoneName: name, reach: "unknown" });
  navigator.storage?.persist?.().catch(() => {});
  goInstead();
  await set("settings", phone.settings);
  await contact();
  return null;
}

function tell(key, why = "") {
  fault = say(key, { why });
  changed(false);
}

/** The pairing form; the code is there already when it came by QR. */
export function pairScreen(route) {
  if (route.code && draft("pair.code") !== route.code) setDraft("pair.code", route.code);
  const keep = (name) => (event) => setDraft(name, event.target.value);
  return [
    head(say("pair.title")),
    el(
      "main",
      { class: "narrow" },
      el("p", {}, say("pair.how")),
      el(
        "form",
        { onsubmit: (event) => event.preventDefault() },
        field(
          say("pair.code"),
          el("input", {
            id: "code",
            value: draft("pair.code"),
            oninput: keep("pair.code"),
            autocomplete: "off",
            autocapitalize: "characters",
            spellcheck: "false",
          }),
        ),
        field(
          say("pair.name"),
          el("input", {
            id: "name",
            value: draft("pair.name"),
            oninput: keep("pair.name"),
            maxlength: 60,
            autocomplete: "off",
          }),
          say("pair.name.hint"),
        ),
        fault ? el("p", { class: "fault", role: "alert" }, fault) : null,
        mainButton(say("pair.do"), pair),
      ),
    ),
  ];
}
