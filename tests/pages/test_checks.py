"""The check sheet: what is marked is stored once, and nothing marked is ever lost."""

import re
from collections.abc import Mapping

import pytest
from django.test import Client
from django.urls import reverse

from progress.models import Athlete, Attempt, Skill
from progress.pages.checks import views
from progress.pages.checks.forms import CheckSheet
from progress.usecases.record_checks import ChecksRefused
from tests import makers

pytestmark = pytest.mark.usefixtures("monday_class", "floor")

SHEET = "/classes/monday/checks/"


@pytest.fixture
def before(ada: Athlete, bo: Athlete) -> int:
    """How many attempts there are before anything is sent."""
    return Attempt.objects.count()


def open_sheet(client: Client, *skills: str) -> str:
    response = client.get(SHEET, {"skill": skills} if skills else {})
    assert response.status_code == 200
    return response.content.decode()


def uids(page: str) -> dict[str, str]:
    """The hidden numbers of a sheet, by the name of their field."""
    pattern = r'name="(uid-\d+-\d+)" value="([0-9a-f]+)"'
    return dict(re.findall(pattern, page))


def filled(page: str, skills: list[str], marks: Mapping[str, str]) -> dict[str, object]:
    return {"skill": skills, **uids(page), **marks}


def cell(athlete: Athlete, skill: Skill) -> str:
    return f"result-{athlete.pk}-{skill.pk}"


def checked(page: str, name: str) -> str:
    """Which radio of a cell is marked."""
    found = re.findall(rf'name="{name}" value="(\w*)" checked', page)
    assert len(found) == 1
    return str(found[0])


def test_the_address_is_the_one_the_site_map_gives() -> None:
    assert reverse("check_sheet", args=["monday"]) == SHEET


def test_without_a_choice_the_sheet_asks_for_what_the_engine_suggests(coach_client: Client) -> None:
    page = open_sheet(coach_client)

    asked = re.findall(r'<input type="hidden" name="skill" value="([^"]+)"', page)
    assert 1 <= len(asked) <= 3


def test_the_sheet_has_a_cell_for_each_athlete_and_chosen_skill(
    coach_client: Client, ada: Athlete, bo: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    page = open_sheet(coach_client, "LAND-1", "HANG-1")

    for athlete in (ada, bo):
        for code in ("LAND-1", "HANG-1"):
            assert checked(page, cell(athlete, small_catalogue[code])) == ""
    assert len(set(uids(page).values())) == 4
    assert "Knees bend" in page


def test_marks_are_stored_and_cells_left_out_are_not(
    coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill], before: int
) -> None:
    page = open_sheet(coach_client, "LAND-1", "HANG-1")
    data = filled(page, ["LAND-1", "HANG-1"], {cell(ada, small_catalogue["HANG-1"]): "assisted"})

    response = coach_client.post(SHEET, data)

    assert response.status_code == 302
    assert Attempt.objects.count() == before + 1
    stored = Attempt.objects.order_by("-pk")[0]
    assert (stored.athlete, stored.skill.code, stored.result) == (ada, "HANG-1", "assisted")
    assert stored.coach is not None
    assert stored.coach.code == "kim"
    assert "1 check is stored" in coach_client.get(response["Location"]).content.decode()


def test_sending_the_same_sheet_twice_stores_it_once(
    coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill], before: int
) -> None:
    page = open_sheet(coach_client, "LAND-1")
    data = filled(page, ["LAND-1"], {cell(ada, small_catalogue["LAND-1"]): "clean"})

    coach_client.post(SHEET, data)
    coach_client.post(SHEET, data)

    assert Attempt.objects.count() == before + 1


def test_a_fresh_sheet_counts_as_a_fresh_try(
    coach_client: Client, ada: Athlete, small_catalogue: dict[str, Skill], before: int
) -> None:
    for _ in range(2):
        page = open_sheet(coach_client, "LAND-1")
        data = filled(page, ["LAND-1"], {cell(ada, small_catalogue["LAND-1"]): "clean"})
        coach_client.post(SHEET, data)

    assert Attempt.objects.count() == before + 2


def test_an_error_stands_beside_its_cell_and_every_other_mark_is_kept(
    coach_client: Client, ada: Athlete, bo: Athlete, small_catalogue: dict[str, Skill], before: int
) -> None:
    page = open_sheet(coach_client, "LAND-1")
    land = small_catalogue["LAND-1"]
    data = filled(page, ["LAND-1"], {cell(ada, land): "splendid", cell(bo, land): "clean"})

    response = coach_client.post(SHEET, data)
    again = response.content.decode()

    assert response.status_code == 422
    assert Attempt.objects.count() == before
    assert checked(again, cell(bo, land)) == "clean"
    assert uids(again) == uids(page)
    wrong = again.partition("cell-wrong")[2].partition("</fieldset>")[0]
    assert f'name="{cell(ada, land)}"' in wrong
    assert "Choose one of the four" in wrong


def test_a_refusal_by_the_use_case_keeps_every_mark(
    coach_client: Client,
    ada: Athlete,
    small_catalogue: dict[str, Skill],
    before: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(**_: object) -> None:
        raise ChecksRefused(["Ada, Land still on two feet: the day has not come yet."])

    monkeypatch.setattr(views, "record_checks", refuse)
    page = open_sheet(coach_client, "LAND-1")
    name = cell(ada, small_catalogue["LAND-1"])

    again = coach_client.post(SHEET, filled(page, ["LAND-1"], {name: "miss"})).content.decode()

    assert "the day has not come yet" in again
    assert checked(again, name) == "miss"
    assert Attempt.objects.count() == before


def test_a_sheet_with_no_mark_says_so_and_stores_nothing(coach_client: Client, before: int) -> None:
    page = open_sheet(coach_client, "LAND-1")

    again = coach_client.post(SHEET, filled(page, ["LAND-1"], {})).content.decode()

    assert "Nothing is marked yet" in again
    assert Attempt.objects.count() == before


def test_a_mark_for_somebody_who_has_just_left_is_spoken_of(
    coach_client: Client, cy: Athlete, small_catalogue: dict[str, Skill], before: int
) -> None:
    page = open_sheet(coach_client, "LAND-1")
    data = filled(page, ["LAND-1"], {cell(cy, small_catalogue["LAND-1"]): "clean"})

    again = coach_client.post(SHEET, data).content.decode()

    assert "no longer in this class" in again
    assert Attempt.objects.count() == before


def test_a_mark_whose_number_was_tampered_with_is_refused_at_its_cell(
    ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    land = small_catalogue["LAND-1"]
    data = {cell(ada, land): "clean", f"uid-{ada.pk}-{land.pk}": "<script>"}

    sheet = CheckSheet(data, athletes=[ada], skills=[land])

    assert not sheet.is_valid()
    assert cell(ada, land) in sheet.errors


def test_a_child_on_hold_is_marked_as_such(coach_client: Client, bo: Athlete) -> None:
    makers.make_hold(bo)

    page = open_sheet(coach_client, "LAND-1")
    row = page.partition(f'id="child-{bo.pk}"')[2].partition("</section>")[0]

    assert "On hold" in row


def test_the_sheet_works_without_javascript(coach_client: Client) -> None:
    assert "<script" not in open_sheet(coach_client, "LAND-1")
