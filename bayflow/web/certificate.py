"""
The shop's own certificate authority and the server's certificate, so that phones get HTTPS without the internet.

The authority (P-256; may sign servers only, and only names and addresses of a local network) is made once and stays:
every phone of the shop trusts it for good. The server's certificate lasts 397 days. It is made anew whenever the
host's name or addresses changed, or fewer than 60 days are left. Its fields are in `authority`.

Read `ensure` first; the files are in `keys`. Times are milliseconds UTC and come in as an argument.
"""

import hashlib
import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.serialization import Encoding

from bayflow.web.authority import DAY, Address, beneath, is_local, new_ca, new_leaf, permitted_names
from bayflow.web.keys import CA_CERT, CA_KEY, LEAF_CERT, LEAF_KEY, KeysFault
from bayflow.web.pem import read_cert, read_key, write_pair

RENEW_DAYS = 60
EARLIEST = datetime(2026, 1, 1, tzinfo=UTC)
"""Before this, a clock is wrong: small computers without a battery start in 1970 until they have heard the time."""


@dataclass(frozen=True, kw_only=True)
class Certificates:
    """What the server needs of its keys: where the files are, the CA for the phones, and what was just made."""

    leaf_cert: Path
    leaf_key: Path
    ca_der: bytes
    ca_pem: bytes
    made: tuple[str, ...]
    """What was just made and why: `first-start` (a new CA), then a reason of `why_renew`. Empty: nothing."""


def ensure(keys: Path, *, host: str, addresses: Iterable[Address], now: int) -> Certificates:
    """
    The shop's certificates in the folder *keys*, made or renewed where needed.

    Raises:
        KeysFault: the folder can't be written, the CA's files are damaged, it has ended, or it may not sign *host*.
    """
    at = datetime.fromtimestamp(now / 1000, UTC)
    if at < EARLIEST:
        raise KeysFault(f"this computer's clock says {at:%Y-%m-%d}: set it right and start again")
    made = []
    if not (keys / CA_CERT).exists() and not (keys / LEAF_CERT).exists():  # a lone key: the first start was cut off
        write_pair(keys, CA_KEY, CA_CERT, *new_ca(host, at))
        made.append("first-start")
    ca = read_cert(keys / CA_CERT)
    _check_ca(ca, keys, host, at)
    wanted = sorted({one for one in addresses if is_local(one)} | _LOOPBACK, key=str)
    reason = why_renew(keys, ca, host, wanted, at)
    if reason:
        write_pair(keys, LEAF_KEY, LEAF_CERT, *new_leaf(read_key(keys / CA_KEY), ca, host, wanted, at))
        made.append(reason)
    return Certificates(
        leaf_cert=keys / LEAF_CERT,
        leaf_key=keys / LEAF_KEY,
        ca_der=ca.public_bytes(Encoding.DER),
        ca_pem=ca.public_bytes(Encoding.PEM),
        made=tuple(made),
    )


_LOOPBACK: set[Address] = {ipaddress.IPv4Address("127.0.0.1"), ipaddress.IPv6Address("::1")}


def why_renew(keys: Path, ca: x509.Certificate, host: str, addresses: Iterable[Address], at: datetime) -> str | None:
    """Why the server's certificate must be made anew (missing, broken, host, addresses, age); None if it is good."""
    if not ((keys / LEAF_CERT).exists() and (keys / LEAF_KEY).exists()):
        return "missing"
    try:
        leaf, key = read_cert(keys / LEAF_CERT), read_key(keys / LEAF_KEY)
        leaf.verify_directly_issued_by(ca)
        names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (KeysFault, ValueError, TypeError, x509.ExtensionNotFound, InvalidSignature):
        return "broken"
    if key.public_key() != leaf.public_key():
        return "broken"
    if host not in names.get_values_for_type(x509.DNSName):
        return "host"
    if not set(addresses) <= set(names.get_values_for_type(x509.IPAddress)):
        return "addresses"
    left = leaf.not_valid_after_utc - at
    ends_with_ca = leaf.not_valid_after_utc >= ca.not_valid_after_utc  # a new one would end no later
    if at < leaf.not_valid_before_utc or left <= timedelta() or (left < RENEW_DAYS * DAY and not ends_with_ca):
        return "age"
    return None


def fingerprint(der: bytes) -> list[str]:
    """The SHA-256 of a certificate for the eye: four rows of eight pairs, as phones show it."""
    pairs = hashlib.sha256(der).hexdigest().upper()
    spaced = [pairs[at : at + 2] for at in range(0, len(pairs), 2)]
    return [" ".join(spaced[at : at + 8]) for at in range(0, len(spaced), 8)]


def _check_ca(ca: x509.Certificate, keys: Path, host: str, at: datetime) -> None:
    """Refuse a CA that can't sign *host* now, with what to do about it."""
    if read_key(keys / CA_KEY).public_key() != ca.public_key():
        raise KeysFault(f"{keys}: {CA_KEY} and {CA_CERT} don't belong together; put both back from one backup")
    if at < ca.not_valid_before_utc:
        raise KeysFault(
            f"this computer's clock says {at:%Y-%m-%d}, but the shop's certificate was made on "
            f"{ca.not_valid_before_utc + DAY:%Y-%m-%d}: set the clock right and start again"
        )
    if at >= ca.not_valid_after_utc:
        raise KeysFault(
            f"the shop's certificate ended on {ca.not_valid_after_utc:%Y-%m-%d}: move the folder {keys} away and "
            "start again; each phone must then trust the new certificate once"
        )
    names = permitted_names(ca)
    if not any(beneath(host, name) for name in names):
        raise KeysFault(
            f"the shop's certificate may only vouch for names under {', '.join(names)}, not for {host}: keep such a "
            f"name, or move the folder {keys} away; each phone must then trust the new certificate once"
        )
