"""The certificates and private keys in the keys' folder, as PEM files.

Apart from `keys`: a worker reads that folder too, and loading X.509 would cost each of its starts 66 ms.
"""

from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from bayflow.web.keys import KeysFault, read, write_private


def write_pair(
    keys: Path, key_name: str, cert_name: str, key: ec.EllipticCurvePrivateKey, cert: x509.Certificate
) -> None:
    """Write a key (PKCS#8, which the server asks for) and its certificate. Raises `KeysFault`."""
    write_private(keys, key_name, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    write_private(keys, cert_name, cert.public_bytes(Encoding.PEM))


def read_cert(path: Path) -> x509.Certificate:
    """The certificate in a PEM file. Raises `KeysFault`."""
    try:
        return x509.load_pem_x509_certificate(read(path))
    except ValueError as damaged:
        raise _damaged(path, "certificate") from damaged


def read_key(path: Path) -> ec.EllipticCurvePrivateKey:
    """The private key in a PEM file. Raises `KeysFault`."""
    try:
        key = load_pem_private_key(read(path), password=None)
    except (ValueError, TypeError) as damaged:
        raise _damaged(path, "private key") from damaged
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise _damaged(path, "private key of bayflow (P-256)")
    return key


def _damaged(path: Path, kind: str) -> KeysFault:
    return KeysFault(f"{path} is damaged: it holds no {kind}; put it back from a backup")
