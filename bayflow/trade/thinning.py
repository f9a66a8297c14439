"""Which rows of a logger are kept: few, but never without a coldest, warmest, driest or dampest one."""

from collections.abc import Iterable, Sequence

BUCKET_MS = 1_800_000
"""Half an hour: four rows of it at most are kept, so two kept rows are less than an hour apart (our choice)."""

Row = tuple[int, int, int | None]
"""(ms, tenths of a °C, per mille of humidity or None)."""


def thin(rows: Sequence[Row]) -> list[Row]:
    """
    What is kept of *rows*, no two at one time: first and last, and of each half hour each value's lowest and highest.

    The earliest of equals stands for them. Rows come back by time, each once.
    """
    ordered = sorted(set(rows), key=lambda row: row[0])
    buckets: dict[int, list[Row]] = {}
    for row in ordered:
        buckets.setdefault(row[0] // BUCKET_MS, []).append(row)
    kept = {*ordered[:1], *ordered[-1:], *(row for bucket in buckets.values() for row in extremes(bucket))}
    return sorted(kept, key=lambda row: row[0])


def extremes(rows: Iterable[Row]) -> list[Row]:
    """The coldest, warmest, driest and dampest of *rows*, the earliest of equals, each row once, by time."""
    ordered = sorted(rows, key=lambda row: row[0])
    humid = [row for row in ordered if row[2] is not None]
    found = [min(ordered, key=lambda r: r[1]), max(ordered, key=lambda r: r[1])] if ordered else []
    found += [min(humid, key=lambda r: r[2] or 0), max(humid, key=lambda r: r[2] or 0)] if humid else []
    return sorted(set(found), key=lambda row: row[0])
