// What was typed and not yet noted, on disk at every key: a reload or a flat battery doesn't lose it.

import * as db from "./db.js";

let drafts = {};

/** Read the drafts; once, at the start. */
export async function load() {
  drafts = await db.kept("drafts", {});
}

/** The draft under `key`, or `fallback`. */
export const draft = (key, fallback = "") => drafts[key] ?? fallback;

/** Keep a draft. */
export function setDraft(key, value) {
  drafts = { ...drafts, [key]: value };
  db.keep("drafts", drafts).catch(() => {});
}

/** Drop every draft whose key begins so. */
export function dropDrafts(prefix) {
  drafts = Object.fromEntries(Object.entries(drafts).filter(([key]) => !key.startsWith(prefix)));
  db.keep("drafts", drafts).catch(() => {});
}
