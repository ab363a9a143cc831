"""Narrowing, sorting and turning the pages of the board: all of it stands in the address."""

import re
from datetime import date, timedelta
from urllib.parse import parse_qs

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Athlete, Enrolment, GymClass, Standing
from tests import makers
from tests.makers_of_standings import make_standing
from tests.pages.move_up.reading import link_to, names, page_of

DAY, TODAY = timedelta(days=1), makers.TODAY
COLUMNS = ["Athlete", "Next tier", "Tier", "Class", "Age", "Last checked"]

pytestmark = pytest.mark.usefixtures("as_stored")


@pytest.fixture
def cast(monday_class: GymClass) -> None:
    """Ada and Bo on Mondays; Eli older, in tier 2, on hold; Fay young, never checked."""
    make_standing(Athlete.objects.get(code="ada"), "ready", p_ready=0.9)
    make_standing(Athlete.objects.get(code="bo"), holding_back=["HANG-1"])
    makers.make_skill("TOP-3", tier=3)
    eli = makers.make_athlete("eli", name="Eli", tier=2, birth_date=date(2012, 1, 1))
    make_standing(eli, holding_back=["HANG-2"], last_checked=TODAY - 40 * DAY)
    makers.make_hold(eli)
    fay = makers.make_athlete("fay", name="Fay", birth_date=date(2022, 1, 1))
    make_standing(fay, "needs_checks", last_checked=None)


@pytest.mark.usefixtures("cast")
class TestFilters:
    @pytest.mark.parametrize(
        ("query", "wanted"),
        [
            ("words=EL", ["Eli"]),
            ("tier=2", ["Eli"]),
            ("gym_class=monday", ["Ada", "Bo"]),
            ("skill=HANG-1", ["Bo"]),
            ("hold=yes", ["Eli"]),
            ("hold=no", ["Ada", "Fay", "Bo"]),
            ("unchecked=4", ["Fay", "Eli"]),
            ("unchecked=8", ["Fay"]),
            ("unchecked=never", ["Fay"]),
            ("age_from=8&age_to=8", ["Ada", "Bo"]),
            ("age_from=9", ["Eli"]),
            ("age_to=4", ["Fay"]),
            ("decision=building&hold=no", ["Bo"]),
            ("tier=1&gym_class=monday&decision=ready", ["Ada"]),
        ],
    )
    def test_each_keeps_those_it_names_and_they_go_together(
        self, lead_client: Client, query: str, wanted: list[str]
    ) -> None:
        page = page_of(lead_client, f"?{query}")

        assert names(page) == wanted
        assert "Clear all filters" in page

    @pytest.mark.parametrize(
        "query",
        ["tier=99", "skill=NO-SUCH", "hold=perhaps", "unchecked=soon", "age_from=old", "age_to=-1"],
    )
    def test_what_makes_no_sense_is_told_and_left_out(
        self, lead_client: Client, query: str
    ) -> None:
        page = page_of(lead_client, f"?{query}")

        assert len(names(page)) == 4
        assert 'class="errorlist"' in page

    def test_an_empty_form_narrows_nothing(self, lead_client: Client) -> None:
        fields = "words=&tier=&gym_class=&skill=&hold=&unchecked=&age_from=&age_to="
        page = page_of(lead_client, f"?{fields}")

        assert len(names(page)) == 4
        assert "Clear all filters" not in page

    def test_the_form_shows_what_is_chosen_and_keeps_decision_and_order(
        self, lead_client: Client
    ) -> None:
        page = page_of(lead_client, "?tier=2&decision=building&sort=-age")

        assert re.search(r'<option value="2" selected>', page)
        assert re.search(r"<details[^>]* open", page)
        assert '<input type="hidden" name="decision" value="building">' in page
        assert '<input type="hidden" name="sort" value="-age">' in page

    @pytest.mark.parametrize("column", COLUMNS)
    def test_each_column_sorts_both_ways_and_keeps_the_filter(
        self, lead_client: Client, column: str
    ) -> None:
        once = page_of(lead_client, link_to(page_of(lead_client, "?hold=no"), column))
        twice = page_of(lead_client, link_to(once, column))

        states = [
            re.findall(rf'aria-sort="(\w+)"><a class="sort" href="[^"]+">{column}<', page)[0]
            for page in (once, twice)
        ]
        assert sorted(states) == ["ascending", "descending"]
        assert sorted(names(once)) == sorted(names(twice)) == ["Ada", "Bo", "Fay"]

    @pytest.mark.parametrize(
        ("sort", "wanted"),
        [
            ("name", ["Ada", "Bo", "Eli", "Fay"]),
            ("-readiness", ["Bo", "Eli", "Fay", "Ada"]),
            ("-tier", ["Eli", "Ada", "Bo", "Fay"]),
            ("age", ["Fay", "Ada", "Bo", "Eli"]),
            ("-days_since", ["Fay", "Eli", "Ada", "Bo"]),
            ("classes", ["Ada", "Bo", "Eli", "Fay"]),
            ("nonsense", ["Ada", "Fay", "Bo", "Eli"]),
        ],
    )
    def test_the_order_asked_for(self, lead_client: Client, sort: str, wanted: list[str]) -> None:
        assert names(page_of(lead_client, f"?sort={sort}")) == wanted


def many(count: int) -> GymClass:
    """So many athletes with an answer and a place in a class each, stored in one go."""
    gym_class, tier = makers.make_class("full", name="Full class"), makers.make_tier(1)
    athletes = Athlete.objects.bulk_create(
        Athlete(code=f"m-{n:05d}", name=f"Child {n:05d}", tier=tier) for n in range(count)
    )
    Standing.objects.bulk_create(
        Standing(
            athlete=athlete,
            decision="nearly",
            p_ready=0.5,
            tier=1,
            next_tier=2,
            on_day=TODAY,
            worked_out=0,
            last_checked=TODAY,
            holding_back=["HANG-1"],
        )
        for athlete in athletes
    )
    Enrolment.objects.bulk_create(
        Enrolment(athlete=athlete, gym_class=gym_class, since=makers.JOINED) for athlete in athletes
    )
    makers.make_hold(athletes[0])
    return gym_class


class TestPages:
    def test_fifty_to_a_page_and_the_links_keep_filter_and_order(self, lead_client: Client) -> None:
        many(120)
        page = page_of(lead_client, "?skill=HANG-1&sort=-name")
        on = link_to(page, "On")

        assert len(names(page)) == 50
        assert "120 athletes, page 1 of 3." in page
        assert parse_qs(on[1:]) == {"skill": ["HANG-1"], "sort": ["-name"], "page": ["2"]}
        assert names(page_of(lead_client, on))[0] == "Child 00069"
        assert len(names(page_of(lead_client, "?page=3"))) == 20

    @pytest.mark.parametrize(("asked", "first"), [("99", "Child 00050"), ("x", "Child 00000")])
    def test_a_page_that_is_not_there_is_the_nearest(
        self, lead_client: Client, asked: str, first: str
    ) -> None:
        many(60)

        assert names(page_of(lead_client, f"?page={asked}"))[0] == first

    def test_the_address_does_not_say_how_long_a_page_is(self, lead_client: Client) -> None:
        many(60)

        assert len(names(page_of(lead_client, "?per_page=60"))) == 50

    @pytest.mark.parametrize("count", [1, 5000])
    @pytest.mark.parametrize(
        ("query", "queries"),
        [
            ("", 11),
            ("?skill=HANG-1&gym_class=full&hold=yes&unchecked=never&sort=classes&words=c", 7),
            ("?skill=HANG-1&gym_class=full&decision=nearly&sort=-readiness", 11),
            ("?_export=csv", 9),
        ],
    )
    def test_as_many_queries_at_any_size(
        self, lead_client: Client, count: int, query: str, queries: int
    ) -> None:
        """Beside those of bringing the answers up to date."""
        many(count)
        with CaptureQueriesContext(connection) as asked:
            lead_client.get(reverse("move_up_list") + query)

        assert len(asked) == queries
