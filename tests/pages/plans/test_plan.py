"""The plan of a class: what it says, whom it lets in, how much it asks of the database."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.models import (
    Athlete,
    GymClass,
    Meeting,
    Setup,
    Skill,
    StaffMember,
    Variant,
)
from tests import makers
from tests.pages.plans.full_hall import fill_hall
from tests.pages.plans.reading import cell_of, page_of, text_of

# Who is asking takes five, the answers fifteen with choices made by hand.
PLAN_QUERIES = 20
DAY = timedelta(days=1)


@pytest.mark.usefixtures("monday_class", "floor")
class TestWhoMayComeIn:
    @pytest.mark.parametrize("name", ["class_plan", "plan_print"])
    def test_coaches_and_the_lead_and_nobody_else(
        self, name: str, request: pytest.FixtureRequest
    ) -> None:
        codes = {"coach": 200, "lead": 200, "desk": 404, "guardian": 404, "outsider": 404}
        for role, code in (codes | {"anonymous": 302}).items():
            client: Client = request.getfixturevalue(f"{role}_client")
            assert client.get(reverse(name, args=["monday"])).status_code == code, role

    @pytest.mark.parametrize("name", ["move", "undo", "reason", "adults", "challenge"])
    def test_changes_are_for_coaches_and_the_lead_and_only_sent_by_form(
        self, name: str, request: pytest.FixtureRequest
    ) -> None:
        address = reverse(f"plan_{name}", args=["monday"])
        for role, code in {"desk": 404, "guardian": 404, "outsider": 404, "anonymous": 302}.items():
            client: Client = request.getfixturevalue(f"{role}_client")
            assert client.post(address).status_code == code, role
        coach: Client = request.getfixturevalue("coach_client")
        assert coach.get(address).status_code == 405


@pytest.mark.usefixtures("monday_class", "floor")
class TestDays:
    def test_today_unless_a_later_meeting_is_asked_for(self, coach_client: Client) -> None:
        Setup.objects.update(week=None)
        assert "Today, Monday 2 March" in text_of(page_of(coach_client))
        later = page_of(coach_client, query="?day=2026-03-09")
        assert "Monday 9 March" in text_of(later)
        assert 'name="day" value="2026-03-09"' in later

    @pytest.mark.parametrize(
        ("asked", "why"),
        [
            ("soon", "“soon” is no day"),
            ("2026-02-30", "is no day"),
            ("2026-02-23", "is over"),
            ("2026-03-03", "does not meet on Tue 3 Mar"),
            ("2027-03-01", "too far to plan for"),
        ],
    )
    @pytest.mark.parametrize("name", ["class_plan", "plan_print"])
    def test_a_day_without_a_plan_says_why_and_which_have_one(
        self, coach_client: Client, name: str, asked: str, why: str
    ) -> None:
        response = coach_client.get(reverse(name, args=["monday"]) + f"?day={asked}")

        assert response.status_code == 400
        text = text_of(response.content.decode())
        assert why in text
        assert "Today, Monday 2 March" in text
        assert "Monday 9 March" in text

    def test_an_extra_meeting_on_another_weekday_can_be_planned(
        self, coach_client: Client, monday_class: GymClass
    ) -> None:
        makers.make_meeting(monday_class, makers.TODAY + DAY)
        assert "Tuesday 3 March" in text_of(page_of(coach_client, query="?day=2026-03-03"))

    def test_nothing_is_changed_on_a_day_that_is_over(self, coach_client: Client) -> None:
        sent = {"adults": "3", "spotters": "1", "day": "2026-02-23"}
        assert coach_client.post(reverse("plan_adults", args=["monday"]), sent).status_code == 400
        assert not Meeting.objects.exists()


@pytest.mark.usefixtures("monday_class", "floor")
class TestGroups:
    def test_every_cell_has_variant_step_and_chance_in_words(self, coach_client: Client) -> None:
        page = page_of(coach_client)

        for who in ("Ada", "Bo"):
            for station in ("Jump down", "Bars"):
                cell = cell_of(page, who, station)
                assert re.match(r"(jump|bars)[+-]\d (easier|base|harder), ", cell), cell
                assert re.search(r"about \d in 10 clean|nearly every try|hardly any", cell)

    def test_what_is_barred_is_listed_with_why_and_has_no_button(
        self, coach_client: Client
    ) -> None:
        page = page_of(coach_client)

        assert "Harder: bars+1 not yet: needs Hang for ten seconds" in cell_of(page, "Bo", "Bars")
        assert "athlete=bo&amp;station=bars&amp;to=code%3Abars%2B0" in page
        assert "athlete=bo&amp;station=bars&amp;to=code%3Abars%2B1" not in page

    def test_where_an_adult_stands_is_marked(self, coach_client: Client) -> None:
        Variant.objects.filter(station__code="jump").update(spotter=True)
        cell = cell_of(page_of(coach_client), "Ada", "Jump down")
        assert "adult stands here" in cell

    def test_who_starts_nowhere_is_listed_with_why(
        self, coach_client: Client, monday_class: GymClass, bo: Athlete, cy: Athlete
    ) -> None:
        makers.make_hold(bo)
        makers.enrol(cy, monday_class)
        makers.make_meeting(monday_class, away=[cy])

        text = text_of(page_of(coach_client)).partition("Start on no loop")[2]

        assert "Bo : on hold: ask the lead" in text
        assert "Cy : away" in text
        assert "Ada" not in text.partition("Waiting in line")[0]

    def test_groups_go_on_to_the_next_loop_after_a_change(
        self, coach_client: Client, floor: Setup
    ) -> None:
        makers.make_loop(floor, "second", order=1, stations=floor.stations.all())
        first, second = (
            [re.findall(r'plan-name">(\w+)<', part) for part in self.loops(coach_client, query)]
            for query in ("", "?after=1")
        )
        assert sorted(name for names in first for name in names) == ["Ada", "Bo"]
        assert second == first[::-1]
        assert self.loops(coach_client, "?after=7") == self.loops(coach_client, "")

    def loops(self, client: Client, query: str) -> list[str]:
        page = re.sub(r"csrf[^>]+", "", page_of(client, query=query))
        return [part.partition("</table>")[0] for part in page.split('class="plan-loop"')[1:]]


class TestAdultsAndPractice:
    def test_the_form_starts_as_usual_and_stores_what_is_said_for_the_day(
        self, coach_client: Client, monday_class: GymClass, floor: Setup
    ) -> None:
        GymClass.objects.update(adults=4, spotters=2)
        page = page_of(coach_client)
        assert re.search(r'name="adults" value="4"', page)
        assert "As usual: 4." in page

        sent = {"adults": "3", "spotters": "1"}
        coach_client.post(reverse("plan_adults", args=["monday"]), sent)

        meeting = Meeting.objects.get()
        assert (meeting.adults, meeting.spotters) == (3, 1)
        assert re.search(r'name="adults" value="3"', page_of(coach_client))

    def test_numbers_that_cannot_be_stay_on_the_page_with_why(
        self, coach_client: Client, monday_class: GymClass, floor: Setup
    ) -> None:
        for sent, why in (
            ({"adults": "1", "spotters": "2"}, "but only 1 on the floor"),
            ({"adults": "many", "spotters": ""}, "Enter a whole number"),
        ):
            response = coach_client.post(reverse("plan_adults", args=["monday"]), sent)
            assert response.status_code == 422
            assert why in response.content.decode()
        assert not Meeting.objects.exists()

    def test_a_class_and_a_child_can_be_asked_for_gentler_practice(
        self, coach_client: Client, monday_class: GymClass, floor: Setup, bo: Athlete
    ) -> None:
        address = reverse("plan_challenge", args=["monday"])
        coach_client.post(address, {"tap": "challenge=bolder"})
        response = coach_client.post(address, {"tap": "athlete=bo&challenge=gentler"}, follow=True)

        monday_class.refresh_from_db()
        bo.refresh_from_db()
        assert (monday_class.challenge, bo.challenge) == ("bolder", "gentler")
        assert "Bo practises gentler than usual, from now on." in response.content.decode()
        assert coach_client.post(address, {"tap": "challenge=wild"}).status_code == 404


class TestEmptyAndFull:
    def test_no_floor_nobody_and_no_loop_for_this_area_are_said(
        self, coach_client: Client, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_class("empty")
        assert "Nobody is enrolled" in page_of(coach_client, "empty")
        assert "No floor is set for this week" in page_of(coach_client)
        setup = makers.make_setup()
        makers.make_loop(setup, "tiny", area=makers.make_area("small", small=True))
        assert "no loop in this class’s area" in page_of(coach_client)
        makers.make_loop(setup, "bare")
        page = page_of(coach_client)
        assert "This loop has no stations yet" in page
        assert "Nobody starts on a loop yet" in page

    @pytest.mark.parametrize("name", ["class_plan", "plan_print"])
    def test_thirty_athletes_ask_no_more_of_the_database_than_three(
        self,
        name: str,
        coach_client: Client,
        coach: StaffMember,
        small_catalogue: dict[str, Skill],
    ) -> None:
        full = fill_hall(small_catalogue, loops=2)
        few = makers.make_class("few", athletes=full.athletes.all()[:3], adults=3)
        for gym_class in (full, few):
            makers.make_meeting(gym_class)
            tap = {"tap": "athlete=c00&station=s0-1&to=code:"}
            coach_client.post(reverse("plan_move", args=[gym_class.code]), tap)
            page_of(coach_client, gym_class.code)

        counts = []
        for gym_class in (full, few):
            with CaptureQueriesContext(connection) as asked:
                page_of(coach_client, gym_class.code, name=name)
            counts.append(len(asked))

        assert counts[0] == counts[1] <= PLAN_QUERIES
