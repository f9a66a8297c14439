// The one conversation with the shop's computer: what is unsent goes, what is new comes.
//
// A row leaves the outbox only when the shop names its id. Silence, a lost connection, 401 and 5xx keep everything;
// a refused row moves to where people can see it. One tab at a time speaks (Web Lock).

import * as clock from "./clock.js";
import * as db from "./db.js";
import { takeNumber } from "./outbox.js";
import { changed, everyJob, hasSheet, holdJob, holdSent, holdSheet, load, openSheets, personNow, phone } from "./phone.js";
import { say, speak as speakTo } from "./words.js";

const LIMIT_MS = 10000;
const MOST_EVENTS = 200;
const KEEP_MS = 14 * 86400000;
const SOON_MS = 5000;
const SELDOM_MS = 20000;

let busy = null;
let again = false;
let timer = 0;

const ask = (path, options = {}) => fetch(path, {
  ...options, cache: "no-store", credentials: "omit", redirect: "error", signal: AbortSignal.timeout(options.limit ?? LIMIT_MS),
  headers: { Authorization: `Bearer ${phone.token}`, ...options.headers },
});

/** A question to the shop with this phone's token. */
export const askShop = ask;

/** A JSON question to the shop. */
export const tellShop = (path, body) => ask(path, {
  method: "POST", body: JSON.stringify(body), headers: { "Content-Type": "application/json" },
});

function request(n) {
  const events = phone.outbox.filter((row) => row.kind === "event").slice(0, MOST_EVENTS);
  const last = events.length < MOST_EVENTS ? Infinity : events.at(-1).n;
  const rows = phone.outbox.filter((row) => row.kind === "row" && row.n <= last);
  const have = {};
  const receipts = {};
  for (const job of everyJob()) {
    if (job.closed) continue;
    have[job.id] = hasSheet(job.sheet) ? job.seq : 0;
    if (job.receipt) receipts[job.id] = job.receipt;
  }
  const moment = clock.stamp();
  return {
    moment, rows, events,
    body: {
      sent: { n, ...moment }, rows: rows.map(({ n: count, page, mono, wall }) => ({ n: count, page, mono, wall })),
      events: events.map((row) => row.event), have, receipts, ...(phone.fresh ? { lost: true } : {}),
    },
  };
}

function mergeJob(id, told) {
  const known = everyJob().find((job) => job.id === id);
  const from = told.from ?? 0;
  const kept = (known?.events ?? []).filter((event) => event.seq <= from);
  const ids = new Set(kept.map((event) => event.id));
  const events = [...kept, ...told.events.filter((event) => !ids.has(event.id))].sort((a, b) => a.seq - b.seq);
  const seq = events.reduce((most, event) => Math.max(most, event.seq), 0);
  return { id, sheet: told.sheet, vehicle: told.vehicle, events, seq, receipt: known?.receipt ?? null, closed: null };
}

function sorted(asked, answer, heard) {
  const byId = new Map(asked.events.map((row) => [row.event.id, row]));
  const acked = answer.acks.filter(({ id }) => byId.has(id))
    .map(({ id, seq, hash }) => ({ id, seq, hash, job: byId.get(id).event.job, n: byId.get(id).n, event: byId.get(id).event, at: heard }));
  const refused = answer.refused.filter(({ id, status }) => byId.has(id) && status < 500)
    .map(({ id, status, message }) => ({ id, status, message, n: byId.get(id).n, event: byId.get(id).event, at: heard }));
  const changedJobs = new Map(Object.entries(answer.jobs).map(([id, told]) => [id, mergeJob(id, told)]));
  for (const row of acked) {
    const job = changedJobs.get(row.job) ?? everyJob().find((one) => one.id === row.job);
    if (job && row.seq >= (job.receipt?.[0] ?? 0)) changedJobs.set(row.job, { ...job, receipt: [row.seq, row.hash] });
  }
  for (const id of answer.closed) {
    const job = changedJobs.get(id) ?? everyJob().find((one) => one.id === id);
    if (job) changedJobs.set(id, { ...job, closed: job.closed ?? heard });
  }
  return { acked, refused, jobs: [...changedJobs.values()].map(({ folded, mark, ...row }) => row) };
}

async function store(asked, answer, heard) {
  const { acked, refused, jobs } = sorted(asked, answer, heard);
  const contact = {
    server: answer.server, wall: heard, page: clock.page, mono: clock.mono(),
    offset: clock.offsetOf(asked.moment.wall, heard, answer.server), floor: heard,
  };
  const values = { contact, people: answer.people, shop: answer.shop, alarms: answer.alarms ?? [] };
  await db.write(["outbox", "sent", "refused", "jobs", "kv"], (at) => {
    for (const row of acked) {
      at("sent").put(row);
      at("outbox").delete(row.n);
    }
    for (const row of refused) {
      at("refused").put(row);
      at("outbox").delete(row.n);
    }
    for (const row of asked.rows) at("outbox").delete(row.n);
    for (const job of jobs) at("jobs").put(job);
    for (const [k, v] of Object.entries(values)) at("kv").put({ k, v });
  });
  clock.measured(asked.moment.wall, heard, answer.server);
  const gone = new Set([...acked, ...refused, ...asked.rows].map((row) => row.n));
  phone.outbox = phone.outbox.filter((row) => !gone.has(row.n));
  phone.refused.push(...refused);
  for (const row of acked) holdSent(row);
  for (const job of jobs) holdJob(job);
  Object.assign(phone, values);
  if (personNow()) speakTo(personNow().lang);
  phone.fresh = false;
  if (answer.lost?.length) await sendAgain(answer.lost);
}

/** The shop's record went back behind what it had acknowledged: what this phone sent of those jobs goes again. */
async function sendAgain(lost) {
  const rows = (await db.all("sent")).filter((row) => lost.includes(row.job));
  await db.write(["outbox", "jobs"], async (at) => {
    for (const { n, event } of rows) at("outbox").put({ n, kind: "event", page: event.page, mono: event.mono, wall: event.at, event });
    for (const id of lost) {
      const job = await db.asked(at("jobs").get(id));
      if (job) at("jobs").put({ ...job, receipt: null });
    }
  });
  await load();
}

async function fetchSheets() {
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
async function fetchDataSheets() {
  const names = new Set(openSheets().flatMap((sheet) => Object.values(sheet.products).map((product) => product.sds)).filter(Boolean));
  for (const name of names) {
    if (phone.files.has(name)) continue;
    const response = await ask(`/api/data-sheet/${name.split("/").map(encodeURIComponent).join("/")}`, { limit: 60000 });
    if (!response.ok) continue;
    await db.put("files", { name, type: response.headers.get("Content-Type") ?? "", bytes: await response.arrayBuffer() });
    phone.files.add(name);
  }
}

async function sendPhotos() {
  for (const photo of phone.photos.filter((one) => !one.sent)) {
    const row = await db.one("photos", photo.hash);
    if (!row) continue;
    const response = await ask(`/api/photo/${row.hash}`, {
      method: "PUT", body: row.bytes, headers: { "Content-Type": row.type }, limit: 60000,
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

async function forgetOld(heard) {
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

const why = (response) => response.text().then((text) => text.slice(0, 300), () => String(response.status));

async function speak() {
  const n = await takeNumber();
  const asked = request(n);
  let response;
  try {
    response = await tellShop("/api/contact", asked.body);
  } catch {
    phone.reach = "away";
    return false;
  }
  if (response.status === 401) {
    phone.reach = "unpaired";
    return false;
  }
  if (!response.ok) {
    phone.reach = response.status >= 500 ? "ill" : "refusing";
    phone.trouble = response.status >= 500 ? null : say("sync.refusing", { why: await why(response) });
    return false;
  }
  const heard = clock.wall();
  await store(asked, await response.json(), heard);
  phone.reach = "heard";
  await fetchSheets();
  changed();
  await sendPhotos();
  await fetchDataSheets();
  await forgetOld(heard);
  return asked.events.length === MOST_EVENTS;
}

async function talk() {
  const lock = navigator.locks ? (work) => navigator.locks.request("contact", work) : (work) => work();
  try {
    let more = true;
    while (more) {
      again = false;
      more = await lock(speak) || again;
    }
  } catch {
    phone.reach = "away";
  }
}

/** Speak with the shop now, or once more right after the talk that is going on. Never rejects. */
export function contact() {
  if (!phone.token) return Promise.resolve();
  if (busy) {
    again = true;
    return busy;
  }
  busy = talk().finally(() => {
    busy = null;
    changed();
  });
  return busy;
}

/**
 * Keep in touch: every 5 s while a job is open and in sight, else every 20 s; at once when something tells us to.
 * @param {() => boolean} jobInSight
 */
export function keepInTouch(jobInSight) {
  const next = () => {
    clearTimeout(timer);
    const wait = jobInSight() && document.visibilityState === "visible" ? SOON_MS : SELDOM_MS;
    timer = setTimeout(() => contact().then(next), wait);
  };
  const soon = () => contact().then(next);
  addEventListener("online", soon);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && soon());
  soon();
  return soon;
}
