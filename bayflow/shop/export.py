"""Exports of one job: JSON lines from which the findings can be computed anew elsewhere, and CSV for a spreadsheet."""

import csv
import io
import json
from collections.abc import Iterable
from typing import Any

from bayflow import __version__
from bayflow.job import canon
from bayflow.job.events import when
from bayflow.job.findings import Finding, findings
from bayflow.job.fold import fold
from bayflow.job.sheet import Index
from bayflow.shop import jobs, people, words
from bayflow.shop.audit import chain
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid

FORMAT = 1
ZERO = "0" * 64
_COLUMNS = ("seq", "time", "type", "tasks", "place", "words", "person", "noted_by", "phone", "value", "note", "marks",
            "recorded", "earliest", "latest", "id", "hash")  # fmt: skip


def json_lines(shop: Shop, job_id: str, *, now: int) -> str:
    """One job as JSON lines: a head, every sheet, every event with its hash, the seals, the findings at *now*.

    People are ids only. `recheck` reads it back.
    """
    job = jobs.load(shop, job_id)
    state = chain(shop, job)
    sheets = dict.fromkeys(e["data"]["sheet"] for e in job.log if e["type"] in ("job-opened", "sheet-changed"))
    lines: list[dict[str, Any]] = [
        {"line": "job", "format": FORMAT, "job": job.id, "core": __version__, "n": job.head.n, "head": job.head.hash,
         "exported": now, "zone": job.zone, "chain": "whole", "seals": state.seals, "seals_fit": state.fits},
        *({"line": "sheet", "hash": digest, "sheet": jobs.index(shop, digest).sheet} for digest in sheets),
        *({"line": "event", "hash": shop.store.hash_at(job.id, e["seq"]), "event": e} for e in job.log),
        {"line": "findings", "at": now, "findings": job.findings(now)},
    ]  # fmt: skip
    return "".join(json.dumps(line, ensure_ascii=True, separators=(",", ":")) + "\n" for line in lines)


def recheck(lines: Iterable[str]) -> list[Finding]:
    """The findings of an exported job, computed anew from its sheet and events alone.

    Proves the export first: sheets against their hashes, the events' chain, the head, the findings it came with.
    Raises Invalid with the first thing that does not fit, naming its line.
    """
    head: dict[str, Any] = {}
    sheets: dict[str, dict[str, Any]] = {}
    log: list[dict[str, Any]] = []
    said: dict[str, Any] = {}
    previous = ZERO
    for number, text in enumerate(lines, 1):
        if not text.strip():
            continue
        line = _line(number, text)
        match line.get("line"):
            case "job":
                head = line
            case "sheet":
                if canon.digest(line["sheet"]) != line["hash"]:
                    raise Invalid(f"line {number}: the sheet is not the one with hash {line['hash'][:16]}…")
                sheets[line["hash"]] = line["sheet"]
            case "event":
                previous = _chained(number, line, previous, len(log) + 1)
                log.append(line["event"])
            case "findings":
                said = line
            case other:
                raise Invalid(f"line {number}: {str(other)[:40]!r} is no part of an exported job")
    return _findings(head, sheets, log, said, previous)


def _line(number: int, text: str) -> dict[str, Any]:
    try:
        line = json.loads(text)
    except ValueError as no:
        raise Invalid(f"line {number}: is no JSON ({no})") from no
    wanted = {"job": {"n", "head", "format"}, "sheet": {"hash", "sheet"}, "event": {"hash", "event"},
              "findings": {"at", "findings"}}  # fmt: skip
    if not isinstance(line, dict) or not wanted.get(str(line.get("line")), set()) <= line.keys():
        raise Invalid(f"line {number}: is no line of an exported job")
    return line


def _chained(number: int, line: dict[str, Any], previous: str, seq: int) -> str:
    event = line["event"]
    if not isinstance(event, dict) or event.get("seq") != seq or event.get("prev") != previous:
        raise Invalid(f"line {number}: event {seq} does not follow the one before it")
    digest = canon.digest(event)
    if digest != line["hash"]:
        raise Invalid(f"line {number}: event {seq} is not the one with hash {str(line['hash'])[:16]}…")
    return digest


def _findings(
    head: dict[str, Any], sheets: dict[str, dict[str, Any]], log: list[dict[str, Any]], said: dict[str, Any], last: str
) -> list[Finding]:
    if not head or not log or not said:
        raise Invalid("the export is not whole: it needs its job line, its events and its findings line")
    if (head["n"], head["head"]) != (len(log), last):
        raise Invalid(f"the export names head {head['head'][:16]}… of {head['n']} events; the events give another")
    force = jobs.sheet_in_force(log)
    if force not in sheets:
        raise Invalid(f"the sheet {force[:16]}… that the events name is missing")
    index = Index(sheets[force])
    found = findings(index, fold(index, log), log, said["at"])
    if found != said["findings"]:
        raise Invalid("the findings that the export came with are not those that its events give")
    return found


def csv_text(shop: Shop, job_id: str, *, lang: str = "en", with_names: bool = False) -> str:
    """One job's events as CSV (RFC 4180), a line an event, times in RFC 3339 with the shop's offset.

    Cells that a spreadsheet might take for a formula are written with a leading apostrophe.
    """
    job = jobs.load(shop, job_id)
    names = people.names(shop) if with_names else {}
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(_COLUMNS)
    for event in job.log:
        data = event["data"]
        lo, hi = event["window"]
        table.writerow(_safe(cell) for cell in (
            event["seq"], words.rfc3339(when(event), job.zone), event["type"], " ".join(event["tasks"]),
            ", ".join(dict.fromkeys(k.rpartition("#")[0].rpartition("@")[2] for k in event["tasks"])),
            "; ".join(dict.fromkeys(words.task(job, k, lang) for k in event["tasks"][:3])),
            names.get(event["person"], event["person"]), names.get(event["noted_by"], event["noted_by"]),
            event["phone"], _value(job, data), data.get("note") or data.get("reason") or data.get("words") or "",
            " ".join(event["marks"]), words.rfc3339(event["recv"], job.zone), words.rfc3339(lo, job.zone),
            words.rfc3339(hi, job.zone), event["id"], shop.store.hash_at(job.id, event["seq"]),
        ))  # fmt: skip
    return out.getvalue()


def _value(job: jobs.Job, data: dict[str, Any]) -> str:
    if "reading" in data:
        return f"{data['reading']} {data['subject']}: {words.amount(job, data['reading'], data['value'])}"
    if "batch" in data:
        return f"{data['product']} batch {data['batch']} expiry {data['expiry']}"
    if "field" in data:
        return f"{data['field']}: {data['old']} → {data['new']}"
    return str(data.get("answer") or data.get("outcome") or "")


def _safe(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell
