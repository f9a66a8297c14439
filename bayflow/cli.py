"""The command line, `bayflow COMMAND …`: one function a command, from parsed arguments to an exit code."""

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from bayflow import __version__, cli_shop
from bayflow.procedure.check import check_paths
from bayflow.procedure.faults import errors


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Exit code 0: all is well; 1: something is wrong; 2: the command was not understood."""
    arguments = _parser().parse_args(argv)
    return int(arguments.run(arguments))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="bayflow", description="Order, waiting and proof for a vehicle-detailing shop."
    )
    parser.add_argument("--version", action="version", version=f"bayflow {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _add_check(commands)
    _add_rehearse(commands)
    _add_serve(commands)
    cli_shop.add(commands)
    return parser


def _add_check(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    check = commands.add_parser("check", help="check procedures, bodies and product sheets")
    check.add_argument("paths", nargs="+", type=Path, metavar="PATH", help="a file, or a folder with a library")
    check.set_defaults(run=run_check)


def run_check(arguments: argparse.Namespace) -> int:
    """`bayflow check PATH…`: print every fault; 1 if any of them is an error. Advice does not fail."""
    faults = check_paths(arguments.paths)
    for fault in faults:
        print(str(fault).encode("utf-8", "backslashreplace").decode("utf-8"))  # a file name may be no text at all
    wrong = len(errors(faults))
    advice = len(faults) - wrong
    print(f"{wrong} to put right, {advice} to think about", file=sys.stderr)
    return 1 if wrong else 0


def _add_rehearse(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    one = commands.add_parser("rehearse", help="walk a procedure through time: when is what, and who is there")
    one.add_argument("procedure", metavar="PROCEDURE", help="its id, or its file")
    one.add_argument("--body", metavar="BODY", help="the kind of car (saloon, if there are several)")
    one.add_argument("--start", metavar="TIME", help="'2026-07-14 08:00' shop time, or RFC 3339 (next opening)")
    one.add_argument("--people", type=int, default=1, metavar="N", help="how many work on it (1)")
    one.add_argument("--json", action="store_true", help="everything as JSON, times in ms UTC")
    one.add_argument("--data", type=Path, metavar="DIR", help="the shop's data: its procedures, hours, zone and units")
    one.add_argument("--hours", type=Path, metavar="FILE", help="hours as JSON: zone, staffed, closed")
    one.add_argument("--lang", metavar="LANG", help="language of the report (the shop's first)")
    one.set_defaults(run=run_rehearse)


def run_rehearse(arguments: argparse.Namespace) -> int:
    """`bayflow rehearse PROCEDURE`: print the rehearsal; 1 if the job can't be finished, or can't be rehearsed."""
    from bayflow.rehearse_command import Refused, rehearse_command

    try:
        code, text = rehearse_command(arguments, time.time_ns() // 1_000_000)
    except Refused as no:
        print(no, file=sys.stderr)
        return 1
    print(text, end="")
    return code


def _add_serve(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    serve = commands.add_parser("serve", help="serve the shop to its phones and its office")
    serve.add_argument("--data", type=Path, required=True, metavar="DIR", help="the shop's data; made if it is new")
    serve.add_argument("--local", action="store_true", help="for trying out: plain HTTP for this computer alone")
    serve.add_argument("--host", metavar="NAME", help="the shop's name on the network, fixed at the first start")
    serve.add_argument("--port", type=int, metavar="N", help="HTTPS port, fixed at the first start (8443, local 8000)")
    serve.add_argument("--http-port", type=int, default=8080, metavar="N", help="for the page that helps phones (8080)")
    serve.add_argument("--bind", default="0.0.0.0", metavar="ADDRESS", help="listen on this address only")
    serve.add_argument("--keys", type=Path, metavar="DIR", help="certificates and keys (beside the data: DIR.keys)")
    serve.add_argument("--no-announce", action="store_true", help="don't tell the name by multicast DNS")
    serve.add_argument("--link", action="store_true", help="print a code that pairs one more office computer")
    serve.set_defaults(run=run_serve)


def run_serve(arguments: argparse.Namespace) -> int:
    """`bayflow serve --data DIR`: serve until SIGTERM or Ctrl-C; 1 if it can't, with the reason."""
    from bayflow.web.serve import serve, serve_local

    options = {"link": arguments.link, "key_folder": arguments.keys}
    if arguments.local:
        return serve_local(arguments.data, port=arguments.port or 8000, options=options)
    return serve(
        arguments.data,
        host_name=arguments.host,
        https_port=arguments.port,
        http_port=arguments.http_port,
        keys=arguments.keys,
        bind=arguments.bind,
        announce=not arguments.no_announce,
        options=options,
    )
