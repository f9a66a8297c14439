"""`bayflow check`: every fault of procedures, bodies and product sheets, in one run."""

import argparse
import sys
from pathlib import Path

from bayflow.commands.speech import Commands, say


def add(commands: Commands) -> None:
    """Add this command to the parser."""
    check = commands.add_parser("check", help="check procedures, bodies and product sheets")
    check.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file, or a folder with a library")
    check.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """`bayflow check PATH…`: print every fault; 1 if any of them is an error. Advice does not fail."""
    from bayflow.procedure.check import check_paths
    from bayflow.procedure.faults import errors

    faults = check_paths(arguments.paths)
    # a file name may be no text at all
    say(str(fault).encode("utf-8", "backslashreplace").decode("utf-8") for fault in faults)
    wrong = len(errors(faults))
    advice = len(faults) - wrong
    sys.stderr.write(f"{wrong} to put right, {advice} to think about\n")
    return 1 if wrong else 0
