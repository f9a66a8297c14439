// What follows a contact: sheets and data sheets come, photos go one by one, what is long closed is forgotten.

import { ask } from "./ask.js";
import * as db from "./db.js";
import { changed, everyJob, hasSheet, holdSheet, load, openSheets, phone } from "./phone.js";

const KEEP_MS = 14 * 86400000;

/** Sheets of open jobs that are not here yet. */
export async function fetchSheets() {
  for (const job of everyJob()) {
    if (job.closed || hasSheet(job.sheet)) continue;
    const response = await ask(`/api/sheet/${job.sheet}`);
    if (!response.ok) continue;
    const sheet = await response.json();
    await db.put("sheets", { hash: job.sheet, sheet });
    holdSheet(job.sheet, sheet);
  }
}

/** Safety data sheets of the products in work: on the phone before somebody needs them. */
export async function fetchDataSheets() {
  const names = new Set(
    openSheets()
      .flatMap((sheet) => Object.values(sheet.products).map((product) => product.sds))
      .filter(Boolean),
  );
  for (const name of names) {
    if (phone.files.has(name)) continue;
    const response = await ask(`/api/data-sheet/${name.split("/").map(encodeURIComponent).join("/")}`, {
      limit: 60000,
    });
    if (!response.ok) continue;
    await db.put("files", {
      name,
      type: response.headers.get("Content-Type") ?? "",
      bytes: await response.arrayBuffer(),
    });
    phone.files.add(name);
  }
}

/** Photos, one by one, after the events that name them. */
export async function sendPhotos() {
  for (const photo of phone.photos.filter((one) => !one.sent)) {
    const row = await db.one("photos", photo.hash);
    if (!row) continue;
    const response = await ask(`/api/photo/${row.hash}`, {
      method: "PUT",
      body: row.bytes,
      headers: { "Content-Type": row.type },
      limit: 60000,
    });
    if (!response.ok && response.status !== 409) {
      if (response.status >= 500 || response.status === 401) return;
      continue;
    }
    await db.put("photos", { ...row, sent: true });
    photo.sent = true;
    changed();
  }
}

/** Forget what was closed long ago and is on the shop's computer. */
export async function forgetOld(heard) {
  const old = everyJob().filter((job) => job.closed && heard - job.closed > KEEP_MS);
  for (const job of old) {
    await db.write(["jobs", "sent", "photos"], async (at) => {
      at("jobs").delete(job.id);
      for (const name of ["sent", "photos"]) {
        for (const row of await db.asked(at(name).getAll())) {
          if (row.job === job.id && (name === "sent" || row.sent)) at(name).delete(row.id ?? row.hash);
        }
      }
    });
  }
  if (old.length) await load();
}
