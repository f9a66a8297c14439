"""What stands on the shelf: bottles as they came, counted down by what finished steps use, put right by hand.

What a step used is the procedure's amount, so what is left is an estimate until somebody looks. A use is taken out of
the bottle that was opened first; with that empty, out of the next.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from bayflow.job.sheet import split
from bayflow.shop import jobs, procedures, registry, settings
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound
from bayflow.shop.jobs import Job

Use = tuple[int, str, int]
"""When (ms), which product, how many mL."""

LATEST = 200
"""So many jobs with the latest news are looked through for what they used."""
MOST_ML = 1_000_000
MOST_DAYS = 3650
DAY_MS = 86_400_000


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """One bottle or drum. `ml` were in it at `since` (ms), by size or by somebody's look; `left` is the estimate now.

    `expiry` and `opened` are dates or ""; `open_days` the days its label allows after opening, 0 if it says nothing.
    """

    id: str
    product: str
    batch: str
    ml: int
    since: int
    expiry: str
    opened: str
    open_days: int
    left: int = 0

    def stale(self, today: date) -> tuple[str, str] | None:
        """("expired" or "opened", the date that counts) where it must not be used any more."""
        if self.expiry and date.fromisoformat(self.expiry) < today:
            return "expired", self.expiry
        if self.opened and self.open_days:
            end = date.fromisoformat(self.opened) + timedelta(days=self.open_days)
            return ("opened", self.opened) if end < today else None
        return None


def arrived(
    shop: Shop, product: str, *, batch: str, ml: int, expiry: str, open_days: int, by: str, now: int
) -> None:  # fmt: skip
    """A bottle came in; without *open_days* it keeps as long after opening as its product's sheet says.

    Raises NotFound (product), Invalid naming every entry that cannot be.
    """
    known = procedures.library(shop).products.get(product)
    if known is None:
        raise NotFound(f"there is no product {product[:40]!r} in the shop's files")
    open_days = open_days or (known.opened or 0) // DAY_MS
    _check(batch=batch, ml=ml, expiry=expiry, opened="", open_days=open_days)
    facts = {"product": product, "batch": batch, "ml": ml, "since": now, "expiry": expiry, "opened": "",
             "open_days": open_days}  # fmt: skip
    registry.note(shop, "bottle-arrived", by=by, now=now, ref=shop.short_id("b"), **facts)


def put_right(
    shop: Shop, bottle_id: str, *, ml: int, expiry: str, opened: str, open_days: int, gone: bool, by: str, now: int
) -> None:  # fmt: skip
    """Somebody looked: *ml* are in it now; or it is *gone*. Raises NotFound, Invalid."""
    bottle(shop, bottle_id)
    _check(batch="", ml=ml, expiry=expiry, opened=opened, open_days=open_days, least=0)
    facts: dict[str, Any] = {"ml": ml, "since": now, "expiry": expiry, "opened": opened, "open_days": open_days}
    registry.note(shop, "bottle-changed", by=by, now=now, ref=bottle_id, active=not gone, **facts)


def bottle(shop: Shop, bottle_id: str) -> Bottle:
    """One bottle as it was written down. Raises NotFound."""
    found = next((one for one in _written(shop) if one.id == bottle_id), None)
    if found is None:
        raise NotFound("there is no such bottle on the shelf any more")
    return found


def shelf(shop: Shop, *, now: int) -> list[Bottle]:
    """Every bottle with what is left in it at *now*, by product and in the order in which they are used up."""
    written = _written(shop)
    if not written:
        return []
    since = min(one.since for one in written)
    rows = [row for row in shop.store.latest(LATEST) if not row["damaged"] and (row["last"] or 0) >= since]
    uses = [use for row in rows for use in _used_in(shop, row["job"], row["head"]) if use[0] <= now]
    return counted_down(written, uses, zone=settings.zone(shop))


def used(job: Job) -> tuple[Use, ...]:
    """What every finished step of a job used, by its sheet."""
    return tuple(
        (done["t"], *one)
        for name, done in job.state["done"].items()
        if (task := job.index.tasks.get(split(name)[0]))
        for one in [(u["product"], u["ml"]) for u in task["use"]]
        + [(m["product"], m["product_ml"]) for m in task["mix"]]
    )


def _used_in(shop: Shop, job_id: str, head: str) -> tuple[Use, ...]:
    """`used` of one job, kept until its log has another *head*: no contact of a phone reads many jobs anew."""
    known = shop.cache.used.get(job_id)
    if known is None or known[0] != head:
        known = head, tuple(use for job in jobs.loaded(shop, [job_id]) for use in used(job))
        shop.cache.used[job_id] = known
    found: tuple[Use, ...] = known[1]
    return found


def counted_down(written: Iterable[Bottle], uses: Iterable[Use], *, zone: Any = UTC) -> list[Bottle]:
    """The bottles after *uses* of (ms, product, mL): each is taken from the first bottle that stood there by then."""
    left = {one.id: one.ml for one in written}
    opened: dict[str, str] = {}
    order = sorted(written, key=lambda one: (one.product, not one.opened, one.since, one.id))
    for t, product, ml in sorted(uses):
        for one in order:
            if one.product == product and one.since <= t and left[one.id] > 0 and ml > 0:
                taken = min(ml, left[one.id])
                left[one.id] -= taken
                ml -= taken
                opened.setdefault(one.id, datetime.fromtimestamp(t / 1000, zone).date().isoformat())
    return [replace(one, left=left[one.id], opened=one.opened or opened.get(one.id, "")) for one in order]


def left_of(found: Iterable[Bottle]) -> dict[str, int]:
    """Product → mL left, over all its bottles; a product without a bottle is not there, as nobody counts it."""
    sums: dict[str, int] = {}
    for one in found:
        sums[one.product] = sums.get(one.product, 0) + one.left
    return sums


def for_phones(shop: Shop, *, now: int) -> dict[str, list[list[str]]]:
    """Bottles that must not be used any more: product → [batch, "expired" or "opened", date]."""
    today = datetime.fromtimestamp(now / 1000, settings.zone(shop)).date()
    found: dict[str, list[list[str]]] = {}
    for one in shelf(shop, now=now):
        if why := one.stale(today):
            found.setdefault(one.product, []).append([one.batch, *why])
    return found


def _written(shop: Shop) -> list[Bottle]:
    facts = ("product", "batch", "ml", "since", "expiry", "opened", "open_days")
    entries = registry.read(shop).bottles.values()
    return [Bottle(id=e["id"], **{name: e[name] for name in facts}) for e in entries if e["active"]]


def _check(*, batch: str, ml: int, expiry: str, opened: str, open_days: int, least: int = 1) -> None:
    faults = [] if len(batch) <= 60 else ["batch: at most 60 characters"]
    if not least <= ml <= MOST_ML:
        faults.append(f"amount: from {least} mL to 1000 L")
    for name, day in (("use by", expiry), ("opened", opened)):
        if day and not _is_date(day):
            faults.append(f"{name}: a date such as 2027-01-31, or nothing")
    if not 0 <= open_days <= MOST_DAYS:
        faults.append(f"days after opening: from 0 to {MOST_DAYS}")
    if faults:
        raise Invalid(*faults)


def _is_date(text: str) -> bool:
    try:
        return len(text) == 10 and bool(date.fromisoformat(text))
    except ValueError:
        return False
