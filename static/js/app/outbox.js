// Noting an event: on this phone's disk first, then on the screen, then to the shop.

import * as clock from "./clock.js";
import * as db from "./db.js";
import { changed, jobOf, personNow, phone } from "./phone.js";
import { language } from "./words.js";

const heard = new Set();

/** Call `tell` after each noted event (the contact listens). */
export const onNoted = (tell) => heard.add(tell);

async function nextNumber(store) {
  const row = await db.asked(store("kv").get("n"));
  const n = (row?.v ?? 0) + 1;
  store("kv").put({ k: "n", v: n });
  return n;
}

/** The next counter, used up: for the contact itself. */
export const takeNumber = () => db.write(["kv"], nextNumber);

function eventOf(job, part, moment, n) {
  const who = part.person ?? personNow()?.id ?? "";
  return {
    v: 1,
    id: clock.randomId(26),
    job,
    type: part.type,
    tasks: part.tasks ?? [],
    person: who,
    noted_by: personNow()?.id ?? who,
    phone: phone.phone,
    n,
    page: moment.page,
    mono: moment.mono,
    at: moment.wall,
    knew: jobOf(job)?.seq ?? 0,
    lang: language(),
    data: part.data ?? {},
  };
}

/**
 * Note one event. Resolves when it is on this phone's disk; only then does any screen show it.
 * @param {string} job
 * @param {{type: string, tasks?: string[], person?: string, data?: object}} part
 * @param {{hash: string, type: string, bytes: ArrayBuffer}[]} [photos] stored in the same transaction
 * @returns {Promise<object>} the event
 */
export async function note(job, part, photos = []) {
  const moment = clock.stamp();
  const row = await db.write(["outbox", "kv", "photos"], async (store) => {
    const n = await nextNumber(store);
    const made = { n, kind: "event", ...moment, event: eventOf(job, part, moment, n) };
    store("outbox").put(made);
    for (const photo of photos) store("photos").put({ ...photo, job, sent: false, at: moment.wall });
    return made;
  });
  clock.stamped(row.wall);
  phone.outbox.push(row);
  for (const { hash } of photos) phone.photos.push({ hash, job, sent: false, at: moment.wall });
  phone.trouble = null;
  changed();
  for (const tell of heard) tell();
  return row.event;
}

/** Note that the app was opened or came to the front: a mark of when this phone was awake. */
export async function heartbeat() {
  if (!phone.token) return;
  const moment = clock.stamp();
  const row = await db.write(["outbox", "kv"], async (store) => {
    const made = { n: await nextNumber(store), kind: "row", ...moment };
    store("outbox").put(made);
    return made;
  });
  phone.outbox.push(row);
}

/** Everything that is not on the shop's computer, as text for a file. */
export function exportText() {
  const rows = phone.outbox.map((row) =>
    row.kind === "event" ? row.event : { n: row.n, page: row.page, mono: row.mono, wall: row.wall },
  );
  return JSON.stringify(
    { format: "bayflow-unsent-1", phone: phone.phone, offset: clock.lastOffset(), rows, refused: phone.refused },
    null,
    1,
  );
}
