// Canonical JSON (RFC 8785) and its hash: one text for one value, in every language. Twin of bayflow/job/canon.py.

const LONE = /\p{Surrogate}/u; // with the flag u, a pair is one character and no surrogate

/**
 * The canonical text of a plain value: whole numbers, sound text, lists, objects with ASCII keys.
 * @param {*} value
 * @returns {string}
 * @throws {TypeError} where the value is not plain
 */
export function canon(value) {
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "number") return whole(value);
  if (typeof value === "string") return text(value);
  if (Array.isArray(value)) return `[${value.map(canon).join(",")}]`;
  if (typeof value !== "object") throw new TypeError(`${typeof value} is not allowed in canonical JSON`);
  const fields = Object.keys(value).sort().map((name) => `${text(name)}:${canon(value[name])}`);
  return `{${fields.join(",")}}`;
}

/**
 * SHA-256 over the canonical bytes.
 * @param {*} value
 * @returns {Promise<string>} 64 hexadecimal digits
 */
export async function digest(value) {
  const hash = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(canon(value)));
  return Array.from(new Uint8Array(hash), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

function whole(value) {
  if (!Number.isSafeInteger(value)) throw new TypeError(`${value} is no whole number below 2^53`);
  return String(value === 0 ? 0 : value); // -0 is 0
}

function text(value) {
  if (LONE.test(value)) throw new TypeError("text holds a lone surrogate (half a character)");
  return JSON.stringify(value);
}
