"""The nursery's own certificates, for `serve --tls`: a local authority, which each phone is told to
trust once, and the book's certificate, which it signs and renews.

The authority speaks for nothing outside: it is limited to addresses and names of private networks
and to this machine (name constraints, RFC 5280, 4.2.1.10), so that a stolen key opens no bank.
"""

import os
import socket
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path
from typing import cast

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from django.conf import settings

AUTHORITY_LASTS = timedelta(days=3650)
# Phones refuse a certificate of a local authority that lasts longer than 825 days; half of that
# leaves a season to renew it in, in a book that is seldom restarted.
BOOK_LASTS = timedelta(days=397)
RENEWED_BEFORE = timedelta(days=60)
# What no network outside uses: RFC 1918, 3927, 6598, 4193, 4291, 6762, 8375, and ICANN's .internal.
PRIVATE_NETWORKS = [
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
    *("100.64.0.0/10", "fc00::/7", "fe80::/10", "::1/128"),
]
PRIVATE_NAMES = ["localhost", "local", "home.arpa", "internal"]


def folder() -> Path:
    return settings.DATA_DIR / "tls"


def authority() -> Path:
    """The certificate that phones are told to trust; it is there once `serve --tls` has run."""
    return folder() / "authority.pem"


def fingerprint() -> str:
    """The SHA-256 of the authority's certificate, in pairs, to be compared by eye."""
    found = _read(authority()).fingerprint(hashes.SHA256()).hex().upper()
    return " ".join(found[n : n + 4] for n in range(0, len(found), 4))


def for_phones() -> bytes:
    """The authority's certificate as both kinds of phones take it (DER)."""
    return _read(authority()).public_bytes(serialization.Encoding.DER)


def of_the_book(names: list[str], now: datetime | None = None) -> tuple[Path, Path]:
    """The book's certificate for these names and addresses, and its key: those in the data folder,
    or new ones where they are missing, soon over, or for other names. Phones have to trust anew
    only if the authority itself is over or may not speak for one of the names."""
    now = now or datetime.now(UTC)
    certificate, key = folder() / "book.pem", folder() / "book-key.pem"
    folder().mkdir(mode=0o700, exist_ok=True)
    if not _is_good(authority(), now + BOOK_LASTS) or not _may_sign(names):
        _make_authority(names, now)
        certificate.unlink(missing_ok=True)
    if not _is_good(certificate, now + RENEWED_BEFORE) or set(names) != _names(certificate):
        _sign(names, certificate, key, now)
    return certificate, key


def _make_authority(names: list[str], now: datetime) -> None:
    secret = ec.generate_private_key(ec.SECP256R1())
    called = _called(f"Strikebook of {socket.gethostname()}"[:64])
    more = [name for name in names if not _is_address(name) and not _is_below(name, PRIVATE_NAMES)]
    outside = [ip_network(name) for name in names if _is_address(name) and not _is_private(name)]
    limits = x509.NameConstraints(
        permitted_subtrees=[
            *(x509.DNSName(name) for name in [*PRIVATE_NAMES, *more]),
            *(x509.IPAddress(ip_network(network)) for network in PRIVATE_NETWORKS),
            *(x509.IPAddress(network) for network in outside),
        ],
        excluded_subtrees=None,
    )
    made = (
        _begun(called, called, secret, now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(limits, critical=True)
        .sign(secret, hashes.SHA256())
    )
    _write(folder() / "authority-key.pem", _key_bytes(secret))
    _write(authority(), made.public_bytes(serialization.Encoding.PEM))


def _sign(names: list[str], certificate: Path, key: Path, now: datetime) -> None:
    by = _read(authority())
    by_key = cast(
        ec.EllipticCurvePrivateKey,
        serialization.load_pem_private_key(
            (folder() / "authority-key.pem").read_bytes(), password=None
        ),
    )
    secret = ec.generate_private_key(ec.SECP256R1())
    known_as = x509.SubjectAlternativeName(
        [
            x509.IPAddress(ip_address(name)) if _is_address(name) else x509.DNSName(name)
            for name in names
        ]
    )
    made = (
        _begun(_called("Strikebook"), by.subject, secret, now, BOOK_LASTS)
        .add_extension(known_as, critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(by_key.public_key()), critical=False
        )
        .sign(by_key, hashes.SHA256())
    )
    _write(key, _key_bytes(secret))
    _write(certificate, made.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    secret: ec.EllipticCurvePrivateKey,
    now: datetime,
    lasts: timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(secret.public_key())
        .serial_number(x509.random_serial_number())
        # A day early, for phones whose clock is behind.
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now - timedelta(days=1) + lasts)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(secret.public_key()), False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _is_good(certificate: Path, until: datetime) -> bool:
    """Whether it is there, can be read, and holds until then."""
    try:
        return _read(certificate).not_valid_after_utc >= until
    except (OSError, ValueError):
        return False


def _may_sign(names: list[str]) -> bool:
    limits = _read(authority()).extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = limits.permitted_subtrees or []
    below = [one.value for one in permitted if isinstance(one, x509.DNSName)]
    networks = [one.value for one in permitted if isinstance(one, x509.IPAddress)]
    return all(
        any(ip_address(name) in network for network in networks)
        if _is_address(name)
        else _is_below(name, below)
        for name in names
    )


def _names(certificate: Path) -> set[str]:
    known_as = _read(certificate).extensions.get_extension_for_class(x509.SubjectAlternativeName)
    return {str(name.value) for name in known_as.value}


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


def _is_private(address: str) -> bool:
    return any(ip_address(address) in ip_network(network) for network in PRIVATE_NETWORKS)


def _is_below(name: str, domains: list[str]) -> bool:
    return any(name == domain or name.endswith(f".{domain}") for domain in domains)


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _read(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def _key_bytes(secret: ec.EllipticCurvePrivateKey) -> bytes:
    return secret.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _write(path: Path, content: bytes) -> None:
    """Whole or not at all, for its owner alone."""
    half = path.with_suffix(".half")
    half.unlink(missing_ok=True)
    with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    half.replace(path)
