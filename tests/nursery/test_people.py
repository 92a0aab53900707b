"""The manager's pages of people: roles, passwords, sign-ins."""

import re

import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from nursery.models import Person, SignIn
from nursery.throttle import MOST_TRIES
from tests.factories import PASSWORD, manager, person
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db


def page_of(somebody):
    return reverse("person", args=[somebody.pk])


def save(client, somebody, **fields):
    given = {"name": somebody.name, "initials": somebody.initials, "role": somebody.role}
    if somebody.is_active:
        given["is_active"] = "on"
    given |= fields
    return client.post(page_of(somebody), {k: v for k, v in given.items() if v is not None})


def signed_in(somebody, client_class):
    device = client_class()
    device.force_login(somebody)
    return device


@pytest.mark.parametrize("name", ["people", "person-new"])
def test_growers_and_strangers_stay_out(client, name):
    assert client.get(reverse(name)).status_code == 302
    client.force_login(person())
    page = client.get(reverse(name))
    assert page.status_code == 403
    assert select(page, ".note") == ["Only a manager can do this."]


@pytest.mark.parametrize(
    ("name", "extra"), [("person", []), ("person-password", []), ("sign-in-end", ["all"])]
)
def test_growers_change_nobody_not_even_themselves(client, name, extra):
    grower = person()
    client.force_login(grower)
    given = {"role": "manager", "password": "moss-and-bark", "name": "X", "initials": "X"}
    assert client.post(reverse(name, args=[grower.pk, *extra]), given).status_code == 403
    grower.refresh_from_db()
    assert grower.role == "grower"
    assert grower.check_password(PASSWORD)


def test_the_list_says_who_works_here_and_on_how_many_devices(client, boss):
    gone = person(name="Ada", is_active=False)
    here = person(name="Zoe")
    signed_in(here, type(client))
    signed_in(here, type(client))
    page = client.get(reverse("people"))
    assert select(page, "tbody th") == ["Max Manager", "Zoe", "Ada"]
    assert select(page, "tbody td:last-child") == ["1 device", "2 devices", "0 devices"]
    assert not gone.is_active


def test_more_people_cost_no_more_queries(client, boss):
    before = query_count(client, reverse("people"))
    for _n in range(10):
        signed_in(person(), type(client))
    assert query_count(client, reverse("people")) == before


NEW = {
    "name": "Ines",
    "initials": "IN",
    "username": "ines",
    "role": "grower",
}


def first_password(answer) -> str:
    """What stands on the slip."""
    return select(answer, ".slip dd .code")[0]


def test_a_new_person_signs_in_with_a_made_up_password_and_first_chooses_another(client, boss):
    answer = client.post(reverse("person-new"), NEW)
    made_up = first_password(answer)
    assert re.fullmatch(r"[a-z2-9]{4}-[a-z2-9]{4}-[a-z2-9]{4}", made_up)
    assert made_up != first_password(client.post(reverse("person-new"), NEW | {"username": "io"}))
    assert "Ines can sign in now." in select(answer, ".messages li")
    fresh = type(client)()
    given = {"username": "ines", "password": made_up}
    assert fresh.post("/sign-in/", given).status_code == 302
    for page in ("/", reverse("methods"), "/sync/"):
        assert fresh.get(page)["Location"] == "/password/"
    assert "made up by the book" in " ".join(select(fresh.get("/password/"), "main p"))
    own = {"new_password1": "moss-and-bark", "new_password2": "moss-and-bark"}
    assert fresh.post("/password/", own | {"old_password": made_up})["Location"] == "/"
    assert fresh.get(reverse("methods")).status_code == 200
    assert fresh.post("/sign-out/").status_code == 302
    given["password"] = "moss-and-bark"
    assert fresh.post("/sign-in/", given)["Location"] == "/"
    assert fresh.get("/").status_code == 200


def test_a_slip_says_this_once_how_to_sign_in(client, boss):
    answer = client.post(reverse("person-new"), NEW)
    says = " ".join(select(answer, ".slip"))
    made_up = first_password(answer)
    for word in ("ines", "http://"):
        assert word in says
    assert "no-store" in answer["Cache-Control"]
    # The symbol, drawn as large as on paper, read by an independent reader.
    [path] = elements(answer, ".slip svg path")
    dark = {tuple(map(int, spot)) for spot in re.findall(r"M(\d+) (\d+)", path.get("d"))}
    side = max(max(spot) for spot in dark) + 1
    picture = Image.new("L", (side + 8, side + 8), 255)
    for x, y in dark:
        picture.putpixel((x + 4, y + 4), 0)
    [code] = zxingcpp.read_barcodes(picture.resize((8 * (side + 8),) * 2, Image.Resampling.NEAREST))
    assert code.text.lower() in says.lower()
    page = client.get(page_of(Person.objects.get(username="ines")))
    assert made_up not in page.content.decode()


def test_the_same_new_person_twice_is_stored_once(client, boss):
    client.post(reverse("person-new"), NEW)
    page = client.post(reverse("person-new"), NEW | {"username": "Ines"})
    assert page.status_code == 422
    assert "choose another" in select(page, ".errorlist")[0]
    assert elements(page, "input[name=initials]")[0].get("value") == "IN"
    assert Person.objects.filter(name="Ines").count() == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [("role", "king"), ("name", "")],
)
def test_a_new_person_wants_all_of_it_right(client, boss, field, value):
    page = client.post(reverse("person-new"), NEW | {field: value})
    assert page.status_code == 422
    assert elements(page, f".field.wrong [name={field}]")
    assert Person.objects.count() == 1


def test_a_person_is_changed(client, boss):
    somebody = person()
    assert save(client, somebody, name="New Name", role="manager")["Location"] == page_of(somebody)
    somebody.refresh_from_db()
    assert (somebody.name, somebody.is_manager) == ("New Name", True)


def test_who_leaves_is_signed_out_everywhere(client, boss):
    somebody = person()
    device = signed_in(somebody, type(client))
    save(client, somebody, is_active=None)
    assert not somebody.sign_ins.exists()
    assert device.get(reverse("methods")).status_code == 302


@pytest.mark.parametrize("change", [{"role": "grower"}, {"is_active": None}])
def test_the_last_manager_stays_one(client, boss, change):
    manager(is_active=False)
    page = save(client, boss, **change)
    assert page.status_code == 422
    assert "Max Manager is the last manager" in select(page, ".errorlist")[0]
    boss.refresh_from_db()
    assert boss.is_manager
    manager()
    assert save(client, boss, **change).status_code == 302


def test_the_last_manager_can_still_get_another_name(client, boss):
    assert save(client, boss, name="Chief").status_code == 302


def test_a_new_password_ends_sign_ins_and_the_wait(client, boss):
    somebody = person()
    device = signed_in(somebody, type(client))
    stranger = type(client)()
    for _try in range(MOST_TRIES):
        stranger.post("/sign-in/", {"username": somebody.username, "password": "wrong"})
    answer = client.post(reverse("person-password", args=[somebody.pk]))
    assert "no-store" in answer["Cache-Control"]
    assert device.get(reverse("methods")).status_code == 302
    assert not somebody.sign_ins.exists()
    given = {"username": somebody.username, "password": first_password(answer)}
    assert stranger.post("/sign-in/", given).status_code == 302


def test_ones_own_new_password_keeps_this_device(client, boss):
    made_up = first_password(client.post(reverse("person-password", args=[boss.pk])))
    assert client.get(reverse("people"))["Location"] == "/password/"
    boss.refresh_from_db()
    assert boss.check_password(made_up)


def forms_that_end(page):
    return [form.get("action") for form in elements(page, "form[action*='/end/']")]


def test_one_sign_in_is_ended_and_the_others_stay(client, boss):
    somebody = person()
    devices = [signed_in(somebody, type(client)) for _n in range(2)]
    each = [url for url in forms_that_end(client.get(page_of(somebody))) if "/all/" not in url]
    assert len(each) == 2
    assert client.get(each[0])["Location"] == page_of(somebody)
    assert client.post(each[0]).status_code == 302
    still_in = [device.get(reverse("methods")).status_code for device in devices]
    assert sorted(still_in) == [200, 302]
    assert client.post(each[0]).status_code == 404


def test_all_sign_ins_are_ended_but_the_one_in_hand(client, boss):
    signed_in(boss, type(client))
    page = client.get(page_of(boss))
    assert select(page, "ul.list strong") == ["this device"]
    client.post(reverse("sign-in-end", args=[boss.pk, "all"]))
    assert boss.sign_ins.get().pk == client.session.session_key
    assert client.get(reverse("people")).status_code == 200


def test_no_page_gives_a_session_key_away(client, boss):
    somebody = person()
    signed_in(somebody, type(client))
    page = client.get(page_of(somebody)).content.decode()
    assert not any(key in page for key in SignIn.objects.values_list("pk", flat=True))


def test_who_shares_initials_is_told_and_saved_all_the_same(client, boss):
    ann = person(name="Ann Birch", initials="AB")
    person(name="Al Broom", initials="AB", is_active=False)
    given = {"name": "Abe Beech", "initials": "ab", "role": "grower"}
    new = {"username": "abe"}
    page = client.post(reverse("person-new"), given | new, follow=True)
    abe = Person.objects.get(username="abe")
    [told] = [text for text in select(page, ".messages li") if "initials" in text]
    assert told.startswith("Ann Birch has the initials ab, too")
    url = reverse("person", args=[abe.pk])
    page = client.post(url, given | {"is_active": "on"}, follow=True)
    assert "Ann Birch" in " ".join(select(page, ".messages li"))
    shared = select(client.get(reverse("people")), "td .stage.late")
    assert sorted(shared) == ["also Abe Beech", f"also {ann}"]
    page = client.post(url, given | {"is_active": "on", "initials": "ABE"}, follow=True)
    assert "initials" not in " ".join(select(page, ".messages li"))


def test_a_name_that_does_not_fit_is_refused_and_never_cut(client, boss):
    """Nor by the browser, which cuts what is pasted to a `maxlength` and says nothing."""
    page = client.get(reverse("person-new"))
    assert not elements(page, "main form [maxlength]")
    given = {"name": "N" * 81, "initials": "LONGER", "username": "u" * 41, "role": "grower"}
    page = client.post(reverse("person-new"), given)
    assert page.status_code == 422
    assert [text.split(",")[0] for text in select(page, ".errorlist li")] == [
        "These are 81 characters",
        "These are 6 characters",
        "These are 41 characters",
    ]
    assert elements(page, "main [name=name]")[0].get("value") == "N" * 81
