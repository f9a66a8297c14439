// Asking the shop's computer: with this phone's token, never with a cookie, never for longer than it takes.

import { phone } from "./phone.js";

const LIMIT_MS = 10000;

/** A question to the shop with this phone's token; it ends after `limit` ms. */
export const ask = (path, options = {}) =>
  fetch(path, {
    ...options,
    cache: "no-store",
    credentials: "omit",
    redirect: "error",
    signal: AbortSignal.timeout(options.limit ?? LIMIT_MS),
    headers: { Authorization: `Bearer ${phone.token}`, ...options.headers },
  });

/** A JSON question to the shop. */
export const tellShop = (path, body) =>
  ask(path, {
    method: "POST",
    body: JSON.stringify(body),
    headers: { "Content-Type": "application/json" },
  });
