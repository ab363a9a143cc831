"""The class list and the class page."""

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import GymClass, Setup, Skill
from tests import makers

# Who is asking takes five, the answers fourteen.
CLASS_PAGE_QUERIES = 15


def page_of(client: Client, code: str = "monday", query: str = "") -> str:
    response = client.get(reverse("class_page", args=[code]) + query)
    assert response.status_code == 200
    return response.content.decode()


def order_of(page: str, *names: str) -> list[str]:
    """The names in the order in which they head the rows of the first table."""
    table = page.partition("<tbody")[2].partition("</tbody>")[0]
    return sorted(names, key=lambda name: table.index(f">{name}</a>"))


def headings(page: str) -> list[tuple[str, str, str]]:
    """(aria-sort, link, words) of each sortable column of the first table."""
    pattern = r'aria-sort="(\w+)"><a class="sort" href="([^"]+)">([^<]+)<'
    return re.findall(pattern, page)


class TestClassList:
    @pytest.mark.usefixtures("monday_class")
    def test_todays_class_stands_first_and_leads_to_its_check_sheet(
        self, coach_client: Client
    ) -> None:
        makers.make_class("tuesday", name="Tuesday class", weekday=1)

        page = coach_client.get(reverse("class_list")).content.decode()

        assert page.index("Monday class") < page.index("Other days") < page.index("Tuesday class")
        assert reverse("check_sheet", args=["monday"]) in page

    def test_a_gym_without_classes_is_told_where_they_come_from(self, coach_client: Client) -> None:
        assert "no classes yet" in coach_client.get(reverse("class_list")).content.decode()


@pytest.mark.usefixtures("monday_class", "floor")
class TestClassPage:
    def test_each_athlete_has_a_decision_in_words_and_a_link(self, coach_client: Client) -> None:
        page = page_of(coach_client)

        for code in ("ada", "bo"):
            assert f'href="{reverse("athlete_page", args=[code])}"' in page
        assert re.search(
            r"#decision-[a-z-]+\"></use></svg>(Ready|Nearly|Building|Needs checks)", page
        )

    def test_every_athlete_meets_every_station_of_the_loop(self, coach_client: Client) -> None:
        page = page_of(coach_client)
        loop = page.partition('id="floor"')[2]

        assert loop.count('scope="row"') == 2
        assert loop.count('data-label="1. Jump down"') == 2
        assert loop.count('data-label="2. Bars"') == 2

    def test_reasons_are_shown_when_asked_for(self, coach_client: Client) -> None:
        assert "Hide the reasons" not in page_of(coach_client)
        assert "Hide the reasons" in page_of(coach_client, query="?why=1")

    def test_a_hold_is_said_plainly_at_the_top(self, coach_client: Client, bo: object) -> None:
        makers.make_hold(bo, reason="Sore wrist")  # type: ignore[arg-type]

        page = page_of(coach_client)

        assert page.index("On hold") < page.index("<table")
        assert "Sore wrist" in page
        assert "only a person lifts it" in page

    def test_tables_have_captions_scopes_and_sort_states(self, coach_client: Client) -> None:
        page = page_of(coach_client)

        assert page.count("<caption>") == page.count("<table")
        assert 'scope="col"' in page
        assert {state for state, _, _ in headings(page)} == {"none"}

    def test_a_sort_link_sorts_and_the_next_one_turns_it_round(self, coach_client: Client) -> None:
        link = {words: href for _, href, words in headings(page_of(coach_client))}["Athlete"]
        up = page_of(coach_client, query=link)
        state, link, _ = next(one for one in headings(up) if one[2] == "Athlete")
        down = page_of(coach_client, query=link)

        assert state == "ascending"
        assert order_of(up, "Ada", "Bo") == ["Ada", "Bo"]
        assert ("descending", "Athlete") in [(s, w) for s, _, w in headings(down)]
        assert order_of(down, "Ada", "Bo") == ["Bo", "Ada"]

    def test_every_sort_link_works(self, coach_client: Client) -> None:
        links = [href for _, href, _ in headings(page_of(coach_client))]

        assert len(links) == 4
        for link in links:
            page_of(coach_client, query=link)

    def test_an_unknown_sort_is_ignored(self, coach_client: Client) -> None:
        page_of(coach_client, query="?sort=password")

    def test_staff_are_told_that_a_person_decides(self, coach_client: Client) -> None:
        assert "A qualified person decides" in page_of(coach_client)


class TestEmptyAndFull:
    def test_a_class_without_athletes_says_so(self, coach_client: Client) -> None:
        makers.make_class("empty")

        assert "Nobody is enrolled" in page_of(coach_client, "empty")

    def test_a_class_without_a_floor_or_attempts_still_opens(
        self, coach_client: Client, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_class("new", athletes=[makers.make_athlete("em", name="Em")])

        page = page_of(coach_client, "new")

        assert "No floor is set" in page
        assert "Not checked yet" in page

    def test_thirty_athletes_ask_no_more_of_the_database_than_two(
        self, coach_client: Client, floor: Setup, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        makers.make_class("few")
        fill("few", 2, small_catalogue, today)
        makers.make_class("full")
        fill("full", 30, small_catalogue, today)
        page_of(coach_client, "few")  # the first page of a day also learns from the log

        with CaptureQueriesContext(connection) as few:
            page_of(coach_client, "few")
        with CaptureQueriesContext(connection) as full:
            page = page_of(coach_client, "full")

        assert page.partition('id="floor"')[0].count('scope="row"') == 30
        assert len(full) == len(few) <= CLASS_PAGE_QUERIES


def fill(code: str, size: int, skills: dict[str, Skill], today: date) -> None:
    """Enrol ``size`` athletes with a short history each, some of them on hold."""
    gym_class = GymClass.objects.get(code=code)
    days = [today - timedelta(weeks=weeks) for weeks in (3, 2, 1)]
    for number in range(size):
        athlete = makers.make_athlete(f"{code}-{number:02d}")
        makers.enrol(athlete, gym_class)
        makers.make_attempts(
            athlete, skills["LAND-1"], ["miss", "clean", "clean"], days=days[: 1 + number % 3]
        )
        if number % 10 == 0:
            makers.make_hold(athlete, ladders=[skills["LAND-1"].ladder] if number else [])
