// What must be worn: a blue disc with a white drawing of our own, and always its word.

import { el, svg } from "./dom.js";
import { known, say } from "./words.js";

const DRAWN = {
  gloves: "M13 30V17q0-2 2-2t2 2v7V13q0-2 2-2t2 2v10-11q0-2 2-2t2 2v11-8q0-2 2-2t2 2v15q0 4-4 4h-6q-4 0-6-3z",
  gauntlets: "M13 26V12q0-2 2-2t2 2v6V9q0-2 2-2t2 2v9V9q0-2 2-2t2 2v10l1-6q1-2 3-1v11q0 3-3 4h-8q-5 0-5-2zM12 30h15v5H12z",
  eyes: "M8 17h24v7q0 4-4 4h-4l-2-4h-4l-2 4h-4q-4 0-4-4zM6 19h2M32 19h2",
  face: "M11 9h18v5h2v2h-2v10q-3 7-9 7t-9-7V16H9v-2h2zM14 16v9q2 5 6 5t6-5v-9z",
  respirator: "M12 14q8-6 16 0v8q-2 8-8 9-6-1-8-9zM9 20a5 5 0 1 0 .1 0zM31 20a5 5 0 1 0 .1 0zM17 22h6v4h-6z",
  hearing: "M10 22v-3a10 10 0 0 1 20 0v3h-3v-3a7 7 0 0 0-14 0v3zM8 22h5v9H8zM27 22h5v9h-5z",
  apron: "M15 9h2v4h6V9h2v6l4 3v13H11V18l4-3z",
  footwear: "M12 12h8v9l9 4q2 1 2 5H12zM11 31h21v2H11z",
  "dust-mask": "M10 17q10-5 20 0v5q-3 8-10 8t-10-8zM13 21h14M13 24h14",
};

/** One sign with its word. */
export function wear(kind) {
  const drawing = svg(
    "svg",
    { viewBox: "0 0 40 40", width: 40, height: 40, "aria-hidden": "true", class: "wear" },
    svg("circle", { cx: 20, cy: 20, r: 20 }),
    DRAWN[kind] ? svg("path", { d: DRAWN[kind] }) : null,
  );
  return el("li", { "data-key": kind }, drawing, el("span", {}, known(`ppe.${kind}`) ? say(`ppe.${kind}`) : kind));
}
