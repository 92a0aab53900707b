"""Every way of cutting of the handbook is drawn, and told in words where it is drawn."""

import re

import pytest
from django.urls import reverse

from lots.catalogue.drawings import DRAWINGS
from lots.forecast import handbook
from tests import factories
from tests.pages import elements, select


def test_every_way_of_the_handbook_is_drawn():
    assert DRAWINGS.keys() == set(handbook.methods())


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_stays_in_its_box_and_says_where_the_blade_goes_and_how_deep(name):
    drawn = DRAWINGS[name]
    assert drawn.cut
    assert all(sentence.endswith(".") for sentence in map(str, drawn.says))
    for path in (drawn.leaf, drawn.vein, drawn.stem, drawn.cut, drawn.root):
        absolute = re.findall(r"[ML](\d+) (\d+)", path)
        assert all(0 <= int(x) <= 340 and 0 <= int(y) <= 130 for x, y in absolute)
    left = [int(x) for x in re.findall(r"M(\d+) ", drawn.cut)]
    assert max(left) < 160, "the cut is on the plant"


@pytest.mark.django_db
def test_the_card_and_the_work_sheet_show_it_with_its_words(client, grower):
    wedge, own = factories.method(), factories.method(name="own way", cut_like="")
    session = factories.session()
    for method in (wedge, wedge, own):
        lot = factories.planned_lot(method=method, session=session)
    card = client.get(reverse("method", args=[wedge.pk]))
    [says] = select(card, "figure.way figcaption")
    assert "a third of it in the medium" in says
    assert len(elements(client.get(reverse("method", args=[own.pk])), "figure.way")) == 0
    sheet = client.get(reverse("session-worksheet", args=[session.pk]))
    [named] = select(sheet, "figure.way figcaption")  # once, though two lots are cut so
    assert named.startswith(wedge.name.capitalize())
    assert not elements(client.get(reverse("lot-stick", args=[lot.code])), "figure.way")
    one = factories.planned_lot(method=wedge, session=session)
    assert elements(client.get(reverse("lot-stick", args=[one.code])), "details figure.way")
