"""An invented shop to try things with: people, cars, a finished job, one in its hold, one ready to start.

Nothing in it is real and everything says so. It is made by the use cases that a real shop uses, in virtual time.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from bayflow.job.events import Event
from bayflow.shop import acts, bay_air, gauges, jobs, people, phones, procedures, release, settings, stock, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.demo_phone import DemoPhone, Walk
from bayflow.shop.errors import Refused

PROCEDURE = "two-coat-protection"
HOUR = 3_600_000
DAY = 24 * HOUR
MARK = "invented for the demo"
SURFACES = {"all": "gloss-clear", "metal": "no-metal", "hood": "no-soft-top", "wheels": "wheel-lacquer"}
CARS: dict[str, dict[str, str]] = {
    "grey saloon": {"brakes": "disc-iron", "protection": "bare"}, "white saloon": {"brakes": "disc-iron"},
    "red saloon": {"bonnet": "film"},
}  # fmt: skip
"""Cars with what differs on their cards: nobody has looked at the red one's brakes yet."""
SETTINGS = {
    "name": "Example bay (invented)",
    "place": "1 Nowhere Road",
    "zone": "Europe/Madrid",
    "location": [404_000, -37_000],
    "places": [
        {"name": "yard", "horizon": [0, 30, 40, 10, 0, 0, 10, 0]},
        {"name": "bay 1", "horizon": [90] * 8},
        {"name": "bay 2", "horizon": [90] * 8},
    ],
    "langs": ["en", "es"],
    "staffed": {day: [["08:00", "18:00"]] for day in settings.DAYS},
    "emergency": {
        "number": "000 (invented: write the real number here)",
        "poison": "000 00 00 (invented)",
        "address": "1 Nowhere Road, gate 2 (invented)",
        "eyewash": "by the wash bay's door (invented)",
        "extinguisher": "by the office door (invented)",
        "first_aider": "Cleo (invented)",
        "assembly": "at the gate (invented)",
    },
}
MACHINES = [
    {"name": "polisher 1 (invented)", "kind": "orbital-polisher", "cms2": 450, "ddb": 840, "basis": MARK},
    {"name": "small polisher (invented)", "kind": "small-polisher", "cms2": 300, "ddb": 780, "basis": MARK},
    {"name": "blower (invented)", "kind": "air-blower", "cms2": 150, "ddb": 880, "basis": MARK},
]
BOTTLES = (("ceramic-spray", "DEMO-17", 500, 365), ("panel-wipe", "DEMO-4", 1000, 0), ("strip-shampoo", "", 5000, 0))
"""Product, batch, mL on arrival, days after opening."""
PINS = {"Ana": "2580", "Ben": "1470", "Cleo": "3690"}


@dataclass(frozen=True, kw_only=True)
class Demo:
    """What was made: ids by name, PINs by name, and the three jobs."""

    people: dict[str, str]
    pins: dict[str, str]
    finished: str
    holding: str
    ready: str


def make(shop: Shop, *, now: int) -> Demo:
    """Fill an empty shop so that it looks like a day in the middle of the work. Raises Refused if it is not empty."""
    if people.everyone(shop, active_only=False):
        raise Refused("this shop has people already; the demo fills empty folders only")
    start = now - 5 * DAY
    who = _people(shop, start)
    settings.change(shop, SETTINGS | {"machines": MACHINES}, by=who["Ana"], now=start)
    procedures.approve_all(shop, tried_by=[who["Ben"]], by=who["Ana"], now=start)
    for product, batch, ml, days in BOTTLES:
        stock.arrived(shop, product, batch=batch, ml=ml, expiry="", open_days=days, by=who["Ana"], now=start)
    cars = [
        vehicles.add(
            shop, title=title, body="saloon", surfaces=SURFACES | more, plate=f"DEMO {n}", note=MARK, by=who["Ana"],
            now=start,
        ).id
        for n, (title, more) in enumerate(CARS.items(), 1)
    ]  # fmt: skip
    code, _ = phones.new_code(shop, by=who["Ana"], now=start)
    paired, _ = phones.pair(shop, code, "demo phone", now=start)
    phone = DemoPhone(shop, paired, start)
    finished, lasted = _finished(shop, phone, cars[0], who, start)
    _surveyed(shop, phone, cars[2], who)
    holding = _holding(shop, phone, cars[1], who, now - 3 * HOUR - lasted)
    ready = jobs.open_job(shop, cars[2], [PROCEDURE], place="bay 2", by=who["Cleo"], now=now).id
    return Demo(people=who, pins=PINS, finished=finished, holding=holding, ready=ready)


def _people(shop: Shop, now: int) -> dict[str, str]:
    ana = people.add(shop, name="Ana (invented)", role="owner", pin=PINS["Ana"], by="shop", now=now)
    found = {"Ana": ana.id}
    for name, role, lang in (("Ben", "technician", "en"), ("Cleo", "lead", "es")):
        added = people.add(shop, name=f"{name} (invented)", role=role, lang=lang, pin=PINS[name], by=ana.id, now=now)
        found[name] = added.id
    return found


def _finished(shop: Shop, phone: DemoPhone, car: str, who: dict[str, str], start: int) -> tuple[str, int]:
    """A released job with a fault that Cleo accepted; its id, and how long it took to the long hold (ms)."""
    job = jobs.open_job(shop, car, [PROCEDURE], place="bay 1", by=who["Cleo"], now=start).id
    walk = Walk(phone, job, [who["Ben"], who["Cleo"]], longest=HOUR)
    phone.now = start
    walk.run()
    lasted = phone.now - start
    _night(shop, job, who["Ben"], phone.now)
    walk.longest = None
    walk.odd = _one_fault(jobs.load(shop, job))
    walk.run()
    while faults := _faults(jobs.load(shop, job)):
        for fault in faults:
            acts.decide(
                shop, job, fault["id"], outcome="accept-as-is", decider=who["Cleo"], now=phone.now,
                reason="a faint mark under the lamp, outside the line of sight; the customer was told",
            )  # fmt: skip
        walk.run()
    phone.now += 10 * 60_000
    release.release(shop, job, by=who["Ana"], now=phone.now)
    return job, lasted


def _night(shop: Shop, job: str, by: str, begun: int) -> None:
    """What an invented logger read in the day between the coats: 11 °C at the coldest; three hours are missing."""
    minutes = [n for n in range(0, 23 * 60, 5) if not 600 <= n < 780]
    cold = [abs(n - 900) for n in minutes]  # how far from the coldest moment, min
    rows = [(begun + n * 60_000, 110 + 90 * min(c, 720) // 720, 700 - 250 * min(c, 720) // 720)
            for n, c in zip(minutes, cold, strict=True)]  # fmt: skip
    until = begun + 23 * HOUR
    kept = bay_air.of_job(jobs.load(shop, job), rows, until)
    bay_air.keep(shop, job, kept, instrument="bay 1, by the door", by=by, now=until)


def _surveyed(shop: Shop, phone: DemoPhone, car: str, who: dict[str, str]) -> None:
    """A thickness survey of a car, with an invented gauge; released."""
    day = datetime.fromtimestamp(phone.now / 1000, UTC).date()
    gauges.keep(
        shop, "", name="red case (invented)", kind="film", checked=(day - timedelta(days=40)).isoformat(),
        result="passed", due=(day + timedelta(days=325)).isoformat(), by=who["Ana"], now=phone.now,
    )  # fmt: skip
    job = jobs.open_job(shop, car, ["thickness-survey"], place="bay 1", by=who["Cleo"], now=phone.now).id
    Walk(phone, job, [who["Ben"]], longest=HOUR).run()
    release.release(shop, job, by=who["Ana"], now=phone.now)


def _one_fault(job: jobs.Job) -> dict[str, str]:
    """The last check that can be answered badly, with its first bad answer."""
    for task in reversed(job.sheet["tasks"]):
        bad = [a["id"] for a in task["answer"] or [] if not a["ok"]]
        if bad and task["kind"] in ("check", "verify") and f"{task['id']}#1" not in job.state["done"]:
            return {task["step"]: bad[0]}
    return {}


def _faults(job: jobs.Job) -> list[Event]:
    open_now = {e for k, e in job.state["not_right"].items() if k not in job.state["accepted"]}
    return [e for e in job.log if e["id"] in open_now]


def _holding(shop: Shop, phone: DemoPhone, car: str, who: dict[str, str], start: int) -> str:
    """A job whose first coat is on and sets."""
    job = jobs.open_job(shop, car, [PROCEDURE], place="bay 1", by=who["Cleo"], now=start).id
    phone.now = max(phone.now, start)
    Walk(phone, job, [who["Ben"], who["Cleo"]], longest=HOUR).run()
    return job
