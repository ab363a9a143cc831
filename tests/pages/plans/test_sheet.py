"""The plan on paper: names, words for steps, holds, and what to check."""

import re

import pytest
from django.test import Client

from progress.models import Athlete, GymClass, Setup, Skill
from progress.pages.plans.sheet import short_names
from tests import makers
from tests.pages.plans.reading import page_of, text_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("names", "short"),
    [
        (["Ada", "Bo Lang"], ["Ada", "Bo"]),
        (["Alma Ahrendt", "Alma Birkholm", "Bo"], ["Alma A", "Alma B", "Bo"]),
        (["Alma Ahrendt", "Alma Ahlers"], ["Alma Ahr", "Alma Ahl"]),
        (["Alma", "Alma Ahrendt"], ["Alma", "Alma A"]),
        (["Alma Berg", "Alma Berg"], ["Alma Berg", "Alma Berg"]),
    ],
)
def test_no_more_of_a_name_is_printed_than_tells_children_apart(
    names: list[str], short: list[str]
) -> None:
    assert short_names(names) == short


def rows_of(page: str) -> dict[str, str]:
    """The words after each name."""
    body = page.partition("<tbody>")[2].partition("</tbody>")[0]
    found = re.findall(r'<th scope="row">([^<]+)</th>(.*?)</tr>', body, re.DOTALL)
    return {name: text_of("<main>" + rest) for name, rest in found}


def test_everybody_has_a_row_with_a_word_a_station(
    coach_client: Client, monday_class: GymClass, floor: Setup, bo: Athlete, cy: Athlete
) -> None:
    dot = makers.make_athlete("dot", name="Dot")
    for athlete in (cy, dot):
        makers.enrol(athlete, monday_class)
    makers.make_meeting(monday_class, away=[cy])
    makers.make_hold(dot)
    makers.make_hold(bo, ladders=[makers.make_ladder("hanging")])

    page = page_of(coach_client, name="plan_print")
    rows = rows_of(page)

    assert re.match(r"A (easier|base|harder) (easier|base|harder)", rows["Ada"])
    assert re.match(r"A (easier|base|harder) hold", rows["Bo"])
    assert "Hold: ask the lead." in page
    assert rows["Cy"] == "away"
    assert rows["Dot"] == "hold: ask the lead"
    assert "A1 Jump down easier jump-1; base jump+0; harder jump+1" in text_of(page)


def test_several_easier_variants_are_numbered_from_the_base(
    coach_client: Client, monday_class: GymClass, floor: Setup, small_catalogue: dict[str, Skill]
) -> None:
    jump = floor.stations.get(code="jump")
    makers.make_variant(jump, small_catalogue["LAND-1"], step=-2, height_m=0.1)

    assert "easier 2 jump-2; easier 1 jump-1; base jump+0" in text_of(
        page_of(coach_client, name="plan_print")
    )


def test_reasons_of_holds_are_not_printed(
    coach_client: Client, monday_class: GymClass, floor: Setup, bo: Athlete
) -> None:
    makers.make_hold(bo, reason="Sore wrist")
    assert "Sore wrist" not in page_of(coach_client, name="plan_print")


def test_a_class_with_nobody_or_no_floor_still_prints(
    coach_client: Client, monday_class: GymClass
) -> None:
    makers.make_class("empty")
    assert "Nobody is enrolled" in page_of(coach_client, "empty", name="plan_print")
    assert rows_of(page_of(coach_client, name="plan_print"))["Ada"] == "no loop"
