"""
The shop's own certificate authority and the server's certificate, so that phones get HTTPS without the internet.

The authority (P-256; may sign servers only, and only names and addresses of a local network) is made once and stays:
every phone of the shop trusts it for good. The server's certificate lasts 397 days. It is made anew whenever the
host's name or addresses changed, or fewer than 60 days are left. Fields as in RFC 5280.

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
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from bayflow.web.keys import CA_CERT, CA_KEY, LEAF_CERT, LEAF_KEY, KeysFault, read_cert, read_key, write_pair

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

LOCAL_NAMES = ("lan", "local", "localhost", "home.arpa")  # RFC 6762, RFC 6761, RFC 8375; "lan": common practice
PRIVATE_NETWORKS = tuple(  # RFC 1918, RFC 3927, RFC 1122; RFC 4193, RFC 4291
    ipaddress.ip_network(network)
    for network in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "127.0.0.0/8",
        "fc00::/7",
        "fe80::/10",
        "::1/128",
    )
)
CA_DAYS = 3650
LEAF_DAYS = 397
RENEW_DAYS = 60
EARLIEST = datetime(2026, 1, 1, tzinfo=UTC)
"""Before this, a clock is wrong: small computers without a battery start in 1970 until they have heard the time."""
_DAY = timedelta(days=1)


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


def is_local(address: Address) -> bool:
    """Whether the shop's CA may sign this address: one that only exists inside a network."""
    return any(address.version == network.version and address in network for network in PRIVATE_NETWORKS)


def _beneath(host: str, domain: str) -> bool:
    return host == domain or host.endswith("." + domain)


def new_ca(host: str, at: datetime) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    """A new authority for ten years that may sign only local names, private addresses and *host*."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"{host} shop, made {at:%Y-%m-%d}")
    names = list(LOCAL_NAMES) + ([] if any(_beneath(host, known) for known in LOCAL_NAMES) else [host])
    permitted = [*map(x509.DNSName, names), *map(x509.IPAddress, PRIVATE_NETWORKS)]
    start = at - _DAY  # a phone whose clock is a little behind must not refuse it
    certificate = (
        _builder(name, name, key.public_key(), start, start + CA_DAYS * _DAY)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(sign_certificates=True), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    return key, certificate


def new_leaf(
    ca_key: ec.EllipticCurvePrivateKey, ca: x509.Certificate, host: str, addresses: Iterable[Address], at: datetime
) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    """A certificate for the server at *host*, `localhost` and *addresses*, for 397 days or until the CA ends."""
    key = ec.generate_private_key(ec.SECP256R1())
    names: list[x509.GeneralName] = [x509.DNSName(name) for name in dict.fromkeys([host, "localhost"])]
    names += [x509.IPAddress(address) for address in addresses]
    start = max(at - _DAY, ca.not_valid_before_utc)
    end = min(start + LEAF_DAYS * _DAY, ca.not_valid_after_utc)
    certificate = (
        _builder(_name(host), ca.subject, key.public_key(), start, end)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(sign_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(ca_key.public_key()), critical=False)
        .sign(ca_key, hashes.SHA256())
    )
    return key, certificate


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
    if at < leaf.not_valid_before_utc or left <= timedelta() or (left < RENEW_DAYS * _DAY and not ends_with_ca):
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
            f"{ca.not_valid_before_utc + _DAY:%Y-%m-%d}: set the clock right and start again"
        )
    if at >= ca.not_valid_after_utc:
        raise KeysFault(
            f"the shop's certificate ended on {ca.not_valid_after_utc:%Y-%m-%d}: move the folder {keys} away and "
            "start again; each phone must then trust the new certificate once"
        )
    constraints = ca.extensions.get_extension_for_class(x509.NameConstraints).value
    names = [name.value for name in constraints.permitted_subtrees or [] if isinstance(name, x509.DNSName)]
    if not any(_beneath(host, name) for name in names):
        raise KeysFault(
            f"the shop's certificate may only vouch for names under {', '.join(names)}, not for {host}: keep such a "
            f"name, or move the folder {keys} away; each phone must then trust the new certificate once"
        )


def _name(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common[:64])])  # 64: RFC 5280, ub-common-name


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, start: datetime, end: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(end)
    )


def _usage(*, sign_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not sign_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=sign_certificates,
        crl_sign=sign_certificates,
        encipher_only=False,
        decipher_only=False,
    )
