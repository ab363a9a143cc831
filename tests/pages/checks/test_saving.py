"""The check sheet as a plain form: what is marked is stored once, and nothing marked is lost."""

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Attempt, Skill
from tests import makers
from tests.pages.checks.sheets import (
    SHEET,
    cell,
    cells_of,
    filled,
    marked,
    open_page,
    tabs,
    uids,
)

pytestmark = pytest.mark.usefixtures("monday_class", "floor")


@pytest.fixture
def before(ada: Athlete, bo: Athlete) -> int:
    """How many attempts there are before anything is sent."""
    return Attempt.objects.count()


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    """A skill that tonight's floor practises."""
    return small_catalogue["HANG-1"]


class TestSaving:
    def test_marks_are_stored_and_cells_left_out_are_not(
        self, coach_client: Client, ada: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")

        response = coach_client.post(
            SHEET + "?skill=HANG-1", filled(page, {cell(ada, hang): "assisted"})
        )

        assert response.status_code == 302
        assert response["Location"] == SHEET + "?skill=HANG-1"
        stored = Attempt.objects.order_by("-pk")[0]
        assert (stored.athlete, stored.skill, stored.result) == (ada, hang, "assisted")
        assert stored.coach is not None
        assert stored.coach.code == "kim"
        assert Attempt.objects.count() == before + 1
        assert "1 check is stored" in coach_client.get(response["Location"]).content.decode()

    def test_sending_the_same_sheet_twice_stores_it_once(
        self, coach_client: Client, ada: Athlete, hang: Skill, before: int
    ) -> None:
        data = filled(open_page(coach_client, "?skill=HANG-1"), {cell(ada, hang): "clean"})

        for _ in range(2):
            assert coach_client.post(SHEET, data).status_code == 302

        assert Attempt.objects.count() == before + 1

    def test_a_fresh_sheet_counts_as_a_fresh_try(
        self, coach_client: Client, ada: Athlete, hang: Skill, before: int
    ) -> None:
        for _ in range(2):
            page = open_page(coach_client, "?skill=HANG-1")
            coach_client.post(SHEET, filled(page, {cell(ada, hang): "clean"}))

        assert Attempt.objects.count() == before + 2

    def test_finishing_saves_and_goes_to_what_changed(
        self, coach_client: Client, ada: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")

        response = coach_client.post(SHEET, filled(page, {cell(ada, hang): "clean", "finish": "1"}))

        assert response["Location"] == reverse("sheet_summary", args=["monday"])
        assert Attempt.objects.count() == before + 1

    def test_finishing_with_nothing_marked_is_no_mistake(self, coach_client: Client) -> None:
        assert coach_client.post(SHEET, {"finish": "1"}).status_code == 302

    def test_saving_with_nothing_marked_says_so(self, coach_client: Client, before: int) -> None:
        response = coach_client.post(SHEET, filled(open_page(coach_client), {}))

        assert response.status_code == 422
        assert "Nothing is marked yet" in response.content.decode()
        assert Attempt.objects.count() == before


class TestRefusing:
    def test_an_error_stands_beside_its_cell_and_every_other_mark_is_kept(
        self, coach_client: Client, ada: Athlete, bo: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")
        data = filled(page, {cell(ada, hang): "splendid", cell(bo, hang): "clean"})

        response = coach_client.post(SHEET + "?skill=HANG-1", data)
        again = response.content.decode()

        assert response.status_code == 422
        assert Attempt.objects.count() == before
        assert marked(again, cell(bo, hang)) == "clean"
        assert uids(again) == uids(page) != {}
        assert "Choose one of the four" in cells_of(again, ada, hang)
        assert "Choose one of the four" not in cells_of(again, bo, hang)

    def test_what_the_use_case_refuses_stands_beside_its_cell_too(
        self, coach_client: Client, ada: Athlete, bo: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")
        sent = filled(page, {cell(ada, hang): "clean"})
        coach_client.post(SHEET + "?skill=HANG-1", sent)

        changed = sent | {cell(ada, hang): "miss", cell(bo, hang): "assisted"}
        again = coach_client.post(SHEET + "?skill=HANG-1", changed).content.decode()

        assert "stored before with other content" in cells_of(again, ada, hang)
        assert marked(again, cell(bo, hang)) == "assisted"
        assert Attempt.objects.count() == before + 1

    def test_a_mark_for_a_skill_that_left_the_sheet_meanwhile_is_stored_all_the_same(
        self, coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill], before: int
    ) -> None:
        turn = small_catalogue["HANG-3"]
        assert "HANG-3" not in tabs(open_page(coach_client))

        data = {cell(ada, turn): "miss", "number": "a" * 32}
        coach_client.post(SHEET, data)

        assert Attempt.objects.count() == before + 1

    def test_a_refused_mark_keeps_its_skill_on_the_sheet(
        self, coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        turn = small_catalogue["HANG-3"]
        data = {cell(ada, turn): "miss", "number": "<script>"}

        page = coach_client.post(SHEET + "?skill=HANG-3", data).content.decode()

        assert marked(page, cell(ada, turn)) == "miss"
        assert "This sheet lost its number" in page
        assert "<script>" not in uids(page).values()

    def test_a_mark_for_somebody_who_has_just_left_is_spoken_of(
        self, coach_client: Client, cy: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")

        again = coach_client.post(SHEET, filled(page, {cell(cy, hang): "clean"}))

        assert "no longer in this class" in again.content.decode()
        assert Attempt.objects.count() == before

    def test_a_mark_for_a_child_put_on_hold_meanwhile_is_not_stored_but_spoken_of(
        self, coach_client: Client, bo: Athlete, hang: Skill, before: int
    ) -> None:
        page = open_page(coach_client, "?skill=HANG-1")
        makers.make_hold(bo)

        again = coach_client.post(SHEET, filled(page, {cell(bo, hang): "clean"}))

        assert "Bo is on hold for Hang for ten seconds" in again.content.decode()
        assert Attempt.objects.count() == before
