// Who is working: one tap on a name.

import { el } from "../dom.js";
import { head, notices } from "../heads.js";
import { phone } from "../phone.js";
import { button, choosePerson } from "../pieces.js";
import { say } from "../words.js";

/** The people of the shop, as buttons. */
export function namesScreen() {
  const people = [...phone.people].sort((a, b) => a.name.localeCompare(b.name));
  return [
    head(say("names.title"), phone.person ? "#/" : null),
    el(
      "main",
      {},
      notices(),
      people.length
        ? el(
            "ul",
            { class: "rows names" },
            people.map((one) =>
              el(
                "li",
                { "data-key": one.id },
                button(
                  [el("b", {}, one.name), el("span", {}, say(`role.${one.role}`))],
                  () =>
                    choosePerson(one.id).then(
                      () => history.length > 1 && location.hash === "#/names" && history.back(),
                    ),
                  {
                    class: one.id === phone.person ? "chosen" : "",
                    "aria-current": one.id === phone.person ? "true" : null,
                  },
                ),
              ),
            ),
          )
        : el("p", {}, say("names.none")),
    ),
  ];
}
