"""What machines did to people today: vibration of the hands and noise, summed over all jobs, and how much is left.

The minutes are estimates from the log (`job.machines`), the figures of a machine are what its maker declares. It helps
to plan turns; it is no measurement, and it says so wherever it is shown.
"""

from dataclasses import dataclass
from datetime import datetime, time

from bayflow.job.machines import Spell, spells
from bayflow.procedure.words_of_trade import MACHINES
from bayflow.shop import jobs, settings
from bayflow.shop.context import Shop
from bayflow.shop.jobs import Job
from bayflow.trade import exposure

LATEST = 60
"""So many jobs with the latest news are looked through for today's work."""


@dataclass(frozen=True, kw_only=True)
class Declared:
    """The highest figures of the shop's machines of one kind (cm/s², tenths of dB(A)); None where none is known."""

    cms2: int | None
    ddb: int | None


@dataclass(frozen=True, kw_only=True)
class Day:
    """One person's day: ms by kind of machine; vibration `energy` and noise of those with known figures.

    `unknown` are kinds used of which nobody wrote down the vibration.
    """

    person: str
    minutes: dict[str, int]
    energy: int
    noise_ddb: int | None
    unknown: tuple[str, ...]

    @property
    def a8_cms2(self) -> int:
        """Daily vibration exposure A(8), hundredths of m/s²."""
        return exposure.a8_cms2(self.energy)


@dataclass(frozen=True, kw_only=True)
class Left:
    """How long (ms) a kind may still be held today: to the action and the limit value of vibration, to 85 dB(A)."""

    action: int | None
    limit: int | None
    noise: int | None


def declared(shop: Shop) -> dict[str, Declared]:
    """What is known of each kind that the shop has: the worst of its machines stands for all of them."""
    found: dict[str, Declared] = {}
    for kind in MACHINES:
        same = [one for one in settings.current(shop)["machines"] if one["kind"] == kind]
        if same:
            found[kind] = Declared(
                cms2=max((one["cms2"] for one in same if one["cms2"] is not None), default=None),
                ddb=max((one["ddb"] for one in same if one["ddb"] is not None), default=None),
            )
    return found


def today(shop: Shop, *, now: int) -> list[Day]:
    """The day so far of everybody who held a machine, in the shop's zone; by person id."""
    zone = settings.zone(shop)
    day = datetime.fromtimestamp(now / 1000, zone).date()
    since = int(datetime.combine(day, time(), zone).timestamp() * 1000)
    rows = [row["job"] for row in shop.store.latest(LATEST) if not row["damaged"] and (row["last"] or 0) >= since]
    by_person: dict[str, list[Spell]] = {}
    for job in jobs.loaded(shop, rows):
        for spell in machine_work(job):
            if since <= spell.t <= now:
                by_person.setdefault(spell.person, []).append(spell)
    known = declared(shop)
    return [day_of(person, found, known) for person, found in sorted(by_person.items())]


def machine_work(job: Job) -> tuple[Spell, ...]:
    """The machine work of one job, worked out once for each state of its log."""
    if "machine_work" not in job.__dict__:
        job.__dict__["machine_work"] = tuple(spells(job.index, job.state, job.log))
    found: tuple[Spell, ...] = job.__dict__["machine_work"]
    return found


def day_of(person: str, found: list[Spell], known: dict[str, Declared]) -> Day:
    """The sums of one person's day."""
    minutes: dict[str, int] = {}
    for spell in found:
        minutes[spell.kind] = min(86_400_000, minutes.get(spell.kind, 0) + spell.ms)
    figures = {kind: known.get(kind, Declared(cms2=None, ddb=None)) for kind in minutes}
    energy = sum(exposure.vibration_energy(figures[kind].cms2 or 0, ms) for kind, ms in minutes.items())
    loud = [(ddb, ms) for kind, ms in minutes.items() if (ddb := figures[kind].ddb) is not None]
    return Day(
        person=person, minutes=minutes, energy=energy, noise_ddb=exposure.noise_day_ddb(loud),
        unknown=tuple(kind for kind in minutes if figures[kind].cms2 is None),
    )  # fmt: skip


def left(day: Day | None, known: dict[str, Declared]) -> dict[str, Left]:
    """What is left of the day for each kind of machine that the shop has; the whole day where nothing was held yet."""
    energy, noise = (day.energy, day.noise_ddb) if day else (0, None)
    found = {}
    for kind, one in known.items():
        vibrates = one.cms2 is not None
        found[kind] = Left(
            action=exposure.time_left_ms(energy, one.cms2 or 0, exposure.ACTION_ENERGY) if vibrates else None,
            limit=exposure.time_left_ms(energy, one.cms2 or 0, exposure.LIMIT_ENERGY) if vibrates else None,
            noise=_quiet_left(noise, one.ddb) if one.ddb is not None else None,
        )
    return found


def _quiet_left(so_far_ddb: int | None, ddb: int) -> int:
    """How long a level may last until the day with what was heard so far reaches 85 dB(A)."""
    share = 1 - (10 ** ((so_far_ddb - 850) / 100) if so_far_ddb is not None else 0)
    return min(86_400_000, max(0, int(exposure.noise_allowed_ms(ddb) * share)))


def for_phones(shop: Shop, *, now: int) -> dict[str, dict[str, list[int | None]]]:
    """What the phones are told: person → kind → [ms to the action value, ms to the limit, ms to 85 dB(A)].

    Under "" stands the day of whoever held nothing yet. Empty where the shop has written down no machine.
    """
    known = declared(shop)
    if not known:
        return {}
    days: list[Day | None] = [None, *today(shop, now=now)]
    return {
        day.person if day else "": {k: [v.action, v.limit, v.noise] for k, v in left(day, known).items()}
        for day in days
    }
