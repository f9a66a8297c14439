"""`bayflow rehearse`: what happens when, the holds, the earliest hand-over."""

import argparse
import sys
from pathlib import Path

from bayflow.commands.speech import Commands, now


def add(commands: Commands) -> None:
    """Add this command to the parser."""
    one = commands.add_parser("rehearse", help="walk a procedure through time: when is what, and who is there")
    one.add_argument("procedure", metavar="PROCEDURE", nargs="+", help="ids in one job, or one file")
    one.add_argument("--body", metavar="BODY", help="the kind of car (saloon, if there are several)")
    one.add_argument("--start", metavar="TIME", help="'2026-07-14 08:00' shop time, or RFC 3339 (next opening)")
    one.add_argument("--people", type=int, default=1, metavar="N", help="how many work on it (1)")
    one.add_argument("--json", action="store_true", help="everything as JSON, times in ms UTC")
    one.add_argument("--data", type=Path, metavar="DIR", help="the shop's data: its procedures, hours, zone and units")
    one.add_argument("--hours", type=Path, metavar="FILE", help="hours as JSON: zone, staffed, closed")
    one.add_argument("--lang", metavar="LANG", help="language of the report (the shop's first)")
    one.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """`bayflow rehearse PROCEDURE`: print the rehearsal; 1 if the job can't be finished, or can't be rehearsed."""
    from bayflow.commands.rehearsing import Refused, rehearsal_of

    try:
        code, text = rehearsal_of(arguments, now())
    except Refused as no:
        sys.stderr.write(f"{no}\n")
        return 1
    sys.stdout.write(text)
    return code
