"""
The folder of the shop's keys, beside the data folder and not in it: a copied or synced data folder carries no key.

`ca.key` and `ca.pem` are the shop's authority, `server.key` and `server.pem` the server's certificate,
`address.txt` the fixed address. Folder mode 0700, files 0600.
"""

import os
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

CA_KEY, CA_CERT = "ca.key", "ca.pem"
LEAF_KEY, LEAF_CERT = "server.key", "server.pem"


class KeysFault(Exception):
    """The shop's keys can't be used; the message says which file, why, and what to do."""


def default_folder(data: Path) -> Path:
    """Where the keys of a data folder are: `NAME.keys` beside `NAME`."""
    data = data.resolve()
    return data.with_name(data.name + ".keys")


def write_pair(
    keys: Path, key_name: str, cert_name: str, key: ec.EllipticCurvePrivateKey, cert: x509.Certificate
) -> None:
    """Write a key (PKCS#8, which the server asks for) and its certificate. Raises `KeysFault`."""
    write_private(keys, key_name, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    write_private(keys, cert_name, cert.public_bytes(Encoding.PEM))


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


def read_cert(path: Path) -> x509.Certificate:
    """The certificate in a PEM file. Raises `KeysFault`."""
    try:
        return x509.load_pem_x509_certificate(_read(path))
    except ValueError as damaged:
        raise _damaged(path, "certificate") from damaged


def read_key(path: Path) -> ec.EllipticCurvePrivateKey:
    """The private key in a PEM file. Raises `KeysFault`."""
    try:
        key = load_pem_private_key(_read(path), password=None)
    except (ValueError, TypeError) as damaged:
        raise _damaged(path, "private key") from damaged
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise _damaged(path, "private key of bayflow (P-256)")
    return key


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as failed:
        raise KeysFault(f"can't read {path}: {failed.strerror or failed}; put it back from a backup") from failed


def _damaged(path: Path, kind: str) -> KeysFault:
    return KeysFault(f"{path} is damaged: it holds no {kind}; put it back from a backup")
