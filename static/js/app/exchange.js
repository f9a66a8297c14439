// What goes in one contact, and what its answer changes on this phone: all in one strict write.

import * as clock from "./clock.js";
import * as db from "./db.js";
import { everyJob, hasSheet, holdJob, holdSent, load, personNow, phone } from "./phone.js";
import { speak as speakTo } from "./words.js";

/** Events that go in one contact at most. */
export const MOST_EVENTS = 200;

/** One contact: what goes with the counter `n`, and which rows that is. */
export function request(n) {
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
    moment,
    rows,
    events,
    body: {
      sent: { n, ...moment },
      rows: rows.map(({ n: count, page, mono, wall }) => ({ n: count, page, mono, wall })),
      events: events.map((row) => row.event),
      have,
      receipts,
      ...(phone.fresh ? { lost: true } : {}),
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

/** A job as it lies on the disk: without what was worked out from it. */
const jobRow = ({ id, sheet, vehicle, events, seq, receipt, closed }) => ({
  id,
  sheet,
  vehicle,
  events,
  seq,
  receipt,
  closed,
});

function sorted(asked, answer, heard) {
  const byId = new Map(asked.events.map((row) => [row.event.id, row]));
  const acked = answer.acks
    .filter(({ id }) => byId.has(id))
    .map(({ id, seq, hash }) => ({
      id,
      seq,
      hash,
      job: byId.get(id).event.job,
      n: byId.get(id).n,
      event: byId.get(id).event,
      at: heard,
    }));
  const refused = answer.refused
    .filter(({ id, status }) => byId.has(id) && status < 500)
    .map(({ id, status, message }) => ({
      id,
      status,
      message,
      n: byId.get(id).n,
      event: byId.get(id).event,
      at: heard,
    }));
  const changedJobs = new Map(Object.entries(answer.jobs).map(([id, told]) => [id, mergeJob(id, told)]));
  for (const row of acked) {
    const job = changedJobs.get(row.job) ?? everyJob().find((one) => one.id === row.job);
    if (job && row.seq >= (job.receipt?.[0] ?? 0)) changedJobs.set(row.job, { ...job, receipt: [row.seq, row.hash] });
  }
  for (const id of answer.closed) {
    const job = changedJobs.get(id) ?? everyJob().find((one) => one.id === id);
    if (job) changedJobs.set(id, { ...job, closed: job.closed ?? heard });
  }
  return { acked, refused, jobs: [...changedJobs.values()].map(jobRow) };
}

/** Take up an answer: acknowledged rows move to `sent`, refused ones to where people see them, news is kept. */
export async function store(asked, answer, heard) {
  const { acked, refused, jobs } = sorted(asked, answer, heard);
  const contact = {
    server: answer.server,
    wall: heard,
    page: clock.page,
    mono: clock.mono(),
    offset: clock.offsetOf(asked.moment.wall, heard, answer.server),
    floor: heard,
  };
  const values = { contact, people: answer.people, shop: answer.shop, alarms: answer.alarms ?? [], skies: answer.skies ?? {} };
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
    for (const { n, event } of rows)
      at("outbox").put({ n, kind: "event", page: event.page, mono: event.mono, wall: event.at, event });
    for (const id of lost) {
      const job = await db.asked(at("jobs").get(id));
      if (job) at("jobs").put({ ...job, receipt: null });
    }
  });
  await load();
}
