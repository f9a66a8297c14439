"""Commands about the files of record: verify, backup, restore, audit."""

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from bayflow.commands.speech import Commands, now, say, saying


def add(commands: Commands) -> None:
    """Add these commands to the parser."""
    verify = commands.add_parser("verify", help="prove every file of the record, and a printed card against it")
    verify.add_argument("data", type=Path, metavar="DATA", help="the shop's data folder; it may be served meanwhile")
    verify.add_argument("--card", metavar="TEXT", help="the text of a printed card's code, or its short line")
    verify.set_defaults(run=saying(run_verify))

    backup = commands.add_parser("backup", help="copy the shop's data, while it is served, and prove the copy")
    backup.add_argument("data", type=Path, metavar="DATA")
    backup.add_argument("target", type=Path, metavar="TARGET", help="a new folder, or an earlier backup to continue")
    backup.set_defaults(run=saying(run_backup))

    restore = commands.add_parser("restore", help="put a backup in the place of the data, once it is proven")
    restore.add_argument("backup", type=Path, metavar="BACKUP")
    restore.add_argument("data", type=Path, metavar="DATA")
    restore.add_argument("--accept", action="store_true", help="take it with the faults that it has")
    restore.set_defaults(run=saying(run_restore))

    audit = commands.add_parser("audit", help="compute the findings of an exported job anew, and prove the export")
    audit.add_argument("file", type=Path, metavar="FILE.jsonl", help="a job exported as JSON lines")
    audit.set_defaults(run=saying(run_audit))


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

    kept = restore(arguments.backup, arguments.data, now(), accept=arguments.accept)
    say([f"{arguments.data} is the backup now" + (f"; what was there is kept in {kept}" if kept else "")])
    say(["Start the server: the phones send again what they hold and this copy lacks."])
    return 0


def run_audit(arguments: argparse.Namespace) -> int:
    """`bayflow audit FILE.jsonl`: print the findings as the file's events give them; 1 if the file is not whole."""
    from bayflow.shop.export import recheck

    with arguments.file.open(encoding="utf-8") as lines:
        found = recheck(lines)
    for one in found:
        decided = f", decided by {one['decided']}" if one["decided"] else ""
        say(
            [
                f"{one['grade']}: {one['code']} {one['task'] or ''}{decided}".rstrip(),
                f"  proof: {', '.join(one['events'])}",
            ]
        )
    say([f"{len(found)} findings, the same as the file names; sheets, events and head are proven"])
    return 0


def _judged(problems: Iterable[Any], good: str) -> int:
    problems = list(problems)
    say(str(problem) for problem in problems)
    grave = [problem for problem in problems if problem.grave]
    if not grave:
        say([good])
    return 1 if grave else 0
