"""The paper way out: the printed sheet, and typing it in."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from progress.models import Athlete, Attempt, GymClass, Meeting, Skill
from tests import makers
from tests.pages.checks.sheets import SHEET, open_page, uids

pytestmark = pytest.mark.usefixtures("monday_class", "floor")

PRINT, TYPING = SHEET + "print/", SHEET + "typing/"


def field(athlete: Athlete, skill: Skill) -> str:
    return f"try-{athlete.pk}-{skill.pk}"


def typed(page: str, **values: str) -> dict[str, str]:
    """What is sent with the page's hidden fields."""
    day = re.findall(r'type="hidden" name="day" value="([^"]+)"', page)[0]
    skills = re.findall(r'type="hidden" name="skill" value="([^"]+)"', page)
    return {**uids(page), "day": day, "skill": skills, **values}  # type: ignore[dict-item]


def results(athlete: Athlete, skill: Skill) -> list[str]:
    """Today's and earlier tries typed in, in the order they were made."""
    made = Attempt.objects.filter(athlete=athlete, skill=skill, stored_at=timezone.now())
    return list(made.order_by("at").values_list("result", flat=True))


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    return small_catalogue["HANG-1"]


@pytest.fixture
def before(ada: Athlete, bo: Athlete) -> int:
    return Attempt.objects.count()


class TestPrint:
    def test_it_has_three_boxes_for_each_athlete_and_skill(self, coach_client: Client) -> None:
        page = open_page(coach_client, path=PRINT)
        columns = page.count('<th scope="col">')

        assert columns >= 1
        assert page.count('class="box"') == 2 * columns * 3

    def test_it_says_what_to_look_for_how_to_mark_and_to_take_care(
        self, coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(ada, small_catalogue["LAND-1"])
        page = open_page(coach_client, path=PRINT)

        assert "Knees bend · Feet stay where they land" in page
        assert "<strong>h</strong> with help" in page
        assert "A qualified person decides" in page

    def test_a_held_athlete_gets_no_boxes(self, coach_client: Client, bo: Athlete) -> None:
        makers.make_hold(bo)
        page = open_page(coach_client, path=PRINT)
        row = page.partition('<th scope="row">Bo</th>')[2].partition("</tr>")[0]

        assert 'class="box"' not in row
        assert "On hold" in row


class TestTyping:
    @pytest.mark.parametrize("text", ["cch", "CCH", " c, c h"])
    def test_one_letter_a_try_in_order(
        self, coach_client: Client, ada: Athlete, hang: Skill, text: str
    ) -> None:
        page = open_page(coach_client, path=TYPING)

        response = coach_client.post(TYPING, typed(page, **{field(ada, hang): text}))

        assert response.status_code == 302
        assert response["Location"] == SHEET + "summary/"
        assert results(ada, hang) == ["clean", "clean", "assisted"]

    def test_sending_twice_stores_once(
        self, coach_client: Client, ada: Athlete, hang: Skill, before: int
    ) -> None:
        data = typed(open_page(coach_client, path=TYPING), **{field(ada, hang): "cn"})

        for _ in range(2):
            assert coach_client.post(TYPING, data).status_code == 302

        assert Attempt.objects.count() == before + 2

    @pytest.mark.parametrize(
        ("text", "said"), [("cx", "“x” means nothing here: use c, h or n."), ("c" * 11, "At most")]
    )
    def test_an_unknown_letter_is_named_at_its_cell_and_nothing_is_lost(
        self,
        coach_client: Client,
        ada: Athlete,
        bo: Athlete,
        hang: Skill,
        before: int,
        text: str,
        said: str,
    ) -> None:
        page = open_page(coach_client, path=TYPING)
        data = typed(page, **{field(ada, hang): text, field(bo, hang): "hhn"})

        response = coach_client.post(TYPING, data)
        again = response.content.decode()

        assert response.status_code == 422
        assert Attempt.objects.count() == before
        error = again.partition(f'id="{field(ada, hang)}-error">')[2].partition("</p>")[0]
        assert said in error
        assert f'name="{field(bo, hang)}" id="{field(bo, hang)}" value="hhn"' in again
        assert uids(again) == uids(page)

    def test_what_the_use_case_refuses_stands_at_its_cell(
        self, coach_client: Client, ada: Athlete, hang: Skill
    ) -> None:
        page = open_page(coach_client, path=TYPING)
        coach_client.post(TYPING, typed(page, **{field(ada, hang): "cc"}))

        again = coach_client.post(TYPING, typed(page, **{field(ada, hang): "cn"}))

        error = again.content.decode().partition(f'id="{field(ada, hang)}-error">')[2]
        assert "stored before with other content" in error.partition("</p>")[0]

    def test_an_earlier_day_is_stored_on_that_day_in_order(
        self, coach_client: Client, ada: Athlete, monday_class: GymClass, hang: Skill
    ) -> None:
        day = makers.TODAY - timedelta(days=7)
        page = open_page(coach_client, f"?day={day:%Y-%m-%d}&skill=HANG-1", path=TYPING)

        response = coach_client.post(TYPING, typed(page, **{field(ada, hang): "nhc"}))

        assert response.status_code == 302
        assert results(ada, hang) == ["miss", "assisted", "clean"]
        assert Meeting.objects.get().day == day

    @pytest.mark.parametrize("day", ["2026-03-09", "2025-01-01", "2026-02-31", "soon"])
    def test_a_day_that_cannot_be_means_today(self, coach_client: Client, day: str) -> None:
        assert "Monday 2 March" in open_page(coach_client, f"?day={day}", path=TYPING)

    def test_other_skills_can_be_chosen(
        self, coach_client: Client, small_catalogue: object
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-3", path=TYPING)

        assert re.findall(r'type="hidden" name="skill" value="([^"]+)"', page) == ["HANG-3"]

    def test_a_held_athlete_has_no_field_and_a_code_for_one_is_spoken_of(
        self, coach_client: Client, bo: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, path=TYPING)
        makers.make_hold(bo)

        again = coach_client.post(TYPING, typed(page, **{field(bo, hang): "c"}))

        assert "on hold or no longer in this class" in again.content.decode()
        assert f'name="{field(bo, hang)}"' not in again.content.decode()
        assert Attempt.objects.count() == before

    def test_nothing_typed_says_so(self, coach_client: Client) -> None:
        page = open_page(coach_client, path=TYPING)

        assert "Nothing is typed yet" in coach_client.post(TYPING, typed(page)).content.decode()
