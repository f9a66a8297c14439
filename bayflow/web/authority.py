"""
The fields of the shop's two certificates, as RFC 5280 has them: the authority and the server's.

Pure but for the random keys: what to make comes in, key and certificate go out. `certificate` decides when.
"""

import ipaddress
from collections.abc import Iterable
from datetime import datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

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
DAY = timedelta(days=1)


def is_local(address: Address) -> bool:
    """Whether the shop's CA may sign this address: one that only exists inside a network."""
    return any(address.version == network.version and address in network for network in PRIVATE_NETWORKS)


def beneath(host: str, domain: str) -> bool:
    """Whether a host name is a domain or lies under it."""
    return host == domain or host.endswith("." + domain)


def new_ca(host: str, at: datetime) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    """A new authority for ten years that may sign only local names, private addresses and *host*."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"{host} shop, made {at:%Y-%m-%d}")
    names = list(LOCAL_NAMES) + ([] if any(beneath(host, known) for known in LOCAL_NAMES) else [host])
    permitted = [*map(x509.DNSName, names), *map(x509.IPAddress, PRIVATE_NETWORKS)]
    start = at - DAY  # a phone whose clock is a little behind must not refuse it
    certificate = (
        _builder(name, name, key.public_key(), start, start + CA_DAYS * DAY)
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
    start = max(at - DAY, ca.not_valid_before_utc)
    end = min(start + LEAF_DAYS * DAY, ca.not_valid_after_utc)
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


def permitted_names(ca: x509.Certificate) -> list[str]:
    """The domains that an authority may vouch for."""
    constraints = ca.extensions.get_extension_for_class(x509.NameConstraints).value
    return [name.value for name in constraints.permitted_subtrees or [] if isinstance(name, x509.DNSName)]


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
