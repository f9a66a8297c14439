// The phone's own words, by language, and the words of a sheet with the language they are really in.

import en from "./words/en.js";
import es from "./words/es.js";

const BOOKS = { en, es };

let lang = "en";

/** The language of the person at this phone. */
export const language = () => lang;

/** Speak this language from now on, as far as we have it. */
export function speak(wanted) {
  lang = wanted in BOOKS ? wanted : "en";
  if (document.documentElement.lang !== lang) document.documentElement.lang = lang;
}

const put = (text, values) =>
  text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));

/**
 * The words for `key`, with `{name}` replaced. A key with `one`/`other` forms takes `n`.
 * @param {string} key
 * @param {Object<string, string|number>} [values]
 */
export function say(key, values = {}) {
  const found = BOOKS[lang][key] ?? BOOKS.en[key] ?? key;
  if (typeof found === "string") return put(found, values);
  return put(values.n === 1 ? found.one : found.other, values);
}

/** Is there such a word? */
export const known = (key) => key in BOOKS[lang] || key in BOOKS.en;

/**
 * A sheet's words: `{text, lang}`; another language of the sheet where this one lacks them.
 * @param {object} sheet
 * @param {string|null} key
 */
export function textOf(sheet, key) {
  if (!key) return { text: "", lang };
  for (const tongue of [lang, "en", ...Object.keys(sheet.texts)]) {
    const text = sheet.texts[tongue]?.[key];
    if (text !== undefined) return { text, lang: tongue };
  }
  return { text: key, lang: "en" };
}
