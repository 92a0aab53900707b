"""Side-by-side trials: the draw, the planned lots, the pages, what counts and when."""

import pytest
from django.urls import reverse

from lots import ledger
from lots.models import Arm, Cut, Flat, Lot, Trial
from lots.models.trial import arm_names
from lots.sticking import side_by_side
from tests import factories
from tests.lots.entries import check, days_ago, loss, potup
from tests.lots.trialling import grow, planned
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db


def typed(**fields):
    given = {
        "seed": 77,
        "question": "Wedges or leaves?",
        "units": 12,
        "flats": 3,
        "across": 6,
        "pieces_per_unit": 1,
        "method_a": factories.method(name="leaf wedge").pk,
        "method_b": factories.method(name="whole leaf").pk,
    }
    return given | fields


def send(client, session, **fields):
    return client.post(reverse("session-trial", args=[session.pk]), typed(**fields))


def test_the_same_seed_draws_the_same_and_another_another():
    assert side_by_side.draw(5, 4, 12) == side_by_side.draw(5, 4, 12)
    assert side_by_side.draw(5, 4, 12) != side_by_side.draw(6, 4, 12)


@pytest.mark.parametrize("seed", range(5))
def test_every_flat_holds_as_many_cells_of_each_arm(seed):
    for order, cells in side_by_side.draw(seed, 6, 11):
        assert sorted(order) == ["A", "B"]
        assert (cells.count("A"), cells.count("B")) == (11, 11)


def test_over_many_flats_neither_arm_has_the_first_place():
    drawn = side_by_side.draw(1, 2000, 2)
    assert 0.45 < sum(order == "AB" for order, _cells in drawn) / 2000 < 0.55
    for cell in range(4):
        assert 0.45 < sum(cells[cell] == "A" for _order, cells in drawn) / 2000 < 0.55


def test_each_flat_gets_a_planned_lot_of_each_arm_in_the_drawn_order():
    plants = [factories.stock_plant()]
    plants.append(factories.stock_plant(variety=plants[0].variety))
    before = factories.planned_lot(line=4)
    trial = planned(session=before.session, variety=plants[0].variety, plants=plants, seed=9)
    lots = list(trial.session.lots.exclude(pk=before.pk).order_by("line"))
    assert [lot.line for lot in lots] == [5, 6, 7, 8, 9, 10]
    orders = [order for order, _cells in side_by_side.draw(9, 3, 12)]
    assert "".join(lot.arm.letter for lot in lots) == "".join(orders)
    assert [lot.flat.code for lot in lots] == [f"{trial.code}-{n}" for n in (1, 1, 2, 2, 3, 3)]
    assert {lot.planned_units for lot in lots} == {12}
    assert all(lot.method == lot.arm.method and lot.stage == "planned" for lot in lots)
    assert set(Cut.objects.values_list("stock_plant", "pieces")) == {(p.pk, 6) for p in plants}


def test_a_variety_that_may_not_be_stuck_leaves_nothing_behind():
    with pytest.raises(ledger.Refused, match="licence"):
        planned(variety=factories.variety(protected=True))
    assert not any(model.objects.exists() for model in (Trial, Arm, Lot, Flat))


def test_a_flat_counts_once_both_its_arms_are_known(boss):
    trial = planned()
    assert side_by_side.result(side_by_side.beds(trial)) is None
    grow(trial, boss, a=10, b=4, flats=2)
    beds = side_by_side.beds(trial)
    assert [bed.counted for bed in beds] == [[(10, 12), (4, 12)]] * 2 + [None]
    verdict = side_by_side.result(beds)
    assert (verdict.first, verdict.second) == pytest.approx((20 / 24, 8 / 24))


def test_a_flat_counts_at_the_first_check_when_all_that_lives_holds(boss):
    trial = planned(flats=1)
    grow(trial, boss, a=0, b=0, flats=0)
    first, second = Lot.objects.order_by("arm__letter")
    ledger.record(first, [check(boss, 12, 12, days_ago(30))])
    ledger.record(second, [check(boss, 12, 7, days_ago(30))])
    assert [bed.counted for bed in side_by_side.beds(trial)] == [None]
    ledger.record(second, [loss(boss, 5, days_ago(20))])
    ledger.record(first, [loss(boss, 1, days_ago(20)), potup(boss, 6)])
    assert [bed.counted for bed in side_by_side.beds(trial)] == [[(11, 12), (7, 12)]]


def test_a_lot_that_was_stuck_in_another_flat_has_left_the_trial(boss):
    trial = planned(flats=1)
    grow(trial, boss, a=10, b=4)
    Lot.objects.filter(arm__letter="A").update(flat=factories.flat())
    [bed] = side_by_side.beds(trial)
    assert (len(bed.lots), bed.counted) == (1, None)


def test_a_manager_plans_a_trial_from_the_session(client, boss):
    session, variety = factories.session(), factories.variety()
    session_page = client.get(reverse("session", args=[session.pk]))
    assert elements(session_page, f"a[href='{reverse('session-trial', args=[session.pk])}']")
    assert client.get(reverse("session-trial", args=[session.pk])).status_code == 200
    answer = send(client, session, variety=variety.code, hormone_b="powder")
    trial = Trial.objects.get()
    assert answer.url == reverse("trial", args=[trial.pk])
    assert [str(arm) for arm in trial.arms.all()] == ["leaf wedge", "whole leaf, powder"]
    page = client.get(answer.url)
    shown = "".join(select(page, ".drawn tbody td"))
    assert shown == "".join(cells for _order, cells in side_by_side.draw(77, 3, 12))
    assert "Nothing is stuck yet" in " ".join(select(page, ".note"))
    assert "Blades:" in select(page, ".caution strong")
    assert "Wedges or leaves?" in select(client.get(reverse("trials")), ".list .what")
    session_page = client.get(reverse("session", args=[session.pk]))
    assert elements(session_page, f"a[href='{answer.url}']")


def test_a_form_sent_twice_is_one_trial(client, boss):
    session, variety = factories.session(), factories.variety()
    first, second = (send(client, session, variety=variety.code) for _ in range(2))
    assert first.url == second.url
    assert (Trial.objects.count(), Lot.objects.count()) == (1, 6)
    assert "This form was sent before" in select(client.get(second.url), ".messages li")[0]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"question": ""}, "required"),
        ({"units": "0"}, "1 is the least"),
        ({"flats": "41"}, "40 is the most"),
        ({"seed": "x"}, "whole number"),
        ({"variety": "zzz"}, "No variety"),
        ({"method_b": ""}, "required"),
    ],
)
def test_bad_input_is_told_and_plans_nothing(client, boss, fields, said):
    variety = factories.variety()
    answer = send(client, factories.session(), **{"variety": variety.code, "across": 7} | fields)
    assert answer.status_code == 422
    assert said in " ".join(select(answer, ".errorlist li"))
    assert elements(answer, "[name=across]")[0].get("value") == "7"
    assert not Trial.objects.exists()


def test_two_arms_that_are_the_same_are_refused(client, boss):
    wedge = factories.method(name="leaf wedge").pk
    session, code = factories.session(), factories.variety().code
    answer = send(client, session, variety=code, method_b=wedge)
    assert answer.status_code == 422
    assert "Both arms are the same" in " ".join(select(answer, ".errorlist li"))
    assert send(client, session, variety=code, method_b=wedge, medium_b="bark").status_code == 302


def test_a_protected_variety_is_told_at_its_field(client, boss):
    code = factories.variety(protected=True).code
    answer = send(client, factories.session(), variety=code)
    assert answer.status_code == 422
    assert "licence" in " ".join(select(answer, ".errorlist li"))


def test_a_line_of_a_trial_is_not_changed(client, boss):
    trial = planned()
    lot = trial.session.lots.first()
    url = reverse("session-line", args=[trial.session_id, lot.code])
    changed = {"variety": lot.variety.code, "method": lot.method_id, "units": 5}
    answer = client.post(url, changed | {"pieces_per_unit": 1}, follow=True)
    assert "part of a trial" in " ".join(select(answer, ".messages li"))
    lot.refresh_from_db()
    assert lot.planned_units == 12


@pytest.mark.parametrize(
    ("a", "b", "said"),
    [
        (10, 4, "A took better"),
        (4, 10, "B took better"),
        (7, 6, "doesn't tell them apart"),
        (12, 0, "A took better"),
        (0, 0, "doesn't tell them apart"),
        (12, 12, "doesn't tell them apart"),
    ],
)
def test_the_page_says_the_result_with_the_evidence(client, boss, a, b, said):
    trial = planned()
    grow(trial, boss, a=a, b=b)
    page = client.get(reverse("trial", args=[trial.pk]))
    text = " ".join(select(page, "section[aria-labelledby=result] p"))
    assert said in text
    assert f"A, leaf wedge: {3 * a} of 36 took" in text
    assert ("doesn't show that they take alike" in text) == ("doesn't tell" in said)
    assert "nan" not in text
    assert "inf" not in text
    assert "not counted yet" not in text
    assert select(page, ".by-flat td") == [f"{a} of 12", f"{b} of 12"] * 3


@pytest.mark.parametrize(
    ("a", "b", "said"),
    [
        (12, 0, "less than once in 1000 times"),
        (10, 6, "4 times in 1000"),  # χ² 36/(3 · 1.39), p 0.0033
        (8, 6, "16 times in 100"),  # χ² 9/(3 · 1.52), p 0.16
        (6, 6, "100 times in 100"),
    ],
)
def test_the_page_says_what_chance_alone_would_do(client, boss, a, b, said):
    trial = planned()
    grow(trial, boss, a=a, b=b)
    page = client.get(reverse("trial", args=[trial.pk]))
    [sentence] = [text for text in select(page, "section p") if "chance alone" in text]
    assert sentence.endswith(f"so large a difference {said}.")


def test_an_early_look_is_told_to_be_one(client, boss):
    trial = planned()
    grow(trial, boss, a=10, b=4, flats=2)
    page = client.get(reverse("trial", args=[trial.pk]))
    text = " ".join(select(page, "section p"))
    assert "So far: A took better" in text
    assert "1 flat is not counted yet. So this may change" in text
    assert select(page, ".by-flat td")[-2:] == ["not known yet"] * 2


def test_a_flat_without_one_of_its_arms_is_left_out_and_not_waited_for(client, boss):
    trial = planned()
    ledger.not_stuck(side_by_side.beds(trial)[2].lots[0])
    grow(trial, boss, a=10, b=4, flats=2)
    beds = side_by_side.beds(trial)
    assert [bed.left_out for bed in beds] == [False, False, True]
    page = client.get(reverse("trial", args=[trial.pk]))
    text = " ".join(select(page, "section p"))
    assert "1 flat is left out" in text
    assert "not counted yet" not in text
    assert "2 of 2 flats counted: leaf wedge took better" in select(
        client.get(reverse("trials")), ".list b"
    )


def test_arms_are_named_by_what_differs():
    one, other = factories.method(name="leaf wedge"), factories.method(name="whole leaf")
    wedge = Arm(method=one, medium="bark")
    assert arm_names([wedge, Arm(method=other, medium="bark")]) == (
        ["leaf wedge", "whole leaf"],
        "bark",
    )
    assert arm_names([wedge, Arm(method=one, medium="bark", hormone="powder")]) == (
        ["no rooting hormone", "powder"],
        "leaf wedge, bark",
    )
    assert arm_names([wedge, Arm(method=other, hormone="gel")]) == (
        ["leaf wedge, bark, no rooting hormone", "whole leaf, no medium named, gel"],
        "",
    )


def test_who_may_do_what(client):
    trial = planned()
    plan_url = reverse("session-trial", args=[trial.session_id])
    read = [reverse("trials"), reverse("trial", args=[trial.pk])]
    for url in (plan_url, *read):
        assert client.get(url)["Location"].startswith("/sign-in/")
    client.force_login(factories.person())
    assert [client.get(url).status_code for url in read] == [200, 200]
    assert [client.post(url).status_code for url in read] == [405, 405]
    assert client.get(plan_url).status_code == 403
    assert send(client, trial.session, seed=78).status_code == 403
    assert Trial.objects.count() == 1


def test_no_trials_yet_says_how_to_begin(client, grower):
    assert "A manager plans one" in select(client.get(reverse("trials")), ".empty")[0]


def test_more_trials_and_flats_take_no_more_queries(client, boss):
    one = planned(flats=1)
    before = [query_count(client, url) for url in (reverse("trials"), f"/trials/{one.pk}/")]
    many = planned(flats=6, seed=2)
    planned(seed=3)
    after = [query_count(client, url) for url in (reverse("trials"), f"/trials/{many.pk}/")]
    assert after == before
