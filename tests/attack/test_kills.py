"""`kill -9` of the server under load: every record that was acknowledged is there afterwards, none
is there twice, and the book adds up.

2 kills on each run; `ATTACK_KILLS=50` in the environment does more by hand.
"""

import os
import random
import time
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPException

from tests.attack.site import Phone, loss

KILLS = int(os.environ.get("ATTACK_KILLS", "2"))
PHONES = 6
LONGEST = 1.5  # seconds of load before a kill


def log_until_it_dies(server, cookies, lot) -> tuple[list[dict], list[dict]]:
    """Send records one after the other; returns those acknowledged and those without answer."""
    acknowledged: list[dict] = []
    with Phone(server, cookies) as phone:
        while True:
            record = loss(lot)
            try:
                status, answer = phone.sync(record)
            except (
                OSError,
                HTTPException,
                ValueError,
            ):  # gone, or gone in the middle of its answer
                return acknowledged, [record]
            assert (status, answer["records"][0]["status"]) == (200, "saved")
            acknowledged.append(record)


def test_what_was_acknowledged_survives_a_killed_server(tmp_path, new_book):
    book = new_book(tmp_path / "data")
    lots = book.seed(PHONES, 100_000)["lots"]
    cookies: dict[str, str] = {}
    kept: set[str] = set()
    unsure: list[dict] = []
    for _ in range(KILLS):
        with book.served() as server, ThreadPoolExecutor(PHONES) as pool:
            cookies = cookies or server.sign_in()
            with Phone(server, cookies) as phone:  # the phones send again what got no answer
                for record in unsure:
                    _status, answer = phone.sync(record, record)
                    assert answer["records"][0]["status"] in ("saved", "already")
                    assert answer["records"][1]["status"] == "already"
                    kept.add(record["uuid"])
            logging = [pool.submit(log_until_it_dies, server, cookies, lot) for lot in lots]
            time.sleep(random.uniform(0.05, LONGEST))
            server.process.kill()
            done = [phone.result() for phone in logging]
        acknowledged = [record for saved, _unsure in done for record in saved]
        kept |= {record["uuid"] for record in acknowledged}
        unsure = [record for _saved, lost in done for record in lost]
    told = book.tell()
    stored = told["stored"]
    assert len(kept) > 0
    assert kept <= set(stored)
    assert set(stored) <= kept | {record["uuid"] for record in unsure}
    assert len(stored) == len(set(stored))
    assert sum(row["cells_lost"] for row in told["lots"].values()) == len(stored)
    assert told["faults"] == []
    print(f"{KILLS} kills, {len(kept)} records acknowledged, {len(stored)} stored")  # noqa: T201
