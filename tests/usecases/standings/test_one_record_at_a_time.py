"""Whoever stores one record, as the admin does: the standing is old from then on.

Nothing is worked out there.
"""

from datetime import date
from typing import Any

import pytest

from progress.models import Athlete, Skill
from progress.usecases.standings.keep_up import bring_up_to_date
from tests import makers
from tests.usecases.standings.conftest import stored_is_a_full_replay, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("up_to_date")]


def test_an_attempt(cy: Athlete, today: date, small_catalogue: dict[str, Skill]) -> None:
    makers.make_attempt(cy, small_catalogue["HANG-1"])
    assert waiting(today) == 1


def test_a_hold_its_ladders_and_its_end(cy: Athlete, today: date) -> None:
    hold = makers.make_hold(cy)
    for change in (
        lambda: hold.save(),
        lambda: hold.ladders.add(makers.make_ladder("hanging")),
        lambda: hold.ladders.clear(),
        lambda: hold.delete(),
    ):
        bring_up_to_date(today=today)
        change()
        assert waiting(today) == 1


def test_a_hold_that_was_the_wrong_childs_changes_both(
    ada: Athlete, cy: Athlete, today: date
) -> None:
    hold = makers.make_hold(cy)
    bring_up_to_date(today=today)
    hold.athlete = ada
    hold.save()

    assert waiting(today) == 2
    bring_up_to_date(today=today)
    assert stored_is_a_full_replay(today)


@pytest.mark.parametrize(
    "values", [{"tier_id": 2}, {"birth_date": date(2020, 1, 1)}, {"left": None}]
)
def test_what_of_an_athlete_an_answer_rests_on(
    cy: Athlete, today: date, values: dict[str, Any]
) -> None:
    for name, value in values.items():
        setattr(cy, name, value)
    cy.save(update_fields=list(values))
    assert waiting(today) == 1


def test_a_name_chosen_to_be_shown_is_nothing_to_the_engine(cy: Athlete, today: date) -> None:
    cy.shown_as = "Cyrus"
    cy.save(update_fields=["shown_as"])
    assert waiting(today) == 0
