// Where the person is: the address after `#`, so that back, reload and a locked screen land on the same place.
//
//   #/                       cars            #/job/ID                 the job's own screen
//   #/names #/open #/unsent  #/emergency     #/job/ID/SCREEN/ARG…     a screen of that job
//   #pair=CODE  #car=CODE    from a QR code

import * as db from "./db.js";

/**
 * The parts of an address.
 * @param {string} hash
 * @returns {{name: string, job: string|null, screen: string, args: string[], code: string}}
 */
export function parse(hash) {
  const coded = /^#(pair|car)=([^&]+)/.exec(hash);
  if (coded) return { name: coded[1], job: null, screen: "", args: [], code: plain(coded[2]) };
  const parts = hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(plain);
  if (parts[0] === "job" && parts[1])
    return { name: "job", job: parts[1], screen: parts[2] ?? "", args: parts.slice(3), code: "" };
  return { name: parts[0] ?? "cars", job: null, screen: "", args: parts.slice(1), code: "" };
}

function plain(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** The address of a place. */
export const href = (...parts) => `#/${parts.map(encodeURIComponent).join("/")}`;

/** Go to a place. */
export function go(...parts) {
  const to = href(...parts);
  if (location.hash === to) dispatchEvent(new HashChangeEvent("hashchange"));
  else location.hash = to;
}

/** Go to a place so that "back" doesn't come here again. */
export function goInstead(...parts) {
  history.replaceState(null, "", href(...parts));
  dispatchEvent(new HashChangeEvent("hashchange"));
}

/** Back to the own screen of a job, so that "back" doesn't come here again. */
export const home = (at) => goInstead("job", at.job.id);

/** Keep where the person is; codes are not kept. */
export function remember() {
  if (/^#\/job\//.test(location.hash)) db.keep("where", location.hash).catch(() => {});
  else if (parse(location.hash).name === "cars") db.keep("where", "#/").catch(() => {});
}

/** An app that is opened without an address goes where it was. */
export async function resume() {
  if (location.hash) return;
  const where = await db.kept("where", "#/");
  history.replaceState(null, "", where);
}
