"""What the environment says: the data folder, the database, the address on the tags.

Every reader refuses nonsense with a sentence, so that a wrong setting stops the server at the
door and not in the middle of a working day.
"""

import os
import secrets
import socket
from contextlib import suppress
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from django.core.exceptions import ImproperlyConfigured


def data_dir(base: Path) -> Path:
    """The one folder that holds all state: database, photos, backups, secret key."""
    path = Path(os.environ.get("NURSERY_DATA_DIR") or base / "data").expanduser().resolve()
    if path.exists() and not path.is_dir():
        raise ImproperlyConfigured(
            f"NURSERY_DATA_DIR is {path}, which is a file; it has to be a folder."
        )
    path.mkdir(parents=True, exist_ok=True)
    _keep_private(path)
    return path


def _keep_private(folder: Path) -> None:
    """Nobody else on this machine looks into the folder, nor into what is written from now on."""
    os.umask(0o077)
    if folder.stat().st_mode & 0o077:
        with suppress(PermissionError):  # somebody else's folder, who has said who may
            folder.chmod(0o700)


def secret_key(folder: Path) -> str:
    """The signing key of this nursery, made on the first start and kept in the data folder."""
    path = folder / "secret-key"
    try:
        # O_EXCL: of two processes that start together only one writes the key.
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        key = path.read_text().strip()
    else:
        key = secrets.token_urlsafe(50)
        with os.fdopen(handle, "w") as file:
            file.write(key)
    if len(key) < 50:
        raise ImproperlyConfigured(
            f"{path} should hold a secret key of 50 characters or more and holds {len(key)}. "
            "Delete the file to have a new one made; everybody signs in again then."
        )
    return key


def time_zone() -> str:
    """NURSERY_TIME_ZONE, the zone that a new book gets, or an empty string if it isn't set."""
    name = os.environ.get("NURSERY_TIME_ZONE") or ""
    try:
        ZoneInfo(name or "UTC")
    except (KeyError, ValueError, OSError) as error:
        raise ImproperlyConfigured(
            f"NURSERY_TIME_ZONE is {name!r}, which is no time zone; "
            "one looks like Europe/Lisbon or America/Denver."
        ) from error
    return name


def address() -> str:
    """NURSERY_ADDRESS, the base address that tags carry, or an empty string if it isn't set."""
    text = (os.environ.get("NURSERY_ADDRESS") or "").strip().rstrip("/")
    if not text:
        return ""
    parts = urlsplit(text)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.query or parts.path:
        raise ImproperlyConfigured(
            f"NURSERY_ADDRESS is {text!r}; it has to be like https://book.example.org "
            "or http://192.168.1.20:8000, with nothing after it."
        )
    return text


def proxies() -> list[str]:
    """NURSERY_PROXY, the addresses of the proxies whose word is believed on who asks and by which
    scheme; empty if it isn't set."""
    text = os.environ.get("NURSERY_PROXY") or ""
    found = [one.strip() for one in text.split(",") if one.strip()]
    for one in found:
        try:
            ip_address(one)
        except ValueError as error:
            raise ImproperlyConfigured(
                f"NURSERY_PROXY is {text!r}; it has to be the IP address that the proxy asks "
                "from, like 127.0.0.1, or several with commas between them."
            ) from error
    return found


def lan_address() -> str:
    """This machine's own address on the local network; 127.0.0.1 where there is none.

    A UDP socket that is "connected" sends nothing: it only asks the system which of the
    machine's addresses it would send from. The target is of a range kept for documentation.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def host_names(nursery_address: str) -> list[str]:
    """The host names that this server answers to: its own, and the one on the tags."""
    name = socket.gethostname().lower()
    hosts = ["localhost", "127.0.0.1", "[::1]", lan_address(), name, f"{name}.local"]
    if nursery_address:
        hosts.append(urlsplit(nursery_address).hostname or "")
    return sorted(set(hosts))
