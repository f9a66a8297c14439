"""`bayflow serve`: the shop, to its phones and its office."""

import argparse
from pathlib import Path

from bayflow.commands.speech import Commands


def add(commands: Commands) -> None:
    """Add this command to the parser."""
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
    serve.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
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
