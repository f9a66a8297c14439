"""`bayflow demo`: an invented shop, made once and served."""

import argparse
from pathlib import Path

from bayflow.commands.speech import Commands, complain, now, say, saying
from bayflow.paths import LIBRARY

MARK = "DEMO"


def add(commands: Commands) -> None:
    """Add this command to the parser."""
    demo = commands.add_parser("demo", help="make an invented shop and serve it, for trying out")
    demo.add_argument(
        "--data", type=Path, default=Path("demo-data"), metavar="DIR", help="where it is kept (demo-data)"
    )
    demo.add_argument("--network", action="store_true", help="serve HTTPS to phones on this network, not only locally")
    demo.add_argument("--port", type=int, metavar="N", help="the port (8000; with --network 8443)")
    demo.add_argument("--http-port", type=int, default=8080, metavar="N", help="with --network: the help page (8080)")
    demo.set_defaults(run=saying(run_demo))


def run_demo(arguments: argparse.Namespace) -> int:
    """`bayflow demo`: make the invented shop if it is not there yet, then serve it."""
    from bayflow.web.serve import serve, serve_local

    folder: Path = arguments.data
    if not folder.exists():
        say(["Making an invented shop: people, cars, a finished job, one in its hold, one ready to start …"])
        _make_demo(folder)
    elif not (folder / MARK).exists():
        return complain(f"{folder} holds something else than a demo; name another folder with --data")
    say((folder / MARK).read_text("utf-8").splitlines())
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
    store = FileStore(scratch, summarise=jobs.summarise, opened_at=now())
    try:
        procedures.install(LIBRARY, scratch / "procedures")
        made = demo.make(Shop(store, scratch / "procedures", random_id), now=now())
    finally:
        store.close()
    lines = ["Everything in this shop is invented. Sign in as:"]
    lines += [f"  {name}, PIN {pin}" for name, pin in made.pins.items()]
    (scratch / MARK).write_text("\n".join(lines) + "\n", "utf-8")
    scratch.rename(folder)
