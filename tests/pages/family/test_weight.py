"""What a family's phone has to fetch and what the page asks of the database."""

import gzip
import re
from datetime import timedelta

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from progress.models import Athlete, Guardian, Guardianship, HomeIdea, Note, Skill, StaffMember
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue
from tests import makers

HEAVIEST = 60_000  # bytes, compressed
MOST_QUERIES = 12
# Files that the page fetches by itself; what a script loads later is named in data attributes.
FETCHED = re.compile(r'<(?:link|script|img|use)\b[^>]*?\s(?:href|src)="/static/([^"#]+)')


@pytest.fixture
def full_client(
    linked_client: Client, guardian: Guardian, ada: Athlete, coach: StaffMember, lead: StaffMember
) -> Client:
    """Two children in a gym with the whole starter catalogue, with some of everything to show."""
    load_catalogue(source=starter_catalogue())
    HomeIdea.objects.update(active=True)
    eve = makers.make_athlete("eve", name="Eve")
    Guardianship.objects.create(guardian=guardian, athlete=eve)
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in range(50, 0, -8)]
    for child in (ada, eve):
        for skill in Skill.objects.filter(tier_id=1):
            makers.make_attempts(child, skill, ["clean"] * 7, days=days, coaches=(coach, lead))
        Note.objects.create(
            athlete=child, text="Well waited.", for_family=True, written_at=makers.moment(hour=9)
        )
    makers.make_hold(eve, ladders=[Skill.objects.get(code="ROPE-1").ladder])
    linked_client.get(reverse("family_page"))  # the first visit learns from the log, once a week
    return linked_client


def test_the_page_weighs_less_than_sixty_kilobytes_before_a_chart_is_opened(
    full_client: Client,
) -> None:
    page = full_client.get(reverse("family_page")).content
    assert b"course-line" in page
    named = set(FETCHED.findall(page.decode()))
    assert {"progress/gym.css", "progress/family.css", "progress/charts.js"} <= named
    assert not [name for name in named if "plotly" in name]

    # What it weighed is told where it weighs too much.
    weight = {name: packed(name) for name in named} | {"page": len(gzip.compress(page))}
    assert sum(weight.values()) < HEAVIEST, weight


def packed(name: str) -> int:
    """The compressed size of a static file, in bytes."""
    path = finders.find(name)
    assert path is not None, name
    with open(path, "rb") as file:
        return len(gzip.compress(file.read()))


def test_two_children_take_twelve_queries_at_most_and_a_third_no_more(
    full_client: Client, guardian: Guardian, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(MOST_QUERIES):
        full_client.get(reverse("family_page"))
    Guardianship.objects.create(guardian=guardian, athlete=makers.make_athlete("ivy"))
    with django_assert_max_num_queries(MOST_QUERIES):
        full_client.get(reverse("family_page"))
