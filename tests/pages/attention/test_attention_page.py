"""The page of those worth a look: what it says, for whom, and what it never says."""

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.engine.attention import Attendance, Unchecked, WentBack
from progress.engine.plateaus import Standstill
from progress.engine.terms import Decision
from progress.models import Athlete, GymClass
from progress.usecases import see_attention as room
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.compare_attendance import Compared
from progress.usecases.look_over import LookedOver
from tests import makers

DAY = timedelta(days=1)
BLAME = re.compile(r"\b(bad|fail\w*|poor|worst|lazy|fault|behind|problem|slow)\b", re.IGNORECASE)


def page_of(client: Client, query: str = "") -> str:
    response = client.get(reverse("attention") + query)
    assert response.status_code == 200
    return response.content.decode()


def section(page: str, heading: str) -> str:
    return page.partition(f'aria-labelledby="{heading}"')[2].partition("</section>")[0]


def text_of(part: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", part).split())


@pytest.fixture
def all_found(monkeypatch: pytest.MonkeyPatch, today: date) -> None:
    """Ada is on every list, Bo is on hold and not checked."""
    until = today - DAY
    stuck = Standstill("ada", "hanging", 84, 0.0, 0.2, 0.5, 0.04, 0.8, 30, enough=True, stuck=True)
    back = WentBack(
        "ada", 1, Decision.READY, Decision.NEARLY, 0.8, 0.5, ("HANG-1",), ("LAND-1",), 4, False
    )
    less = Attendance("ada", 8, 8, 2, 8, 0.004, dropped=True)
    day = (until - 35 * DAY).toordinal()
    found = LookedOver(
        until=until,
        athletes=frozenset({"ada", "bo"}),
        held=frozenset({"bo"}),
        stuck=(stuck,),
        can_tell=frozenset({"ada"}),
        unchecked=(Unchecked("bo", None, None, True), Unchecked("ada", day, 35, False)),
        went_back=(back,),
        attendance={"ada": Compared(less, 1.4)},
    )
    monkeypatch.setattr(room, "look_over", lambda **_: found)


@pytest.mark.usefixtures("monday_class", "all_found")
class TestWhatItSays:
    def test_no_gain_names_window_tries_and_what_was_expected(self, lead_client: Client) -> None:
        said = text_of(section(page_of(lead_client), "gain"))
        assert "For 1 of the 2 children the evidence cannot tell yet" in said
        assert "In 12 weeks children here usually go from 60% clean to 71% at a skill." in said
        assert "On Hanging: the chance of the gain looked for is 4%, after 30 tries in 12" in said
        assert "What to do:" in said

    def test_those_on_hold_stand_apart_from_those_not_checked(self, lead_client: Client) -> None:
        part = section(page_of(lead_client), "unchecked")
        listed, _, held = part.partition("<details")
        assert "Last checked on 25 Jan 2026, 5 weeks ago." in text_of(listed)
        assert "Bo" not in text_of(listed)
        assert "Never checked; here since 1 Sep 2025." in text_of(held)

    def test_going_back_names_then_now_and_the_skills(self, lead_client: Client) -> None:
        said = text_of(section(page_of(lead_client), "back"))
        assert "Ready four weeks before, nearly now." in said
        assert "Less sure than then: Hang for ten seconds." in said
        assert "Only in need of a fresh check: Land still on two feet." in said
        assert "4 tries in between." in said

    def test_coming_less_often_says_what_luck_does(self, lead_client: Client) -> None:
        said = text_of(section(page_of(lead_client), "less"))
        assert "Came to 2 of the last 8 meetings, and to 8 of the 8 before." in said
        assert "about 1 child would stand here" in said

    def test_names_lead_to_the_athletes_page_and_the_evidence(self, lead_client: Client) -> None:
        page = page_of(lead_client)
        assert page.count(f'href="{reverse("athlete_page", args=["ada"])}"') == 4
        assert page.count(f'href="{reverse("evidence", args=["ada"])}"') == 4

    def test_nobody_is_blamed(self, lead_client: Client) -> None:
        main = text_of(page_of(lead_client).partition("<main")[2].partition("</main>")[0])
        assert BLAME.findall(main) == []

    def test_each_list_is_counted_in_the_links_at_the_top(self, lead_client: Client) -> None:
        counts = re.findall(
            r'href="#(\w+)">[^<]+<span class="number soft">(\d+)<', page_of(lead_client)
        )
        assert counts == [("gain", "1"), ("unchecked", "1"), ("back", "1"), ("less", "1")]


class TestClasses:
    def test_a_class_alone(self, lead_client: Client, monday_class: GymClass, cy: Athlete) -> None:
        assert "Cy" in section(page_of(lead_client), "unchecked")
        page = page_of(lead_client, "?class=monday")
        assert "Cy" not in section(page, "unchecked")
        assert '<option value="monday" selected>' in page

    def test_an_unknown_class_means_everybody(self, lead_client: Client, cy: Athlete) -> None:
        assert "Cy" in section(page_of(lead_client, "?class=splendid"), "unchecked")

    def test_a_class_nobody_is_in_says_so(self, lead_client: Client, cy: Athlete) -> None:
        makers.make_class("nobody-in-it")
        assert "Nobody was in this class" in page_of(lead_client, "?class=nobody-in-it")

    def test_a_very_large_gym_asks_for_a_class(
        self, lead_client: Client, monday_class: GymClass, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(room.see_attention.__kwdefaults__, "most_at_once", 1)
        page = page_of(lead_client)
        assert "Choose a class first" in page
        assert 'aria-labelledby="gain"' not in page
        assert 'aria-labelledby="gain"' in page_of(lead_client, "?class=monday")


class TestNothingToSay:
    def test_an_empty_gym(self, lead_client: Client) -> None:
        assert "There are no athletes yet" in page_of(lead_client)

    def test_each_list_has_its_own_words_for_nobody(
        self, lead_client: Client, ada: Athlete
    ) -> None:
        page = page_of(lead_client)
        assert "nobody can be judged yet" in section(page, "gain")
        assert "was checked in the last four weeks" in section(page, "unchecked")
        assert "readiness is less than it was" in section(page, "back")
        assert "No registers to compare yet" in section(page, "less")


def test_the_number_of_queries_does_not_grow_with_the_lists(
    lead_client: Client, monday_class: GymClass, today: date
) -> None:
    calibrate_gym(today=today - DAY)

    def queries() -> int:
        page_of(lead_client)
        with CaptureQueriesContext(connection) as asked:
            page_of(lead_client)
        return len(asked)

    few = queries()
    for _ in range(30):
        makers.make_athlete()
    assert queries() == few
    assert few <= 20


def test_a_long_list_is_shown_page_by_page(lead_client: Client, cy: Athlete) -> None:
    for number in range(40):
        makers.make_athlete(f"kid-{number:02d}")
    first = section(page_of(lead_client), "unchecked")
    second = section(page_of(lead_client, "?unchecked-page=2"), "unchecked")
    assert (first.count('class="name"'), second.count('class="name"')) == (25, 16)
