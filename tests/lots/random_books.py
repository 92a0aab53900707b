"""Books drawn by hypothesis: odd texts everywhere, lots at every stage, records that add up."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from lots import codes
from tests.lots.books import BOOK, texts

FIRST = datetime(2024, 1, 1, 6, tzinfo=UTC)
ZONES = [UTC, ZoneInfo("Europe/Lisbon"), ZoneInfo("Asia/Kathmandu")]
REASONS = ["rot", "dried out", "blind", "pest", "disease", "mishap", "other"]
yes_no = st.sampled_from(["yes", "no"])
maybe_number = st.one_of(st.just(""), st.integers(1, 9).map(str))


@st.composite
def lot_codes(draw) -> str:
    payload = draw(st.text(codes.CROCKFORD, min_size=5, max_size=5))
    code = payload + codes.check_character(payload)
    return code if code[-1] in codes.CROCKFORD else "7K3QFY"


def names(most: int, count: int = 3) -> st.SearchStrategy[list[str]]:
    return st.lists(texts(most, least=1), min_size=1, max_size=count, unique=True)
