"""From what was asked on the command line to a rehearsal in words or JSON."""

import argparse
import json
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bayflow.paths import LIBRARY
from bayflow.procedure.check import chain
from bayflow.procedure.compiler import Compiled, compile_sheet, with_included
from bayflow.procedure.faults import errors, nearest
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import Library
from bayflow.procedure.merge import summed
from bayflow.procedure.rehearsal import rehearse, report
from bayflow.store import chain as records
from bayflow.store.layout import Layout
from bayflow.store.log import read_file

USUAL: dict[str, Any] = {
    "zone": "UTC", "units": "metric", "langs": ["en"],
    "staffed": {day: [["08:00", "17:00"]] for day in ("mon", "tue", "wed", "thu", "fri")},
}  # fmt: skip
"""Hours and words where no shop is named."""


class Refused(ValueError):
    """What was asked can't be rehearsed; the text says what is wrong and what would be right."""


def rehearsal_of(arguments: argparse.Namespace, now: int) -> tuple[int, str]:
    """
    Exit code (0: the job comes to its hand-over, 1: it does not, and why) and the text for the terminal.

    *now* (ms UTC) decides the start where none was given: the next opening. Raises Refused.
    """
    shop = _shop(arguments)
    library, names = _library(arguments)
    compiled = _compiled(library, names, arguments.body)
    sheet, brought = compiled.sheet, summed(compiled.moved)
    try:
        hours = Hours.from_settings(shop)
        start = hours.next_open(now) if arguments.start is None else _start(arguments.start, shop["zone"])
        rehearsed = rehearse(sheet, start=start, people=arguments.people, hours=hours, zone=shop["zone"])
    except ValueError as no:
        raise Refused(str(no)) from no
    if arguments.json:
        told = rehearsed.as_json() | {"moved": [asdict(one) for one in brought]}
        text = json.dumps(told, ensure_ascii=False, indent=1) + "\n"
    else:
        text = report(rehearsed, lang=arguments.lang or shop["langs"][0], units=shop["units"])
        if brought:
            text += "\nBrought forward by the order rules\n" + "".join(f"  {one}\n" for one in brought)
    return (0 if rehearsed.complete else 1), text


def _shop(arguments: argparse.Namespace) -> dict[str, Any]:
    """Zone, hours, units and language: of the shop in --data, out of --hours, or the usual ones."""
    shop = dict(USUAL)
    if arguments.data is not None:
        book = Layout(arguments.data).book("registry")
        if not book.is_file():
            raise Refused(f"{arguments.data} is no shop's data folder; name the folder that `bayflow serve` was given")
        for entry in records.scan(read_file(book)).entries:
            if entry.get("type") == "settings":
                shop.update(entry["values"])
    if arguments.hours is not None:
        try:
            given = json.loads(arguments.hours.read_text("utf-8"))
        except (OSError, ValueError) as no:
            raise Refused(f"{arguments.hours} can't be read as JSON ({no}); it holds zone, staffed and closed") from no
        if not isinstance(given, dict):
            raise Refused(f"{arguments.hours} holds no object; it would be {json.dumps(USUAL['staffed'])[:40]}…")
        shop.update(given)
    return shop


def _library(arguments: argparse.Namespace) -> tuple[Library, list[str]]:
    """The library, and the ids of the procedures that were asked for by id, or the one by path."""
    asked = Path(arguments.procedure[0])
    if len(arguments.procedure) > 1 or not asked.is_file():
        own = arguments.data / "procedures" if arguments.data else LIBRARY
        library = Library.load(own if own.is_dir() else LIBRARY)
        for name in arguments.procedure:
            if name not in library.procedures:
                right = nearest(name, set(library.procedures))
                file = " and no file" if len(arguments.procedure) == 1 else ""
                raise Refused(f"there is no procedure{file} '{name}'; {right}")
        return library, list(dict.fromkeys(arguments.procedure))
    root = next((folder for folder in list(asked.resolve().parents)[:2] if (folder / "bodies").is_dir()), LIBRARY)
    others = [one for one in sorted(root.rglob("*.y*ml")) if one.resolve() != asked.resolve()]
    library = Library.read([*((one, one.relative_to(root).as_posix()) for one in others), (asked, str(asked))])
    named = [one.id for one in library.procedures.values() if one.source.path == str(asked)]
    if not named:
        faults = [str(fault) for fault in errors(list(library.faults)) if fault.path == str(asked)]
        raise Refused("\n".join(faults) or f"{asked} holds no procedure; it would begin with 'procedure:'")
    return library, named[:1]


def _compiled(library: Library, names: list[str], body: str | None) -> Compiled:
    """*names* in that order, after all else that prepares them. Faults of the files it is made from are refused."""
    bodies = set(library.bodies)
    chosen = body or (bodies.pop() if len(bodies) == 1 else "saloon")
    if chosen not in library.bodies:
        raise Refused(f"there is no body '{chosen}'; {nearest(chosen, set(library.bodies))}")
    given = [one for name in names for one in with_included(library, name)]
    first: list[str] = []
    for name in names:
        first += [one for one in chain(library, name, [*given, *first]) if one not in (*given, *first)]
    compiled = compile_sheet(library, [*first, *names], chosen)
    paths = {source["path"] for source in compiled.sheet.get("sources", ())}
    faults = errors(compiled.faults) or [fault for fault in errors(list(library.faults)) if fault.path in paths]
    if faults:
        raise Refused("\n".join(str(fault) for fault in faults))
    return compiled


def _start(text: str, zone: str) -> int:
    """*text* as ms UTC: RFC 3339, or a local time of *zone*."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f"'{text}' is no time; write 2026-07-14 08:00 (shop time) or 2026-07-14T08:00:00Z") from None
    if not 2000 <= at.year <= 2100:
        raise Refused(f"the year {at.year} is outside 2000 to 2100; write a start such as 2026-07-14 08:00")
    return int((at if at.tzinfo else at.replace(tzinfo=ZoneInfo(zone))).timestamp()) * 1000
