"""The nursery's own certificates, judged by OpenSSL as a phone would judge them."""

import ssl
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509

from nursery import certificates

NAMES = ["127.0.0.1", "192.168.1.20", "localhost", "shed", "shed.local"]


@pytest.fixture(autouse=True)
def data_dir(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


def shakes_hands(certificate, key, name: str) -> bool:
    """Whether whoever trusts the authority takes the book for what it says it is."""
    here, there = (ssl.MemoryBIO() for _n in range(2))
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate, key)
    client = ssl.create_default_context(cafile=certificates.authority())
    asked = server.wrap_bio(here, there, server_side=True)
    asking = client.wrap_bio(there, here, server_hostname=name)
    for _step in range(6):
        for side in (asking, asked):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError:
                return False
    return asking.getpeercert() is not None


def lasts(path) -> timedelta:
    made = x509.load_pem_x509_certificate(path.read_bytes())
    return made.not_valid_after_utc - made.not_valid_before_utc


def test_whoever_trusts_the_authority_trusts_the_book_by_each_of_its_names():
    pair = certificates.of_the_book(NAMES)
    assert [name for name in NAMES if not shakes_hands(*pair, name)] == []
    assert not shakes_hands(*pair, "192.168.1.21")
    assert not shakes_hands(*pair, "book.example.org")


def test_the_authority_speaks_for_nothing_outside():
    """Even one who has its key makes no certificate for another site that a phone would take."""
    certificates.of_the_book(NAMES)
    now = datetime.now(UTC)
    for outside in ("bank.example.org", "203.0.113.7"):
        stolen = certificates.folder() / "stolen.pem", certificates.folder() / "stolen-key.pem"
        certificates._sign([outside], *stolen, now)
        assert not shakes_hands(*stolen, outside)


def test_a_name_of_ones_own_is_vouched_for():
    """A nursery may have a name or an address that isn't private; phones then trust anew."""
    certificates.of_the_book(NAMES)
    before = certificates.authority().read_bytes()
    pair = certificates.of_the_book([*NAMES, "book.example.org", "203.0.113.7"])
    assert certificates.authority().read_bytes() != before
    assert shakes_hands(*pair, "book.example.org")
    assert shakes_hands(*pair, "203.0.113.7")


def test_phones_take_them():
    """At most 825 days: what phones allow a certificate of a local authority (from memory)."""
    certificate, _key = certificates.of_the_book(NAMES)
    assert lasts(certificate) < timedelta(days=825)
    assert lasts(certificates.authority()) > timedelta(days=3600)
    assert x509.load_der_x509_certificate(certificates.for_phones())
    usage = x509.load_pem_x509_certificate(certificate.read_bytes()).extensions
    assert "serverAuth" in str(usage.get_extension_for_class(x509.ExtendedKeyUsage).value)


def test_asked_again_nothing_changes_and_all_is_for_its_owner_alone():
    pair = certificates.of_the_book(NAMES)
    before = [path.read_bytes() for path in pair]
    assert [path.read_bytes() for path in certificates.of_the_book(NAMES[::-1])] == before
    modes = {path.stat().st_mode & 0o777 for path in certificates.folder().iterdir()}
    assert modes == {0o600}
    assert certificates.folder().stat().st_mode & 0o777 == 0o700


def test_soon_over_or_at_another_address_it_is_renewed_and_phones_trust_it_still():
    certificate, key = certificates.of_the_book(NAMES)
    first, authority = certificate.read_bytes(), certificates.authority().read_bytes()
    in_a_year = datetime.now(UTC) + certificates.BOOK_LASTS - certificates.RENEWED_BEFORE
    certificates.of_the_book(NAMES, in_a_year)
    renewed = certificate.read_bytes()
    assert renewed != first
    certificates.of_the_book([*NAMES, "192.168.1.77"])
    assert certificate.read_bytes() != renewed
    assert certificates.authority().read_bytes() == authority
    assert shakes_hands(certificate, key, "192.168.1.77")


def test_an_authority_that_is_over_or_spoilt_is_made_anew():
    certificates.of_the_book(NAMES)
    before = certificates.authority().read_bytes()
    in_ten_years = datetime.now(UTC) + certificates.AUTHORITY_LASTS
    certificates.of_the_book(NAMES, in_ten_years)
    assert certificates.authority().read_bytes() != before
    certificates.authority().write_text("spoilt")
    assert shakes_hands(*certificates.of_the_book(NAMES), "localhost")
