"""What a customer may see of a car: what was done, until when to wait for what, and the head of the record.

No names, plates or contacts. Addressed by the unguessable code on the label.
"""

from dataclasses import dataclass

from bayflow.job.sheet import key
from bayflow.shop import jobs, settings, vehicles, words
from bayflow.shop.context import Shop
from bayflow.shop.jobs import Job
from bayflow.store.cards import short


@dataclass(frozen=True, kw_only=True)
class Care:
    """One piece of after-care: `until` (ms UTC) is when it is over, or None for advice without a date."""

    id: str
    words: str
    until: int | None


@dataclass(frozen=True, kw_only=True)
class Work:
    """One released job in words for a customer."""

    job: str
    released: int
    titles: list[str]
    parts: list[str]
    places: int
    left_out: list[str]
    products: list[str]
    care: list[Care]
    n: int
    head: str
    short_head: str


@dataclass(frozen=True, kw_only=True)
class Card:
    """A car's card. `running` is the title of a job in work, or ""; `zone` is for showing times."""

    code: str
    short_code: str
    body: str
    shop_name: str
    shop_place: str
    zone: str
    running: str
    works: list[Work]


def card(shop: Shop, code: str, *, now: int, lang: str = "en") -> Card:
    """The card of the car with this label code (26 characters; the short code is for the shop). Raises NotFound."""
    if len(code.strip()) != 26:
        code = ""
    car = vehicles.by_code(shop, code)
    rows = jobs.of_vehicle(shop, car.id)
    known = settings.current(shop)
    found = jobs.loaded(shop, [row["job"] for row in rows])
    running = [job for job in found if not job.state["released"]]
    return Card(
        code=car.code, short_code=car.short_code, body=car.body, shop_name=known["name"], shop_place=known["place"],
        zone=known["zone"], running=running[0].title(lang) if running else "",
        works=[work(job, lang) for job in found if job.state["released"]],
    )  # fmt: skip


def work(job: Job, lang: str = "en") -> Work:
    """One released job for the card and the hand-over sheet."""
    state = job.state
    released = next(e for e in job.log if e["id"] == state["released"])
    done = [t for t in job.sheet["tasks"] if key(t["id"], state["attempts"].get(t["id"], 1)) in state["done"]]
    parts = {t["part"] for t in done}
    return Work(
        job=job.id, released=released["at"], titles=[job.text(p["title"], lang) for p in job.sheet["procedures"]],
        parts=[job.text(p["title"], lang) for p in job.sheet["parts"] if p["id"] in parts],
        places=len({t["place"] for t in done if "coat" in t["traits"]}),
        left_out=[words.task(job, k, lang) for k in state["left_out"]],
        products=sorted({job.text(job.sheet["products"][p]["title"], lang) for p in _products(job, done)}),
        care=care(job, lang), n=job.head.n, head=job.head.hash, short_head=short(job.head.hash),
    )  # fmt: skip


def care(job: Job, lang: str = "en") -> list[Care]:
    """After-care of the products really used, counted from the last time each was used."""
    state = job.state
    last: dict[str, int] = {}
    for task in job.sheet["tasks"]:
        done = state["done"].get(key(task["id"], state["attempts"].get(task["id"], 1)))
        if done:
            for product in _used(task):
                last[product] = max(done["t"], last.get(product, 0))
    found = []
    for product, since in last.items():
        for one in job.sheet["products"].get(product, {}).get("aftercare", []):
            until = since + one["least"] if one["least"] else None
            found.append(Care(id=f"{product}.{one['id']}", words=job.text(one["text"], lang), until=until))
    return sorted(found, key=lambda c: (c.until or 0, c.id))


def _products(job: Job, tasks: list[dict[str, object]]) -> set[str]:
    return {p for t in tasks for p in _used(t) if p in job.sheet["products"]}


def _used(task: dict[str, object]) -> list[str]:
    return [str(u["product"]) for name in ("use", "mix") for u in task[name]]  # type: ignore[attr-defined]
