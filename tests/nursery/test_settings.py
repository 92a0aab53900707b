"""Settings that are easy to lose, and what the environment may say."""

import pytest
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

from nursery import environment


def test_every_page_asks_for_sign_in_and_carries_the_policy(client, db):
    answer = client.get("/due/")
    assert answer["Location"] == "/sign-in/?next=/due/"
    policy = client.get("/sign-in/")["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_debug_is_off():
    assert settings.DEBUG is False


def test_the_secret_key_is_made_once_and_only_its_owner_reads_it(tmp_path):
    key = environment.secret_key(tmp_path)
    assert environment.secret_key(tmp_path) == key
    assert len(key) >= 50
    assert (tmp_path / "secret-key").stat().st_mode & 0o077 == 0


def test_a_cut_off_secret_key_is_refused(tmp_path):
    (tmp_path / "secret-key").write_text("short")
    with pytest.raises(ImproperlyConfigured, match="Delete the file"):
        environment.secret_key(tmp_path)


def test_the_data_folder_is_no_file(tmp_path, monkeypatch):
    file = tmp_path / "book"
    file.touch()
    monkeypatch.setenv("NURSERY_DATA_DIR", str(file))
    with pytest.raises(ImproperlyConfigured, match="has to be a folder"):
        environment.data_dir(tmp_path)


@pytest.mark.parametrize(
    "text",
    ["book.example.org", "ftp://x.example", "http://", "http://x.example/book", "http://x/?a"],
)
def test_an_address_that_tags_cannot_carry_is_refused(monkeypatch, text):
    monkeypatch.setenv("NURSERY_ADDRESS", text)
    with pytest.raises(ImproperlyConfigured, match="NURSERY_ADDRESS"):
        environment.address()


def test_the_address_is_trimmed_and_its_name_answered_to(monkeypatch):
    monkeypatch.setenv("NURSERY_ADDRESS", " https://book.example.org/ ")
    assert environment.address() == "https://book.example.org"
    assert "book.example.org" in environment.host_names(environment.address())


def test_a_time_zone_that_is_none_is_refused(monkeypatch):
    monkeypatch.setenv("NURSERY_TIME_ZONE", "Moon/Crater")
    with pytest.raises(ImproperlyConfigured, match="no time zone"):
        environment.time_zone()
