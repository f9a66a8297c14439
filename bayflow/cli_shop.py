"""Commands about a shop's data: demo, verify, backup, restore, audit. Thin: parse, call, say."""

import argparse
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from bayflow.paths import LIBRARY
from bayflow.shop.errors import ShopError
from bayflow.store.errors import StoreError

Commands = Any  # argparse keeps the type of its sub-parsers to itself
DEMO_MARK = "DEMO"


def add(commands: Commands) -> None:
    """Add these commands to the parser."""
    demo = commands.add_parser("demo", help="make an invented shop and serve it, for trying out")
    demo.add_argument(
        "--data", type=Path, default=Path("demo-data"), metavar="DIR", help="where it is kept (demo-data)"
    )
    demo.add_argument("--network", action="store_true", help="serve HTTPS to phones on this network, not only locally")
    demo.add_argument("--port", type=int, metavar="N", help="the port (8000; with --network 8443)")
    demo.add_argument("--http-port", type=int, default=8080, metavar="N", help="with --network: the help page (8080)")
    demo.set_defaults(run=_saying(run_demo))

    verify = commands.add_parser("verify", help="prove every file of the record, and a printed card against it")
    verify.add_argument("data", type=Path, metavar="DATA", help="the shop's data folder; it may be served meanwhile")
    verify.add_argument("--card", metavar="TEXT", help="the text of a printed card's code, or its short line")
    verify.set_defaults(run=_saying(run_verify))

    backup = commands.add_parser("backup", help="copy the shop's data, while it is served, and prove the copy")
    backup.add_argument("data", type=Path, metavar="DATA")
    backup.add_argument("target", type=Path, metavar="TARGET", help="a new folder, or an earlier backup to continue")
    backup.set_defaults(run=_saying(run_backup))

    restore = commands.add_parser("restore", help="put a backup in the place of the data, once it is proven")
    restore.add_argument("backup", type=Path, metavar="BACKUP")
    restore.add_argument("data", type=Path, metavar="DATA")
    restore.add_argument("--accept", action="store_true", help="take it with the faults that it has")
    restore.set_defaults(run=_saying(run_restore))

    audit = commands.add_parser("audit", help="compute the findings of an exported job anew, and prove the export")
    audit.add_argument("file", type=Path, metavar="FILE.jsonl", help="a job exported as JSON lines")
    audit.set_defaults(run=_saying(run_audit))


def run_demo(arguments: argparse.Namespace) -> int:
    """`bayflow demo`: make the invented shop if it is not there yet, then serve it."""
    from bayflow.web.serve import serve, serve_local

    folder: Path = arguments.data
    if not folder.exists():
        _say(["Making an invented shop: people, cars, a finished job, one in its hold, one ready to start …"])
        _make_demo(folder)
    elif not (folder / DEMO_MARK).exists():
        return _complain(f"{folder} holds something else than a demo; name another folder with --data")
    _say((folder / DEMO_MARK).read_text("utf-8").splitlines())
    options = {"link": True}
    if arguments.network:
        return serve(folder, https_port=arguments.port, http_port=arguments.http_port, options=options)
    return serve_local(folder, port=arguments.port or 8000, options=options)


def _make_demo(folder: Path) -> None:
    """Make it beside its place and move it there, so that a broken start leaves nothing half-made."""
    import shutil

    from bayflow.shop import demo, jobs, procedures
    from bayflow.shop.context import Shop
    from bayflow.store import FileStore
    from bayflow.web.app import random_id

    scratch = folder.with_name(folder.name + ".new")
    shutil.rmtree(scratch, ignore_errors=True)
    store = FileStore(scratch, summarise=jobs.summarise, opened_at=_now())
    try:
        procedures.install(LIBRARY, scratch / "procedures")
        made = demo.make(Shop(store, scratch / "procedures", random_id), now=_now())
    finally:
        store.close()
    lines = ["Everything in this shop is invented. Sign in as:"]
    lines += [f"  {name}, PIN {pin}" for name, pin in made.pins.items()]
    (scratch / DEMO_MARK).write_text("\n".join(lines) + "\n", "utf-8")
    scratch.rename(folder)


def run_verify(arguments: argparse.Namespace) -> int:
    """`bayflow verify DATA [--card TEXT]`: 0 if all is proven, 1 with the first broken job and event first."""
    from bayflow.store.verify import verify

    return _judged(verify(arguments.data, arguments.card), f"{arguments.data}: all is as it was written")


def run_backup(arguments: argparse.Namespace) -> int:
    """`bayflow backup DATA TARGET`: copy and prove."""
    from bayflow.store.backup import backup

    return _judged(backup(arguments.data, arguments.target), f"{arguments.target}: a proven copy of {arguments.data}")


def run_restore(arguments: argparse.Namespace) -> int:
    """`bayflow restore BACKUP DATA`: prove, then replace; the replaced folder is kept."""
    from bayflow.store.backup import restore

    kept = restore(arguments.backup, arguments.data, _now(), accept=arguments.accept)
    _say([f"{arguments.data} is the backup now" + (f"; what was there is kept in {kept}" if kept else "")])
    _say(["Start the server: the phones send again what they hold and this copy lacks."])
    return 0


def run_audit(arguments: argparse.Namespace) -> int:
    """`bayflow audit FILE.jsonl`: print the findings as the file's events give them; 1 if the file is not whole."""
    from bayflow.shop.export import recheck

    with arguments.file.open(encoding="utf-8") as lines:
        found = recheck(lines)
    for one in found:
        decided = f", decided by {one['decided']}" if one["decided"] else ""
        _say(
            [
                f"{one['grade']}: {one['code']} {one['task'] or ''}{decided}".rstrip(),
                f"  proof: {', '.join(one['events'])}",
            ]
        )
    _say([f"{len(found)} findings, the same as the file names; sheets, events and head are proven"])
    return 0


def _judged(problems: Iterable[Any], good: str) -> int:
    problems = list(problems)
    _say(str(problem) for problem in problems)
    grave = [problem for problem in problems if problem.grave]
    if not grave:
        _say([good])
    return 1 if grave else 0


def _saying(run: Callable[[argparse.Namespace], int]) -> Callable[[argparse.Namespace], int]:
    """*run*, with what is wrong said in one line on stderr instead of a traceback."""

    def safe(arguments: argparse.Namespace) -> int:
        try:
            return run(arguments)
        except (ShopError, StoreError, OSError, UnicodeDecodeError) as no:
            return _complain(str(no))

    return safe


def _complain(sentence: str) -> int:
    sys.stderr.write(f"bayflow: {sentence}\n")
    return 1


def _say(lines: Iterable[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)
    sys.stdout.flush()


def _now() -> int:
    return time.time_ns() // 1_000_000
