"""Choosing a car's work: its case from the record, and what the proposed procedures would take together."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from bayflow.job.sheet import Sheet, split
from bayflow.procedure.check import chain, fits
from bayflow.procedure.choosing import Chosen, choose
from bayflow.procedure.choosing_case import Case
from bayflow.procedure.combining import possible, together
from bayflow.procedure.rehearsal import Rehearsal
from bayflow.procedure.told import Told
from bayflow.shop import board, card, jobs, procedures, settings, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import ShopError
from bayflow.shop.vehicles import Vehicle

DAY_MS = 86_400_000
NOTED = {"gritty": "grit", "smell": "smell", "damp": "damp", "wet": "damp"}
"""Answers of earlier checks that say what an arrival may find."""


@dataclass(frozen=True)
class Plan:
    """What the car's case speaks for and against; `surfaces` are the proposals that the car's surfaces refuse."""

    chosen: Chosen
    surfaces: Mapping[str, tuple[Told, ...]]
    titles: Mapping[str, str]

    @property
    def names(self) -> list[str]:
        """The procedures that are proposed."""
        return list(self.chosen.proposed)


def case_for(
    shop: Shop, car: Vehicle, *, aim: str = "", finds: Iterable[str] = (), low_dc: int | None = None,
    indoors: bool = True, sun: bool | None = None, now: int,
) -> Case:  # fmt: skip
    """The case of *car* at *now* (ms): its card and its jobs here, beside what somebody says of the day."""
    done = [job for job in jobs.loaded(shop, [row["job"] for row in jobs.of_vehicle(shop, car.id)])]
    since: dict[str, int] = {}
    waits: dict[str, int] = {}
    for job in done:
        for key, record in job.state["done"].items():
            task = job.index.tasks.get(split(key)[0])
            for trait in task["traits"] if task else ():
                days = max(0, now - record["t"]) // DAY_MS
                since[trait] = min(days, since.get(trait, days))
        for one in card.care(job):
            if one.until is not None and one.until > now:
                name = one.id.rpartition(".")[2]
                waits[name] = max(waits.get(name, 0), -(-(one.until - now) // DAY_MS))
    known = settings.current(shop)
    local = datetime.fromtimestamp(now / 1000, UTC).astimezone(settings.zone(shop))
    return Case(
        body=car.body, card=car.surfaces, aim=aim, finds=frozenset(finds), month=local.month,
        south=bool(known["location"]) and known["location"][0] < 0, low_dc=low_dc, indoors=indoors, sun=sun,
        jobs=len(done), since=since, waits=waits,
    )  # fmt: skip


def noted(shop: Shop, car: Vehicle) -> set[str]:
    """What the last job's checks found that is still open to choose for: taken over as ticks, to be looked at."""
    rows = jobs.of_vehicle(shop, car.id)[:1]
    answers = [d["answer"] for job in jobs.loaded(shop, [r["job"] for r in rows]) for d in job.state["done"].values()]
    return {NOTED[answer] for answer in answers if answer in NOTED}


def plan(shop: Shop, car: Vehicle, case: Case) -> Plan:
    """The procedures for *case*, but those that the car's surfaces or body refuse, with the rules that do."""
    library = procedures.library(shop)
    ready = [one.id for one in procedures.startable(shop) if fits(library, one.id, car.body)]
    chosen = possible(library, choose(case, ready))
    refused: dict[str, tuple[Told, ...]] = {}
    for name in (*chosen.proposed, *chosen.instead):
        told = procedures.surfaces_tell(shop, chain(library, name), body=car.body, surfaces=car.surfaces)
        against = tuple(one for one in told if one.outcome == "refused")
        if against:
            refused[name] = against
    left = {name: why for name, why in chosen.proposed.items() if name not in refused}
    titles = {one.id: one.title for one in procedures.files(shop) if one.kind == "procedure"}
    alone = {name: why for name, why in chosen.instead.items() if name not in refused}
    return Plan(Chosen(left, chosen.refused, chosen.mind, alone), refused, titles)


def rehearsed(shop: Shop, car: Vehicle, names: list[str], *, now: int) -> Rehearsal | list[str]:
    """What *names* with all that prepares them would take from *now*; the reasons where they cannot be one job."""
    every = together(procedures.library(shop), names)
    try:
        return board.rehearsal_for(shop, vehicles.vehicle(shop, car.id).id, every, now=now)
    except ShopError as no:
        return [str(one) for one in getattr(no, "reasons", None) or getattr(no, "faults", [str(no)])]


def consumption(sheet: Sheet) -> list[tuple[str, int]]:
    """Product → millilitres that a sheet uses up, the most first."""
    found: dict[str, int] = {}
    for task in sheet["tasks"]:
        for use in task["use"]:
            found[use["product"]] = found.get(use["product"], 0) + use["ml"]
        for mix in task["mix"]:
            found[mix["product"]] = found.get(mix["product"], 0) + mix["product_ml"]
    return sorted(found.items(), key=lambda one: (-one[1], one[0]))
