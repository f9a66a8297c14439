// Making and mending the page: elements from plain values, and a repaint that keeps what is already there.
//
// A screen is a function that builds fresh nodes. `paint` walks old and fresh side by side and changes only what
// differs, so focus, a finger that is down and an open "why" survive a tick. Text goes in as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

/** Set as properties, not as attributes: what is called, and what a video shows. */
const HANDLERS = ["onclick", "oninput", "onchange", "onsubmit", "onkeydown", "srcObject", "muted"];

const KEPT = { DETAILS: ["open"], INPUT: ["value"], TEXTAREA: [], DIALOG: ["open"] };

function fill(node, props, kids) {
  for (const [name, value] of Object.entries(props ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (HANDLERS.includes(name)) node[name] = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const kid of kids.flat(4)) {
    if (kid === null || kid === undefined || kid === false || kid === "") continue;
    node.append(kid instanceof Node ? kid : document.createTextNode(String(kid)));
  }
  return node;
}

/**
 * An HTML element. Properties are attributes; the names in HANDLERS are properties; null and false leave one out.
 * @param {string} tag
 * @param {Object<string, any>} [props]
 * @param {...(Node|string|number|null|false|Array)} kids
 * @returns {HTMLElement}
 */
export function el(tag, props, ...kids) {
  return fill(document.createElement(tag), props, kids);
}

/**
 * An SVG element, else like `el`.
 * @returns {SVGElement}
 */
export function svg(tag, props, ...kids) {
  return fill(document.createElementNS(SVG, tag), props, kids);
}

const keyOf = (node) => (node.nodeType === 1 ? node.getAttribute("data-key") : null);

const alike = (a, b) =>
  a.nodeType === b.nodeType &&
  a.nodeName === b.nodeName &&
  keyOf(a) === keyOf(b) &&
  (a.nodeName !== "INPUT" || a.type === b.type);

function mendAttributes(old, fresh) {
  const kept = KEPT[old.nodeName] ?? [];
  for (const { name } of [...old.attributes]) {
    if (!fresh.hasAttribute(name) && !kept.includes(name)) old.removeAttribute(name);
  }
  for (const { name, value } of fresh.attributes) {
    if (!kept.includes(name) && old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  for (const name of HANDLERS) {
    if (name in fresh && old[name] !== fresh[name]) old[name] = fresh[name];
  }
}

function mend(old, fresh) {
  if (old.nodeType === 3) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return;
  }
  mendAttributes(old, fresh);
  if (old.nodeName === "TEXTAREA") return;
  paint(old, [...fresh.childNodes]);
}

/**
 * Make the children of `parent` look like `fresh`, keeping every node that is alike.
 * @param {Element} parent
 * @param {Node[]} fresh
 */
export function paint(parent, fresh) {
  let at = parent.firstChild;
  for (const node of fresh) {
    const key = keyOf(node);
    let same = at;
    if (key !== null) {
      while (same && keyOf(same) !== key) same = same.nextSibling;
    }
    if (same && alike(same, node)) {
      if (same !== at) parent.insertBefore(same, at);
      else at = at.nextSibling;
      mend(same, node);
    } else {
      parent.insertBefore(node, at);
      if (at && key === null && keyOf(at) === null) {
        const gone = at;
        at = at.nextSibling;
        gone.remove();
      }
    }
  }
  while (at) {
    const gone = at;
    at = at.nextSibling;
    gone.remove();
  }
}
