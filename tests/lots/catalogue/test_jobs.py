"""The hand-book: a page a job, for whoever may do it with the way there."""

import pytest
from django.urls import reverse

from lots.catalogue.jobs import JOBS, parts_of
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def test_every_job_is_listed_and_its_page_has_every_step(client, grower):
    listed = elements(client.get(reverse("jobs")), "main .list a")
    assert [one.get("href") for one in listed] == [reverse("job", args=[name]) for name in JOBS]
    for name, job in JOBS.items():
        steps = select(client.get(reverse("job", args=[name])), "ol.steps li")
        for step, shown in zip(job.steps, steps, strict=True):
            assert "".join(says for says, _written in parts_of(step.says)) in shown


def test_the_way_there_is_shown_to_those_who_may_go(client, grower, django_user_model):
    page = reverse("job", args=["plan"])
    assert not elements(client.get(page), "ol.steps a")
    assert elements(client.get(reverse("job", args=["find"])), "ol.steps a[href='/lots/']")
    django_user_model.objects.filter(pk=grower.pk).update(role="manager")
    assert elements(client.get(page), "ol.steps a[href='/plan/']")


def test_there_is_no_page_for_another_job(client, grower):
    assert client.get("/how-to/fly/").status_code == 404
