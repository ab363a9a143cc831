"""The lead's page of weeks to each tier: words, table and picture."""

import json
import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, StaffMember, Tier
from tests import makers

WEEK = timedelta(weeks=1)
URL = "time_to_tier"

pytestmark = pytest.mark.usefixtures("tiers")


def page_of(client: Client) -> str:
    response = client.get(reverse(URL))
    assert response.status_code == 200
    return response.content.decode()


def figure_of(page: str, number: int = 2) -> dict[str, list[dict[str, object]]]:
    found = re.findall(rf'<script id="times-{number}" type="application/json">(.+?)</script>', page)
    return json.loads(found[0]) if found else {}


@pytest.fixture
def children(lead: StaffMember, today: date) -> Callable[[int, int], None]:
    """Makes so many who moved up and so many on the way, joined over a year in two terms."""

    def make(moved: int, waiting: int) -> None:
        for number in range(moved + waiting):
            joined = date(2025, 1 + (number % 2) * 8, 6)
            one = makers.make_athlete(joined=joined, name=f"Nobody-{number}")
            if number < moved:
                decided = makers.moment(joined + (6 + number) * WEEK)
                makers.make_sign_off(one, lead, decided_at=decided)
                Athlete.objects.filter(pk=one.pk).update(tier=2)

    return make


def test_it_says_by_when_half_are_there_what_under_way_means_and_names_nobody(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    children(12, 4)
    page = page_of(lead_client)

    assert "To tier 2, Tier 2" in page
    assert re.search(r"Half are there by about \d+ weeks \(90% sure: \d+ to \d+\)", page)
    assert "Still under way</strong> means" in page
    assert "Faster is not better" in page
    assert "Nobody-" not in page


def test_the_table_has_the_counts_for_all_and_for_each_term(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    children(12, 4)
    page = page_of(lead_client)

    rows = re.findall(r'<th scope="row" role="rowheader">([^<]+)</th>', page)
    assert rows == ["All children", "Joined January to April", "Joined September to December"]
    everybody = page.partition(">All children</th>")[2].partition("</tr>")[0]
    assert re.findall(r"<div>(\d+)</div>", everybody) == ["16", "12", "4", "0"]


def test_curves_are_steps_told_apart_by_dash_shape_and_name(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    children(12, 4)
    lines = [
        trace
        for trace in figure_of(page_of(lead_client))["data"]
        if trace["meta"]["part"] == "line"  # type: ignore[index]
    ]

    assert len(lines) >= 2
    for what in (("line", "dash"), ("marker", "symbol")):
        looks = [trace[what[0]][what[1]] for trace in lines]  # type: ignore[index]
        assert len(set(looks)) == len(lines)
    assert len({str(trace["name"]) for trace in lines}) == len(lines)
    assert all(trace["line"]["shape"] == "hv" for trace in lines)  # type: ignore[index]


def test_numbers_in_the_picture_can_be_read_by_a_browser_when_everybody_is_there(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    """The curve has no bounds once nobody is left below; JSON knows no such number."""
    children(6, 0)
    page = page_of(lead_client)

    assert "NaN" not in page
    assert figure_of(page)["data"]


def test_few_children_have_no_curve_and_it_is_said(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    children(1, 2)
    page = page_of(lead_client)

    assert "Only 3 children so far: too few" in page
    assert figure_of(page) == {}


def test_fewer_than_half_is_said_where_it_is_so(
    lead_client: Client, children: Callable[[int, int], None]
) -> None:
    children(3, 17)
    assert "Fewer than half have reached it yet." in page_of(lead_client)


def test_a_gym_without_a_move_is_told_when_the_picture_begins(lead_client: Client) -> None:
    makers.make_athlete()
    assert "begins with the first sign-off" in page_of(lead_client)


def test_a_gym_without_anybody_has_a_page(lead_client: Client) -> None:
    Tier.objects.all().delete()
    assert "No move up is on record yet" in page_of(lead_client)


def test_a_coach_does_not_learn_that_there_is_such_a_page(coach_client: Client) -> None:
    assert coach_client.get(reverse(URL)).status_code == 404


def test_a_second_look_takes_few_questions_to_the_database(
    lead_client: Client,
    children: Callable[[int, int], None],
    django_assert_max_num_queries: pytest.FixtureRequest,
) -> None:
    children(12, 10)
    page_of(lead_client)
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        page_of(lead_client)
