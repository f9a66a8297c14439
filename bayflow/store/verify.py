"""
Prove a data folder against itself, and against a card kept elsewhere.

Reads only; works beside a running server, whose last unfinished line is then no fault. Order: ledger and registry, each
job with its seals, what the jobs name (sheets, photos), then every sheet, photo and private file.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from bayflow.store import chain, names, private, recovery
from bayflow.store.cards import Card, read_card
from bayflow.store.chain import Entry, Scan
from bayflow.store.data_folder import FORMAT
from bayflow.store.layout import Layout
from bayflow.store.lock import holder_of
from bayflow.store.log import WHAT, read_file
from bayflow.store.refs import erased_in, is_seal, photos_in, sheets_in

RESTORE = "restore this file, or the whole folder, from a backup that verifies"
RESTART = "start the server: it sets the broken end aside (.torn-…), and the phones send again what they hold"
TAMPERED = "compare with a backup: somebody or something has written here since"


@dataclass(frozen=True, slots=True)
class Problem:
    """
    One thing that is not as it should be: in which *file*, at which entry *seq* (None: the whole file), *what* is wrong
    and what *to_do* about it. *grave* is False where nothing kept here is wrong, only something is awaited.
    """

    file: str
    seq: int | None
    what: str
    to_do: str
    grave: bool = True

    def __str__(self) -> str:
        place = f"{self.file}:{self.seq}" if self.seq is not None else self.file
        return f"{place}: {self.what}; {self.to_do}"


@dataclass
class Checked:
    """What has been read so far and is needed further on."""

    at: Layout
    served: bool
    ledger: Scan
    registry: Scan
    seals: dict[str, list[Entry]] = field(default_factory=dict)
    erased: dict[tuple[str, str], Entry] = field(default_factory=dict)

    def name(self, path: Path) -> str:
        """*path* as a person finds it below the folder."""
        return str(path.relative_to(self.at.root))


def verify(folder: Path | str, card: str | None = None) -> list[Problem]:
    """
    All problems of the data folder, the first broken job and entry first; empty where all is proven.

    *card*: the text of a printed card's QR code, or its short line; a card that no longer fits is a problem.

    Raises BadEntry, BadName: *card* is no card.
    """
    wanted = read_card(card) if card is not None else None
    at = Layout(Path(folder))
    if not at.root.is_dir() or not at.jobs.is_dir():
        return [Problem(str(at.root), None, "is not a data folder", "name the folder that `bayflow serve` was given")]
    checked = _checked(at)
    problems = [*_format(at), *_books(checked)]
    if wanted is not None:
        problems += _card(checked, wanted)
    problems += _jobs(checked)
    problems += _sheets(checked)
    problems += _photos(checked)
    problems += _private(checked)
    return problems


def _checked(at: Layout) -> Checked:
    served = holder_of(at.root) is not None
    ledger = chain.scan(read_file(at.book("ledger")))
    registry = chain.scan(read_file(at.book("registry")))
    checked = Checked(at, served, ledger, registry)
    for entry in ledger.entries:
        if entry.get("type") == "seal":
            checked.seals.setdefault(str(entry.get("job")), []).append(entry)
    checked.erased = erased_in(registry.entries)
    return checked


def _format(at: Layout) -> Iterator[Problem]:
    said = read_file(at.root / "FORMAT")
    if said != FORMAT:
        yield Problem("FORMAT", None, f"says {said[:40]!r}, expected {FORMAT!r}", "restore FORMAT from a backup")


def _fault(checked: Checked, path: Path, found: Scan) -> Iterator[Problem]:
    """The fault that ends a file of record; an unfinished last line is none while a server writes."""
    fault = found.fault
    if fault is None:
        return
    if fault.kind == "torn" and checked.served and not _has_whole_line(path, fault.offset):
        return
    to_do = RESTART if fault.kind == "torn" else RESTORE
    yield Problem(checked.name(path), fault.seq, f"entry {WHAT[fault.kind]}", to_do)


def _has_whole_line(path: Path, offset: int) -> bool:
    return b"\n" in read_file(path)[offset:]


def _books(checked: Checked) -> Iterator[Problem]:
    for name, found in (("ledger", checked.ledger), ("registry", checked.registry)):
        yield from _fault(checked, checked.at.book(name), found)
    for entry in checked.ledger.entries:
        if entry.get("type") == "seal" and not is_seal(entry):
            yield Problem("ledger.jsonl", entry["seq"], "is a seal without job, n and head", TAMPERED)


def _card(checked: Checked, card: Card) -> Iterator[Problem]:
    path = checked.at.job(card.job)
    found = chain.scan(read_file(path), card.job)
    file = checked.name(path)
    if not path.exists():
        yield Problem(file, None, f"the card names {card.job}, which is not here", RESTORE)
    elif len(found.hashes) < card.n:
        yield Problem(
            file, len(found.hashes) + 1, f"the card was printed at entry {card.n}, later than all here", RESTORE
        )
    elif not card.fits(found.hashes[card.n - 1]):
        yield Problem(
            file, card.n, "the card carries another hash: the job was rewritten after it was printed", TAMPERED
        )
    if card.ledger_head is None or card.ledger_n == 0:
        return
    hashes = checked.ledger.hashes
    if len(hashes) < card.ledger_n:
        yield Problem("ledger.jsonl", len(hashes) + 1, f"the card was printed at ledger entry {card.ledger_n}", RESTORE)
    elif hashes[card.ledger_n - 1] != card.ledger_head:
        yield Problem(
            "ledger.jsonl", card.ledger_n, "the card carries another hash: the ledger was rewritten after it", TAMPERED
        )


def _jobs(checked: Checked) -> Iterator[Problem]:
    here = set()
    for job, _, _ in recovery.job_files(checked.at.jobs):
        here.add(job)
        path = checked.at.job(job)
        found = chain.scan(read_file(path), job)
        yield from _fault(checked, path, found)
        yield from _seals(checked, job, path, found)
        yield from _named(checked, job, path, found)
    for job, seals in checked.seals.items():
        if job not in here and names.is_job(job):
            path = checked.at.job(job)
            what = f"is not here although ledger entry {seals[0]['seq']} sealed it"
            yield Problem(checked.name(path), None, what, RESTORE)


def _seals(checked: Checked, job: str, path: Path, found: Scan) -> Iterator[Problem]:
    for seal in filter(is_seal, checked.seals.get(job, ())):
        n = seal["n"]
        if len(found.hashes) < n:
            if found.fault is None:
                what = f"entries to {n}, sealed by ledger entry {seal['seq']}, are not here"
                yield Problem(checked.name(path), len(found.hashes) + 1, what, RESTORE)
        elif n < 1 or found.hashes[n - 1] != seal["head"]:
            what = f"is another than the one sealed by ledger entry {seal['seq']}: the job was rewritten"
            yield Problem(checked.name(path), n, what, TAMPERED)


def _named(checked: Checked, job: str, path: Path, found: Scan) -> Iterator[Problem]:
    """Sheets are written before the event that names them; a photo may come later, until the job is sealed."""
    sealed = max((seal["n"] for seal in filter(is_seal, checked.seals.get(job, ()))), default=0)
    for event in found.entries:
        for digest in sheets_in(event):
            if not (names.is_digest(digest) and (checked.at.sheets / f"{digest}.json").is_file()):
                yield Problem(
                    checked.name(path), event["seq"], f"names sheet {digest[:16]}…, which is not here", RESTORE
                )
        for digest in photos_in(event):
            if not _photo_is_explained(checked, digest):
                what = f"names photo {digest[:16]}…, which is not here and whose erasure is not logged"
                to_do = "let the phone that took it come near the shop's network, else " + RESTORE
                yield Problem(checked.name(path), event["seq"], what, to_do, grave=event["seq"] <= sealed)


def _photo_is_explained(checked: Checked, digest: str) -> bool:
    """Is the photo here, or its erasure logged? Looks anew, because beside a server both may have come since."""
    if not names.is_digest(digest):
        return False
    if any(checked.at.photos.glob(f"*/{digest}.jpg")):
        return True
    if ("photo", digest) not in checked.erased and checked.served:
        checked.erased = erased_in(chain.scan(read_file(checked.at.book("registry"))).entries)
    return ("photo", digest) in checked.erased


def _sheets(checked: Checked) -> Iterator[Problem]:
    for path in sorted(checked.at.sheets.glob("*.json")):
        yield from _content(checked, path)


def _photos(checked: Checked) -> Iterator[Problem]:
    for path in sorted(checked.at.photos.glob("*/*.jpg")):
        yield from _content(checked, path)
        if ("photo", path.stem) in checked.erased:
            yield _unerased(checked, path, checked.erased["photo", path.stem])


def _content(checked: Checked, path: Path) -> Iterator[Problem]:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return  # erased since we looked
    if chain.sha256(data) != path.stem:
        yield Problem(checked.name(path), None, "does not have the content that its name is the hash of", RESTORE)


def _private(checked: Checked) -> Iterator[Problem]:
    for kind in names.KINDS:
        for path in sorted((checked.at.private / kind).glob("*.json")):
            data = read_file(path)
            if data and private.unwrapped(data) is None:
                yield Problem(checked.name(path), None, "is not as it was written", RESTORE)
            if (kind, path.stem) in checked.erased:
                yield _unerased(checked, path, checked.erased[kind, path.stem])


def _unerased(checked: Checked, path: Path, entry: Entry) -> Problem:
    what = f"is here although registry entry {entry['seq']} says it was erased"
    return Problem(checked.name(path), None, what, "erase it again, in the office or by removing the file", grave=False)
