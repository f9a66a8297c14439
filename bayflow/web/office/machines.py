"""The shop's machines: what their makers declare of vibration and noise, and what is left of everybody's day."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from flask import redirect, request, url_for

from bayflow.procedure.words_of_trade import MACHINES
from bayflow.shop import exposures, people, settings
from bayflow.trade import exposure
from bayflow.trade.units import number, whole
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, text, tick
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.times import span

_NUMBER = re.compile(r"[0-9]{1,3}([.,][0-9]{1,2})?")
NAMES = {kind: words["en"] for kind, words in MACHINES.items()}


class MachineForm(OfficeForm):
    """One machine."""

    name = text("Name", "As people call it, such as: polisher 2.", 80, need="Name the machine.")
    kind = choice("Kind", NAMES.items())
    vibration = text("Declared vibration, m/s²", "From its manual, such as 4.5, with the uncertainty K added if it is"
                     " told. Empty: not known.", 8)  # fmt: skip
    noise = text("Declared noise at the ear, dB(A)", "Such as 84. Empty: not known.", 8)
    basis = text("Where the figures are from", "Such as: its manual, page 12.", 200)
    remove = tick("Take this machine off the list")


@dataclass(frozen=True, kw_only=True)
class Told:
    """One person's day in words."""

    name: str
    held: str
    vibration: str
    word: str
    left: tuple[str, ...]
    noise: str


@office.get("/machines")
@desk.needs()
def machine_list() -> Any:
    """The machines of the shop."""
    found = [(one, NAMES[one["kind"]], _figures(one)) for one in desk.shop_settings()["machines"]]
    return form_page("machines.html", OfficeForm(formdata=None), machines=found)


@office.route("/machines/edit", methods=["GET", "POST"])
@desk.needs("owner")
def machine_edit() -> Any:
    """Add a machine, put it right, or take it off the list."""
    known = desk.shop_settings()["machines"]
    seat = next((n for n, one in enumerate(known) if one["name"] == request.args.get("name")), len(known))
    blank = {"name": "", "kind": "orbital-polisher", "cms2": None, "ddb": None, "basis": ""}
    old: dict[str, Any] = known[seat] if seat < len(known) else blank
    shown = {"vibration": _shown(old["cms2"], 100), "noise": _shown(old["ddb"], 10)}
    form = MachineForm(data=old | shown)
    if form.sent():
        cms2, ddb = _typed(form.vibration.data, 100), _typed(form.noise.data, 10)
        if cms2 is False or ddb is False:
            form.refuse("Write vibration and noise as plain numbers, such as 4.5 and 84, or leave them empty.")
        else:
            made = {"name": form.name.data, "kind": form.kind.data, "cms2": cms2, "ddb": ddb, "basis": form.basis.data}
            new = [*known[:seat], *([] if form.remove.data else [made]), *known[seat + 1 :]]
            if form.attempt(lambda: _keep(new)):
                return redirect(url_for("office.machine_list"))
    return form_page("machine.html", form, old=old["name"])


def told_today() -> list[Told]:
    """Everybody who held a machine today, by name: what it came to, and how long is left with each kind."""
    shop = desk.shop()
    known, names = exposures.declared(shop), people.names(shop)
    found = [_told(day, names.get(day.person, day.person), known) for day in exposures.today(shop, now=desk.now())]
    return sorted(found, key=lambda one: one.name.casefold())


def _told(day: exposures.Day, name: str, known: dict[str, exposures.Declared]) -> Told:
    left = exposures.left(day, known)
    lines = [
        f"{NAMES[kind]}: {_down(one.action or 0)} to the action value, {_down(one.limit)} at most"
        for kind, one in left.items()
        if one.limit is not None
    ]
    unknown = ", ".join(NAMES[kind] for kind in day.unknown)
    vibration = f"A(8) {number(Fraction(day.a8_cms2, 100), 1)} m/s², {exposure.points(day.energy)} points"
    return Told(
        name=name, held=", ".join(f"{NAMES[kind]} {span(ms)}" for kind, ms in day.minutes.items()),
        vibration=vibration + (f"; without {unknown}, whose vibration is not known" if unknown else ""),
        word=verdict(day.energy), left=tuple(lines), noise=noise_words(day.noise_ddb),
    )  # fmt: skip


def verdict(energy: int) -> str:
    """What a day's vibration comes to: "" below the action value."""
    if energy >= exposure.LIMIT_ENERGY:
        return "limit reached"
    return "over the action value" if energy >= exposure.ACTION_ENERGY else ""


def noise_words(ddb: int | None) -> str:
    """A day's noise in words; what hearing protection takes off is not counted."""
    if ddb is None:
        return "not known"
    lower, upper, _ = exposure.NOISE_DDB
    advice = "wear hearing protection" if ddb >= upper else "hearing protection must be at hand" if ddb >= lower else ""
    return f"{number(Fraction(ddb, 10), 1)} dB(A) over eight hours" + (f": {advice}" if advice else "")


def _down(ms: int) -> str:
    """What is left, cut to whole minutes: never more than it is."""
    return span(ms // 60_000 * 60_000) if ms else "nothing"


def _figures(one: dict[str, Any]) -> str:
    vibration, noise = _shown(one["cms2"], 100), _shown(one["ddb"], 10)
    told = f"{vibration} m/s²" if vibration else "vibration not known"
    return f"{told}, {f'{noise} dB(A)' if noise else 'noise not known'}"


def _shown(value: int | None, per: int) -> str:
    return "" if value is None else number(Fraction(value, per), 2)


def _typed(words: str, per: int) -> Any:
    """A typed number as an integer of so many to one; None for nothing typed, False for what is no number."""
    if not words:
        return None
    return whole(Fraction(words.replace(",", ".")) * per) if _NUMBER.fullmatch(words) else False


def _keep(machines: list[dict[str, Any]]) -> bool:
    settings.change(desk.shop(), {"machines": machines}, by=desk.me().id, now=desk.now())
    return True
