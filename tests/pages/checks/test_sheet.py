"""What the check sheet shows, as it comes from the gym's computer."""

import json
import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import Athlete, GymClass, Setup, Skill
from tests import makers
from tests.pages.checks.sheets import (
    cell,
    cells_of,
    marked,
    open_page,
    row_of,
    tabs,
)

pytestmark = pytest.mark.usefixtures("monday_class", "floor")

# Who is asking takes five, the answers fifteen; the sheet itself adds the rest.
SHEET_QUERIES = 22


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    """A skill that tonight's floor practises."""
    return small_catalogue["HANG-1"]


class TestWhatItShows:
    def test_one_skill_is_in_view_and_the_others_are_a_link_away(
        self, coach_client: Client, ada: Athlete, hang: Skill
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")

        assert "HANG-1" in tabs(page)
        assert len(tabs(page)) > 1
        for number, code in enumerate(tabs(page)):
            assert f'href="?skill={code}"' in page
            shown = f'class="today" data-k="{number}">' in row_of(page, ada)
            assert shown is (code == "HANG-1")
        assert marked(page, cell(ada, hang)) == ""

    def test_by_athlete_every_skill_is_in_view(self, coach_client: Client, ada: Athlete) -> None:
        page = open_page(coach_client, "?by=athlete")

        assert row_of(page, ada).count("hidden>") == 0
        assert len(re.findall(rf'name="result-{ada.pk}-\d+"', page)) == len(tabs(page))

    def test_an_unknown_skill_means_the_first(self, coach_client: Client) -> None:
        page = open_page(coach_client, "?skill=no-such-skill")

        first = tabs(page)[0]
        assert f'data-tab="{first}" aria-current="page"' in page

    def test_a_column_says_why_it_is_there(self, coach_client: Client) -> None:
        page = open_page(coach_client)

        assert re.search(r"Worth checking for \d tonight|On the floor for \d", page)

    def test_the_engines_checks_are_marked_with_a_shape_and_a_word(
        self, coach_client: Client
    ) -> None:
        page = open_page(coach_client)

        assert '#s-check"/></svg>Check</span>' in page
        assert page.count('<symbol id="s-check"') == 1

    def test_the_last_result_before_today_says_how_long_ago(
        self, coach_client: Client, ada: Athlete, hang: Skill
    ) -> None:
        said = cells_of(open_page(coach_client, "?skill=HANG-1"), ada, hang)

        assert "Clean" in said
        assert "7 days ago" in said

    def test_a_missing_need_and_a_gate_not_held_are_said_in_words(
        self, coach_client: Client, small_catalogue: dict[str, Skill]
    ) -> None:
        em = makers.make_athlete("em", name="Em")
        makers.enrol(em, GymClass.objects.get(code="monday"))
        makers.make_attempt(em, small_catalogue["LAND-2"], "miss")

        said = cells_of(open_page(coach_client, "?skill=LAND-2"), em, small_catalogue["LAND-2"])

        assert "Not yet for this child" in said
        assert "Needs Land still on two feet still first." in said
        assert "Safety skill, not held yet" in said

    def test_look_fors_and_the_caution_are_at_hand(
        self, coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(ada, small_catalogue["LAND-2"], "miss")
        page = open_page(coach_client, "?skill=LAND-2")

        assert "Knees bend" in page
        assert "Mat rated by its maker for the height." in page

    def test_todays_tries_stand_in_order_and_lead_to_their_correction(
        self, coach_client: Client, ada: Athlete, hang: Skill
    ) -> None:
        for result, minute in (("miss", 1), ("clean", 2)):
            at = makers.moment(hour=10, minute=minute)
            makers.make_attempt(ada, hang, result, at=at, uid=f"try-{minute}")

        said = cells_of(open_page(coach_client, "?skill=HANG-1"), ada, hang)

        assert said.index("#s-result-miss") < said.rindex("#s-result-clean")
        assert reverse("correct_attempt", args=["ada", "try-1"]) in said

    def test_a_held_skill_shows_the_hold_and_nothing_to_mark(
        self, coach_client: Client, ada: Athlete, bo: Athlete, hang: Skill
    ) -> None:
        makers.make_hold(bo, ladders=[hang.ladder])
        makers.make_attempt(ada, hang)  # a skill tried today stays on the sheet

        page = open_page(coach_client, "?by=athlete")
        held = cells_of(page, bo, hang)

        assert "On hold" in held
        assert "radio" not in held
        assert "<select" not in held
        assert "<fieldset" not in held
        assert "<select" in row_of(page, bo)  # the other ladders go on

    def test_the_script_gets_what_it_needs_as_json(
        self, coach_client: Client, ada: Athlete, hang: Skill
    ) -> None:
        page = open_page(coach_client)

        found = json.loads(re.findall(r'id="sheet-data" type="application/json">(.+?)<', page)[0])

        assert found["coach"] == "kim"
        assert found["sendUrl"] == reverse("send_checks", args=["monday"])
        assert [column["code"] for column in found["columns"]] == tabs(page)
        assert {column["name"] for column in found["columns"]} >= {str(hang)}

    def test_the_height_rules_of_a_column_are_said_once_by_skill_name(
        self, coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("DOWN-1", ladder="down", name="Climb down")
        makers.make_attempt(ada, small_catalogue["LAND-2"], "miss")

        page = " ".join(open_page(coach_client, "?skill=LAND-2").split())

        rule = "<strong>Feet above 0.6 m:</strong> only with Land from knee height and Climb down"
        assert page.count(rule) == 1
        assert page.count("Feet above") == 1

    def test_a_gym_without_skills_is_told_what_to_do(self, coach_client: Client) -> None:
        makers.make_class("empty")

        assert "Nobody is enrolled" in open_page(coach_client, path="/classes/empty/checks/")


def test_thirty_athletes_ask_no_more_of_the_database_than_twelve(
    coach_client: Client, small_catalogue: dict[str, Skill], today: date, floor: Setup
) -> None:
    for code, size in (("few", 12), ("full", 30)):
        fill(makers.make_class(code), size, small_catalogue, today)
    asked = {}
    for code in ("few", "few", "full"):  # the first page of a day also learns from the log
        for query in ("", "?by=athlete"):
            with CaptureQueriesContext(connection) as queries:
                open_page(coach_client, query, path=f"/classes/{code}/checks/")
            asked[code, query] = len(queries)

    assert len(set(asked.values())) == 1
    assert asked["full", ""] <= SHEET_QUERIES


def fill(gym_class: GymClass, size: int, skills: dict[str, Skill], today: date) -> None:
    """Athletes with a history, tries today, notes, and some holds and absences."""
    athletes = [makers.make_athlete(f"{gym_class.code}-{n:02d}") for n in range(size)]
    days = [today - timedelta(weeks=weeks) for weeks in (3, 2, 1)]
    for number, athlete in enumerate(athletes):
        makers.enrol(athlete, gym_class)
        makers.make_attempts(
            athlete, skills["LAND-1"], ["miss", "clean", "clean"], days=days[: 1 + number % 3]
        )
        makers.make_attempt(athlete, skills["HANG-1"], at=makers.moment(hour=10))
        athlete.notes.create(text="Likes to go first.")
        if number % 5 == 0:
            makers.make_hold(athlete, ladders=[skills["LAND-1"].ladder] if number else [])
    makers.make_meeting(gym_class, present=athletes[2:], away=athletes[:2])
