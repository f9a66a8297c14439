// The unfolded car: the picture that shows how far the work is, and the tile car that fingers use.
//
// The picture is read numeral first, texture second, colour never alone: fine dots = bare and wiped, 1 and lines one
// way = first coat on, 2 and crossed lines = second coat on, a time = waiting until then, the words "not right".
// The tile car is seven rows of left, middle, right. Both are drawn from the body in the sheet.

import { el, svg } from "./app/dom.js";

export const WIDTH = 300;
export const HEIGHT = 640;
const TIME_NEEDS = 78;

function place([x, y], turned) {
  return turned ? { x: y, y: WIDTH - x } : { x, y };
}

/** How long a panel's shape is along the lines of its words, in the drawing's own units. */
function length(panel, turned) {
  const numbers = panel.shape
    .match(/-?\d+(\.\d+)?/g)
    .map(Number)
    .filter((_, i) => i % 2 === (turned ? 1 : 0));
  return Math.max(...numbers) - Math.min(...numbers);
}

function mark(panel, look, turned) {
  const at = place(panel.label, turned);
  const time = look.time && length(panel, turned) >= TIME_NEEDS ? look.time : "";
  const text = look.trouble ? look.troubleWords : time || look.numeral;
  if (!text) return null;
  const kind = look.trouble ? "words bad" : time ? "words" : "";
  return svg("text", { ...at, class: kind }, text);
}

/**
 * The unfolded car.
 * @param {object} body the sheet's body
 * @param {object} options `look(panelId)` gives {texture, numeral, time, trouble, troubleWords}; `here` the panels
 *   worked on now; `turned` lays the car on its side, nose left; `label` is what a reader without the picture hears
 * @returns {SVGElement}
 */
export function drawCar(body, { look, here = [], turned = false, label = "" }) {
  const shapes = body.panels.map((panel) => {
    const seen = look(panel.id);
    const kind = ["panel", seen.trouble ? "bad" : seen.texture, here.includes(panel.id) ? "here" : ""]
      .filter(Boolean)
      .join(" ");
    return svg("path", { d: panel.shape, class: kind, "data-panel": panel.id });
  });
  const marks = body.panels.map((panel) => mark(panel, look(panel.id), turned));
  const onTop = [
    ...shapes.filter((shape) => !shape.matches(".here")),
    ...shapes.filter((shape) => shape.matches(".here")),
  ];
  return svg(
    "svg",
    {
      class: turned ? "car turned" : "car",
      viewBox: turned ? `0 0 ${HEIGHT} ${WIDTH}` : `0 0 ${WIDTH} ${HEIGHT}`,
      role: "img",
      "aria-label": label,
    },
    svg("g", turned ? { transform: `translate(0 ${WIDTH}) rotate(-90)` } : {}, onTop),
    svg("g", {}, marks),
  );
}

/**
 * The tile car: one button a panel, where it is on the car.
 * @param {object} body
 * @param {object} options `tile(panel)` gives {text, lang, note, class, disabled, pressed}; `choose(panelId)` is called on a tap
 * @returns {HTMLElement}
 */
export function tileCar(body, { tile, choose, label }) {
  const tiles = [...body.panels]
    .sort((a, b) => a.tile[0] - b.tile[0] || a.tile[1] - b.tile[1])
    .map((panel) => {
      const [row, col, cols] = panel.tile;
      const shown = tile(panel);
      return el(
        "button",
        {
          type: "button",
          "data-key": panel.id,
          disabled: shown.disabled,
          "aria-pressed": shown.pressed === undefined ? null : String(shown.pressed),
          class: `tile row-${row} col-${col} wide-${cols ?? 1} ${shown.class ?? ""}`,
          onclick: () => choose(panel.id),
        },
        el("span", { lang: shown.lang }, shown.text),
        shown.note ? el("b", {}, shown.note) : null,
      );
    });
  return el("div", { class: "tiles", role: "group", "aria-label": label }, tiles);
}
