"""
The folder of the shop's keys, beside the data folder and not in it: a copied or synced data folder carries no key.

`ca.key` and `ca.pem` are the shop's authority, `server.key` and `server.pem` the server's certificate,
`address.txt` the fixed address. Folder mode 0700, files 0600.
"""

import os
import re
from pathlib import Path

DEFAULT_HOST, DEFAULT_PORT = "bay.local", 8443
ADDRESS = "address.txt"
CA_KEY, CA_CERT = "ca.key", "ca.pem"
LEAF_KEY, LEAF_CERT = "server.key", "server.pem"

LABEL_ROOM = 67 - len("HTTPS://:/V/") - 26  # characters for name and port; see labels.label_address
_PART = "[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"  # RFC 1123
_HOST = re.compile(rf"{_PART}([.]{_PART})*")


class KeysFault(Exception):
    """The shop's keys can't be used; the message says which file, why, and what to do."""


def default_folder(data: Path) -> Path:
    """Where the keys of a data folder are: `NAME.keys` beside `NAME`."""
    data = data.resolve()
    return data.with_name(data.name + ".keys")


def fixed_address(keys: Path, host: str | None, port: int | None) -> tuple[str, int]:
    """
    The shop's address: at the first start what is asked for, or `bay.local` and 8443; from then on what was kept.

    Printed labels carry it and phones keep their unsent work under it, so another one is refused. Raises `KeysFault`.
    """
    path = keys / ADDRESS
    if not path.exists():
        host, port = (host or DEFAULT_HOST).lower().rstrip("."), port or DEFAULT_PORT
        fault = address_fault(host, port)
        if fault:
            raise KeysFault(fault)
        write_private(keys, ADDRESS, f"{host}:{port}\n".encode())
        return host, port
    kept, _, kept_port = read(path).decode("utf-8", "replace").strip().rpartition(":")
    if not kept_port.isdecimal() or address_fault(kept, int(kept_port)):
        raise KeysFault(f"{path} must hold one line like {DEFAULT_HOST}:{DEFAULT_PORT}; put it back from a backup")
    if (host or kept).lower().rstrip(".") != kept or (port or int(kept_port)) != int(kept_port):
        raise KeysFault(
            f"this shop's address was fixed at its first start: {kept}:{kept_port}. Labels carry it and phones keep "
            f"their work under it. Start without another name or port; if no label and no phone uses it yet, "
            f"remove {path} and start again"
        )
    return kept, int(kept_port)


def address_fault(host: str, port: int) -> str | None:
    """Why this can't be the shop's address, as a sentence; None if it can."""
    if not _HOST.fullmatch(host) or all(part.isdecimal() for part in host.split(".")):
        return f"{host!r} can't be the shop's name: use letters, figures and hyphens, like {DEFAULT_HOST}"
    if not 0 < port < 65536:
        return f"port {port}: a port is a number from 1 to 65535"
    spare = LABEL_ROOM - len(str(port))
    return f"{host!r} is too long for a label: it has room for {spare} characters" if len(host) > spare else None


def write_private(keys: Path, name: str, content: bytes) -> None:
    """Write one file whole or not at all, readable by its owner only. Raises `KeysFault`."""
    part = keys / f"{name}.part"
    try:
        keys.mkdir(mode=0o700, parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(keys / name)
    except OSError as failed:
        raise KeysFault(
            f"can't write {keys / name}: {failed.strerror or failed}; bayflow keeps the keys there"
        ) from failed


def read(path: Path) -> bytes:
    """A file of the folder. Raises `KeysFault`."""
    try:
        return path.read_bytes()
    except OSError as failed:
        raise KeysFault(f"can't read {path}: {failed.strerror or failed}; put it back from a backup") from failed
