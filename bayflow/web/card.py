"""A label's address, `/v/CODE`: the car's card as anybody may see it who holds the label.

On a phone that is paired, a small script offers to open the car in the app; the server itself asks for no token here.
"""

from collections.abc import Callable

from flask import Blueprint, Response, current_app, render_template, request

from bayflow.shop import card as cards
from bayflow.shop.context import Shop
from bayflow.web.office.times import Clock

blueprint = Blueprint("card", __name__)

WORDS = {
    "en": {
        "title": "Your car's card", "open_in_app": "Open in the bay app", "running": "In work",
        "released": "Released", "care": "Care from now on", "until": "from", "over": "since",
        "done": "What was done", "left_out": "Left out", "products": "Products used", "record": "Record",
        "nothing": "No finished work is on this card yet.",
        "first": "Follow the product label and safety data sheet, your local rules, and the advice of licensed "
        "professionals. If they differ from this screen, follow them.",
    },
    "es": {
        "title": "La ficha de su coche", "open_in_app": "Abrir en la app del taller", "running": "En trabajo",
        "released": "Entregado", "care": "Cuidados a partir de ahora", "until": "a partir del", "over": "desde el",
        "done": "Qué se hizo", "left_out": "No se hizo", "products": "Productos usados", "record": "Registro",
        "nothing": "En esta ficha todavía no hay trabajos terminados.",
        "first": "Siga la etiqueta y la ficha de datos de seguridad del producto, las normas locales y el consejo de "
        "profesionales con licencia. Si difieren de esta pantalla, sígalos a ellos.",
    },
}  # fmt: skip


@blueprint.get("/v/<code>")
@blueprint.get("/V/<code>")
def _card(code: str) -> Response:
    """The card page; 404 for a code that is no car's."""
    shop: Shop = current_app.extensions["bayflow.shop"]
    clock: Callable[[], int] = current_app.extensions["bayflow.clock"]
    lang = request.accept_languages.best_match(WORDS) or "en"
    found = cards.card(shop, code, now=clock(), lang=lang)
    text = render_template(
        "card.html", card=found, lang=lang, t=WORDS[lang], now=clock(), day=lambda ms: _day(ms, found.zone, lang),
        listener=bool(request.environ.get("bayflow.listener")),
    )  # fmt: skip
    return Response(text, mimetype="text/html", headers={"Cache-Control": "no-store", "X-Robots-Tag": "noindex"})


def _day(ms: int, zone: str, lang: str) -> str:
    """A moment as a customer reads it, in the shop's zone."""
    clock = Clock(zone, ms, lang)
    return f"{clock.day(ms, year=True)}, {clock.clock(ms)}"
