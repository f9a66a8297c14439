// All that this phone knows, in memory: read once from its disk, then kept in step by `outbox` and `contact`.
//
// A job's log here is what the shop sent plus this phone's own rows that the shop has not sent back yet.
// Its state is folded again only when that log has grown; its gate is asked anew for every moment.

import { fold, gate, makeIndex } from "../core/index.js";
import * as clock from "./clock.js";
import * as db from "./db.js";
import { speak } from "./words.js";

const KEYS = ["token", "phone", "phoneName", "person", "people", "shop", "contact", "alarms", "skies", "clockPhone", "settings"];

/** What is kept under names, and the rows that are not on the shop's computer. */
export const phone = {
  loaded: false,
  token: null,
  phone: null,
  phoneName: null,
  person: null,
  people: [],
  shop: {},
  contact: null,
  alarms: [],
  skies: {},
  settings: {},
  outbox: [],
  refused: [],
  photos: [],
  files: new Set(),
  reach: "unknown",
  trouble: null,
  fresh: false,
};

const jobs = new Map();

const sheets = new Map();

const sentRows = new Map();

const hearers = new Set();

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("bayflow") : null;

/** Call `hear` after every change; returns its own stop. */
export function listen(hear) {
  hearers.add(hear);
  return () => hearers.delete(hear);
}

/** Something changed: tell the screens here, and other tabs if it came from here. */
export function changed(elsewhere = true) {
  for (const hear of hearers) hear();
  if (elsewhere) channel?.postMessage("changed");
}

if (channel) channel.onmessage = () => load().then(() => changed(false));

/** Read everything from the phone's disk. */
export async function load() {
  const [kv, outbox, refused, jobRows, sheetRows, sent, photos, files] = await Promise.all(
    ["kv", "outbox", "refused", "jobs", "sheets", "sent", "photos"]
      .map((name) => db.all(name))
      .concat(db.read(["files"], (at) => db.asked(at("files").getAllKeys()))),
  );
  const kept = Object.fromEntries(kv.map(({ k, v }) => [k, v]));
  for (const key of KEYS) if (key in kept) phone[key] = kept[key];
  phone.outbox = outbox;
  phone.refused = refused;
  phone.files = new Set(files);
  phone.photos = photos.map(({ hash, job, sent: there, at }) => ({ hash, job, sent: there, at }));
  for (const row of sheetRows) if (!sheets.has(row.hash)) sheets.set(row.hash, row.sheet);
  sentRows.clear();
  for (const row of sent) holdSent(row);
  const here = new Set(jobRows.map((row) => row.id));
  for (const id of [...jobs.keys()]) if (!here.has(id)) jobs.delete(id);
  for (const row of jobRows) holdJob(row);
  clock.restore(kept.contact);
  for (const row of outbox) clock.stamped(row.wall);
  speak(personNow()?.lang ?? phone.settings.lang ?? navigator.language.slice(0, 2));
  phone.loaded = true;
}

/** Keep a value under its name, on disk first. */
export async function set(name, value) {
  await db.keep(name, value);
  phone[name] = value;
  if (name === "person" || name === "people") speak(personNow()?.lang ?? phone.settings.lang ?? "en");
  changed();
}

/** The person at this phone, or null. */
export const personNow = () => phone.people.find((one) => one.id === phone.person) ?? null;

/** A person's name, or the id when the shop no longer names them. */
export const nameOf = (id) => phone.people.find((one) => one.id === id)?.name ?? id ?? "";

/** The shop's zone. */
export const zone = () => phone.shop.zone ?? "UTC";

/** The shop's unit of temperature, "C" or "F". */
export const units = () => (phone.shop.units === "us" ? "F" : "C");

/** Take up a row that the shop acknowledged. */
export function holdSent(row) {
  if (!sentRows.has(row.job)) sentRows.set(row.job, new Map());
  sentRows.get(row.job).set(row.id, row);
}

/** The sheets of the jobs that are open. */
export const openSheets = () =>
  openJobs()
    .map((job) => sheets.get(job.sheet))
    .filter(Boolean);

/** Take up a sheet. */
export const holdSheet = (hash, sheet) => sheets.set(hash, sheet);

/** Is this sheet on the phone? */
export const hasSheet = (hash) => sheets.has(hash);

/** Take up what the shop told of a job. */
export function holdJob(row) {
  const known = jobs.get(row.id);
  jobs.set(row.id, { ...row, folded: known?.folded, mark: known?.mark });
}

/** The code people type for a car. */
export const codeOf = (job) => job.vehicle.short_code ?? job.vehicle.code;

/** Jobs on this phone that are still open, by title. */
export const openJobs = () =>
  [...jobs.values()]
    .filter((job) => !job.closed)
    .sort((a, b) => a.vehicle.title.localeCompare(b.vehicle.title) || (a.id < b.id ? -1 : 1));

/** Every job on this phone. */
export const everyJob = () => [...jobs.values()];

/** One job, or null. */
export const jobOf = (id) => jobs.get(id) ?? null;

const ownSent = (id) => [...(sentRows.get(id)?.values() ?? [])];

/** The events of a job: the shop's, then this phone's own that the shop has not sent back. */
function eventsOf(id) {
  const job = jobs.get(id);
  const there = job?.events ?? [];
  const ids = new Set(there.map((event) => event.id));
  const own = [...ownSent(id), ...phone.outbox]
    .filter((row) => row.event?.job === id && !ids.has(row.event.id))
    .map(({ event }) => ({ ...event, offset: event.offset ?? clock.lastOffset() }));
  return [...there, ...own];
}

const ownCount = (id) =>
  (sentRows.get(id)?.size ?? 0) * 1e6 +
  phone.outbox.reduce((n, row) => n + (row.kind === "event" && row.event.job === id ? 1 : 0), 0);

/**
 * A job as it stands at `now`: `{job, sheet, index, events, state, gates, now}`, or null when its sheet is not here yet.
 * @param {string} id
 * @param {number} now the shop's time, ms
 */
export function standing(id, now) {
  const job = jobs.get(id);
  const sheet = job && sheets.get(job.sheet);
  if (!sheet) return null;
  const mark = `${job.sheet}|${job.events.length}|${job.seq}|${ownCount(id)}|${clock.lastOffset()}`;
  if (job.mark !== mark) {
    const events = eventsOf(id);
    const index = job.folded?.sheet === sheet ? job.folded.index : makeIndex(sheet);
    job.folded = { sheet, index, events, state: fold(index, events) };
    job.mark = mark;
  }
  if (job.folded.now !== now) Object.assign(job.folded, { now, gates: gate(job.folded.index, job.folded.state, now) });
  return { job, ...job.folded };
}

/** Events of this phone that are not on the shop's computer, oldest first. */
export const unsent = () => phone.outbox.filter((row) => row.kind === "event");
