"""Planning a session: its lines, their order, repeating one, the work sheet."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger
from lots.models import Cut, Lot, StickingSession
from tests import factories
from tests.pages import elements, query_count, select


def line(**fields):
    given = {"method": factories.method().pk, "units": 48, "pieces_per_unit": 1}
    return given | fields


def add(client, session, **fields):
    return client.post(reverse("session-add", args=[session.pk]), line(**fields))


def page(client, session):
    return client.get(reverse("session", args=[session.pk]))


def test_a_manager_plans_a_session(client, boss):
    answer = client.post(reverse("session-new"), {"day": "2026-12-01", "led_by": boss.pk})
    session = StickingSession.objects.get()
    assert answer.url == reverse("session", args=[session.pk])
    assert (session.day, session.led_by) == (date(2026, 12, 1), boss)
    assert "No lots yet" in select(page(client, session), ".empty")[0]


def test_a_session_needs_a_day_that_is_one(client, boss):
    answer = client.post(reverse("session-new"), {"day": "31/31/2026"})
    assert answer.status_code == 422
    assert not StickingSession.objects.exists()


@pytest.mark.parametrize("typed", ["wedding", "Begonia wedding", "V-77", "v-77"])
def test_a_line_finds_its_variety_by_a_few_letters(client, boss, typed):
    variety = factories.variety(code="V-77", cultivar="Wedding Boots")
    factories.variety(cultivar="Other")
    session, plant = factories.session(), factories.stock_plant(variety=variety)
    answer = add(client, session, variety=typed, plants=[plant.pk], flat="F9")
    assert answer.status_code == 302
    lot = Lot.objects.get()
    assert (lot.variety, lot.stage, lot.flat.code) == (variety, "planned", "F9")
    assert list(lot.stock_plants.all()) == [plant]
    assert Cut.objects.get().pieces == 48


@pytest.mark.parametrize(
    ("typed", "said"), [("Begonia", "several varieties"), ("zzz", "No variety"), ("", "required")]
)
def test_letters_that_fit_none_or_several_are_told(client, boss, typed, said):
    factories.variety(), factories.variety()
    answer = add(client, factories.session(), variety=typed, note="kept")
    assert answer.status_code == 422
    assert said in " ".join(select(answer, ".errorlist li"))
    assert elements(answer, "[name=note]")[0].get("value") == "kept"


def test_a_protected_variety_without_a_licence_is_refused_with_the_reason(client, boss):
    variety = factories.variety(protected=True)
    answer = add(client, factories.session(), variety=variety.code)
    assert answer.status_code == 422
    assert "licence" in " ".join(select(answer, ".errorlist li"))
    variety.licence = "L-2026-4"
    variety.save()
    assert add(client, factories.session(), variety=variety.code).status_code == 302


@pytest.mark.parametrize("health", ["gone", "quarantined"])
def test_a_plant_that_is_not_to_be_cut_is_refused(client, boss, health):
    plant = factories.stock_plant(health=health)
    answer = add(client, factories.session(), variety=plant.variety.code, plants=[plant.pk])
    assert answer.status_code == 422
    assert not Lot.objects.exists()


def test_lots_stand_in_cutting_order_with_tools_disinfected_between_varieties(client, boss):
    session = factories.session()
    watched = factories.stock_plant(health="watch")
    sound, other = factories.stock_plant(), factories.stock_plant()
    for plant in (watched, sound, other, sound):
        add(client, session, variety=plant.variety.code, plants=[plant.pk])
    order = [cut.stock_plant for cut in Cut.objects.order_by("order")]
    assert order == [sound, sound, other, watched]
    asked = [cut.disinfected_before for cut in Cut.objects.order_by("order")]
    assert asked == [True, False, True, True]
    shown = select(page(client, session), "tbody tr td:nth-child(3)")
    assert [text.split()[0] for text in shown] == [plant.code for plant in order]


def test_a_copied_line_fills_the_form(client, boss):
    lot = factories.planned_lot(planned_units=36, medium="bark")
    url = reverse("session", args=[lot.session_id])
    answer = client.get(url, {"copy": lot.code})
    assert elements(answer, "[name=variety]")[0].get("value") == lot.variety.code
    assert elements(answer, "[name=units]")[0].get("value") == "36"


def test_a_line_is_changed_and_keeps_its_code(client, boss):
    lot = factories.planned_lot()
    url = reverse("session-line", args=[lot.session_id, lot.code])
    assert client.get(url).status_code == 200
    answer = client.post(url, line(variety=lot.variety.code, units=12))
    assert answer.status_code == 302
    changed = Lot.objects.get()
    assert (changed.code, changed.planned_units) == (lot.code, 12)


def test_a_stuck_line_can_no_longer_be_changed(client, boss):
    lot = factories.stuck_lot()
    url = reverse("session-line", args=[lot.session_id, lot.code])
    answer = client.post(url, line(variety=lot.variety.code, units=12))
    assert answer.status_code == 422
    lot.refresh_from_db()
    assert lot.planned_units == 48


def test_last_years_session_is_repeated_without_what_may_not_be_cut(client, boss):
    day = timezone.localdate() - timedelta(weeks=52)
    old = factories.session(day=day, disinfectant="alcohol 70 %")
    plant, lost = factories.stock_plant(), factories.stock_plant()
    for one in (plant, lost):
        ledger.stick(factories.planned_lot(plants=(one,), session=old), units=40, on=day, by=boss)
    lost.health = "gone"
    lost.save()
    assert "Repeat" in select(client.get(reverse("sessions")), ".list .what")[0]
    answer = client.post(
        reverse("session-repeat", args=[old.pk]), {"day": timezone.localdate()}, follow=True
    )
    new = StickingSession.objects.exclude(pk=old.pk).get()
    assert [lot.planned_units for lot in new.lots.all()] == [48, 48]
    assert new.disinfectant == "alcohol 70 %"
    assert list(Cut.objects.filter(lot__session=new).values_list("stock_plant", flat=True)) == [
        plant.pk
    ]
    assert lost.code in " ".join(select(answer, ".messages li"))
    assert not set(new.lots.values_list("code")) & set(old.lots.values_list("code"))


def test_the_work_sheet_lists_the_lots_with_room_to_write_and_the_cautions(client, grower):
    plant = factories.stock_plant()
    lot = factories.planned_lot(plants=(plant,))
    answer = client.get(reverse("session-worksheet", args=[lot.session_id]))
    row = " ".join(select(answer, "tbody tr"))
    assert f"{lot.code[:3]}-{lot.code[3:]}" in row
    assert plant.code in row
    assert "Disinfect the tools" in row
    assert elements(answer, "td.write")
    assert "flammable" in select(answer, ".caution")[0]


def test_the_plants_of_a_variety_are_offered_with_the_sound_ones_ticked(client, boss):
    variety = factories.variety()
    sound = factories.stock_plant(variety=variety)
    watched = factories.stock_plant(variety=variety, health="watch")
    factories.stock_plant(variety=variety, health="gone")
    answer = client.get(reverse("session-plants"), {"variety": variety.code})
    boxes = {
        e.get("value"): e.get("checked") is not None for e in elements(answer, "[name=plants]")
    }
    assert boxes == {str(sound.pk): True, str(watched.pk): False}


MANAGERS = ["session-new", "session-change", "session-repeat", "session-line", "session-plants"]


@pytest.mark.parametrize("name", MANAGERS)
def test_a_grower_does_not_plan(client, grower, name):
    lot = factories.planned_lot()
    args = {"session-line": [lot.session_id, lot.code], "session-new": [], "session-plants": []}
    answer = client.get(reverse(name, args=args.get(name, [lot.session_id])))
    assert answer.status_code == 403
    assert not select(page(client, lot.session), "[name=variety]")


def test_a_grower_does_not_add_lines(client, grower):
    session = factories.session()
    assert add(client, session, variety=factories.variety().code).status_code == 403
    assert not Lot.objects.exists()


def test_more_sessions_and_lines_take_no_more_queries(client, boss):
    plant = factories.stock_plant()
    session = factories.session()
    add(client, session, variety=plant.variety.code, plants=[plant.pk], flat="A")
    urls = [reverse("sessions"), reverse("session", args=[session.pk])]
    before = [query_count(client, url) for url in urls]
    for n in range(5):
        other = factories.stock_plant(place=factories.place())
        add(client, session, variety=other.variety.code, plants=[other.pk], flat=f"F{n}")
        factories.planned_lot()
    assert [query_count(client, url) for url in urls] == before


def test_a_quarantined_plant_is_told_and_nobody_is_sent_to_cut_it(client, boss):
    session = factories.session()
    sound = factories.stock_plant()
    sick, lost = (factories.stock_plant(variety=sound.variety) for _ in range(2))
    alone = factories.stock_plant()
    held = factories.planned_lot(plants=(alone,), session=session, line=1)
    lot = factories.planned_lot(plants=(sound, sick, lost), session=session, line=2)
    was = factories.stuck_lot(plants=(sick,), session=session, line=3)
    for plant, health in ((sick, "quarantined"), (lost, "gone"), (alone, "quarantined")):
        plant.health = health
        plant.save()
    number = reverse("session-worksheet", args=[session.pk])
    for answer in (page(client, session), client.get(number)):
        told = select(answer, ".note.wrong")
        assert [text.split(":")[0] for text in told] == [
            f"{sick} is quarantined",
            f"{lost} is gone",
            f"{alone} is quarantined",
        ]
    rows = [row for row in select(client.get(number), "tbody tr") if "Disinfect" not in row]
    assert [str(each) in " ".join(rows) for each in (lot, held, was)] == [True, False, True]
    assert not any(plant.code in rows[0] for plant in (sick, lost))
    # The way out is on the page: the line, with the sound plant alone ticked.
    line_url = reverse("session-line", args=[session.pk, lot.code])
    ticked = [
        box.get("value")
        for box in elements(client.get(line_url), "[name=plants]")
        if box.get("checked") is not None
    ]
    assert ticked == [str(sound.pk)]
    assert not elements(page(client, session), "form[action$='stick/']")


def test_a_line_says_what_its_plants_can_give(client, boss):
    variety, session = factories.variety(), factories.session()
    plants = [factories.stock_plant(variety=variety, pieces_per_cut=n) for n in (50, 60, 60)]
    add(client, session, variety=variety.code, plants=[p.pk for p in plants], units=5000)
    told = select(page(client, session), "td .stage.late")
    assert told == ["170 pieces in 3 plants; 5,000 asked"]
    # What one line takes of a plant is not there for the next.
    shared = factories.session()
    for units in (40, 20):
        add(client, shared, variety=variety.code, plants=[plants[0].pk], units=units)
    assert select(page(client, shared), "td .soft") == ["50 pieces in 1 plant"]
    assert select(page(client, shared), "td .stage.late") == ["10 pieces in 1 plant; 20 asked"]


def test_a_line_says_what_nobody_knows_and_which_plant_rests(client, boss):
    unknown = factories.stock_plant()
    resting = factories.stock_plant(variety=unknown.variety, pieces_per_cut=9, rest_weeks=4)
    factories.stuck_lot(plants=(resting,), days=7)
    session = factories.session()
    add(client, session, variety=unknown.variety.code, plants=[unknown.pk])
    assert "nobody wrote down" in select(page(client, session), "td .soft")[0]
    add(client, session, variety=unknown.variety.code, plants=[resting.pk], units=5)
    short, rests = select(page(client, session), "td .stage.late")
    assert short == "0 pieces in 1 plant; 5 asked"
    assert rests.startswith(f"{resting} rests until")


def test_what_was_cut_stays_as_it_happened(client, boss):
    session = factories.session()
    first, second = factories.stock_plant(), factories.stock_plant()
    add(client, session, variety=first.variety.code, plants=[first.pk])
    add(client, session, variety=second.variety.code, plants=[second.pk])
    lot = second.lots.get()
    ledger.stick(lot, units=48, on=session.day, by=boss)
    made = Cut.objects.filter(lot=lot).values().get()
    watched = factories.stock_plant(health="watch")
    add(client, session, variety=watched.variety.code, plants=[watched.pk])
    assert Cut.objects.filter(lot=lot).values().get() == made
    later = Cut.objects.exclude(lot=lot).order_by("order").values_list("stock_plant", "order")
    assert list(later) == [(first.pk, 3), (watched.pk, 4)]


def test_all_is_stuck_as_planned_in_one_tap_but_what_may_not_be(client, grower):
    today = timezone.localdate()
    session = factories.session(day=today)
    lots = [factories.planned_lot(session=session, planned_units=n) for n in (10, 20, 30)]
    sick = factories.stock_plant(variety=lots[2].variety)
    lots[2].cuts.create(stock_plant=sick)
    sick.health = "quarantined"
    sick.save()
    page = client.get(reverse("session", args=[session.pk]))
    [button] = [text for text in select(page, "main form button") if "as planned" in text]
    assert "All 3 stuck as planned" in button
    answer = client.post(reverse("session-stuck", args=[session.pk]), follow=True)
    assert "2 lots stuck as planned" in " ".join(select(answer, ".messages"))
    found = [Lot.objects.get(pk=lot.pk) for lot in lots]
    assert [lot.stuck_units for lot in found] == [10, 20, None]
    assert {lot.stuck_by for lot in found[:2]} == {grower}
    # Sent again it sticks nothing twice, and what is stuck stays as it is.
    client.post(reverse("session-stuck", args=[session.pk]))
    assert Lot.objects.get(pk=lots[0].pk).stuck_units == 10


def test_a_session_to_come_is_not_stuck_yet(client, grower):
    session = factories.session(day=timezone.localdate() + timedelta(days=2))
    lot = factories.planned_lot(session=session)
    answer = client.post(reverse("session-stuck", args=[session.pk]), follow=True)
    assert "has not come yet" in " ".join(select(answer, ".messages"))
    assert not Lot.objects.get(pk=lot.pk).is_stuck
