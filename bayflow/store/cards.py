"""
What a printed job card carries: the head of the job and of the ledger, held outside this computer.

A chain alone proves nothing against whoever owns the disk; a card that somebody else keeps does.
"""

import base64
import json
import re
from dataclasses import dataclass
from typing import Any

from bayflow.store import names
from bayflow.store.errors import BadEntry
from bayflow.store.protocol import Store

SHORT = re.compile(r"[A-Z2-7]{4}(-[A-Z2-7]{4}){3}", re.ASCII)
_HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)


def short(head: str) -> str:
    """The first 80 bits of the hash *head* for the eye: 16 base32 characters (RFC 4648) in groups of four."""
    text = base64.b32encode(bytes.fromhex(head)[:10]).decode("ascii")
    return "-".join(text[at : at + 4] for at in range(0, 16, 4))


def card(store: Store, job: str) -> dict[str, Any]:
    """The card of *job* as it stands: {job, n, head, ledger_n, ledger_head}. Raises as `Store.head`."""
    head, ledger = store.head(job), store.ledger_head()
    return {"job": job, "n": head.n, "head": head.hash, "ledger_n": ledger.n, "ledger_head": ledger.hash}


def card_text(card: dict[str, Any]) -> str:
    """A card as the text of its QR code: canonical JSON."""
    return json.dumps(card, sort_keys=True, separators=(",", ":"))


def card_short(card: dict[str, Any]) -> str:
    """A card as a line to read aloud and type: `J-20260714-0007:213:ABCD-EFGH-IJKL-MNOP`."""
    return f"{card['job']}:{card['n']}:{short(card['head'])}"


@dataclass(frozen=True, slots=True)
class Card:
    """A card as read back: `head` in full or `short_head` only; the ledger's part may be absent (n 0, head None)."""

    job: str
    n: int
    short_head: str
    head: str | None = None
    ledger_n: int = 0
    ledger_head: str | None = None

    def fits(self, head: str) -> bool:
        """Is *head* the hash that the card carries, as far as it carries it?"""
        return head == self.head if self.head is not None else short(head) == self.short_head


def read_card(text: str) -> Card:
    """
    A card from its QR text or its short line; spaces and small letters are forgiven in the short line.

    Raises BadEntry, BadName: says what a card looks like.
    """
    text = text.strip()
    return _from_json(text) if text.startswith("{") else _from_line(text)


def _from_line(text: str) -> Card:
    job, _, rest = "".join(text.split()).upper().partition(":")
    number, _, shown = rest.partition(":")
    names.job_id(job)
    if not (number.isascii() and number.isdigit()) or SHORT.fullmatch(shown) is None:
        raise _unreadable()
    return Card(job, int(number), shown)


def _from_json(text: str) -> Card:
    try:
        said = json.loads(text)
        job, n, head = names.job_id(said["job"]), said["n"], said["head"]
        ledger_n, ledger_head = said.get("ledger_n", 0), said.get("ledger_head")
    except (ValueError, KeyError, TypeError, RecursionError):
        raise _unreadable() from None
    heads = [head] if ledger_head is None else [head, ledger_head]
    if any(type(each) is not str or _HASH.fullmatch(each) is None for each in heads):
        raise _unreadable()
    if type(n) is not int or type(ledger_n) is not int or n < 1 or ledger_n < 0:
        raise _unreadable()
    return Card(job, n, short(head), head, ledger_n, ledger_head)


def _unreadable() -> BadEntry:
    return BadEntry(
        "of a card",
        "it is not a job card; expected the text of its QR code, or a line such as "
        "J-20260714-0007:213:ABCD-EFGH-IJKL-MNOP",
    )
