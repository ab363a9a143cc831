"""The lead's list of who looks ready to move up."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.terms import Decision
from progress.models import Athlete, GymClass, Skill, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.know_athletes import know_athletes
from progress.usecases.see_move_up import MoveUpRow, see_move_up
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def rows() -> dict[str, MoveUpRow]:
    return {row.athlete.code: row for row in see_move_up(today=makers.TODAY)}


def test_who_looks_ready_comes_first_and_then_the_most_likely(
    ada: Athlete, bo: Athlete, cy: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    """Dot does a little better than Bo, and Cy was never checked."""
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (2, 1)]
    dot = makers.make_athlete("dot")
    makers.make_attempts(dot, small_catalogue["HANG-1"], ["assisted"] * 4, days=days)

    found = see_move_up(today=makers.TODAY)

    assert [row.athlete.code for row in found] == ["ada", "cy", "dot", "bo"]
    assert [row.readiness.decision for row in found] == [
        Decision.READY,
        Decision.NEEDS_CHECKS,
        Decision.BUILDING,
        Decision.BUILDING,
    ]
    assert found[2].readiness.p_ready > found[3].readiness.p_ready


def test_everybody_in_the_programme_is_on_it_in_a_class_or_not(
    monday_class: GymClass, cy: Athlete
) -> None:
    for code, left in (("gone", makers.TODAY), ("leaving", makers.TODAY + DAY)):
        makers.make_athlete(code, left=left)

    assert set(rows()) == {"ada", "bo", "cy", "leaving"}


def test_a_row_names_the_classes_of_today_the_age_and_the_last_check(
    monday_class: GymClass, ada: Athlete, cy: Athlete
) -> None:
    makers.enrol(ada, makers.make_class("friday", name="Friday class", weekday=4))
    makers.enrol(ada, makers.make_class("old", name="Old class"), until=makers.TODAY - DAY)
    makers.enrol(ada, makers.make_class("new", name="New class"), since=makers.TODAY + DAY)
    Athlete.objects.filter(pk=cy.pk).update(birth_date=None)
    Athlete.objects.filter(pk=ada.pk).update(birth_date=date(2020, 3, 2))

    found = rows()
    assert sorted(found["ada"].classes.split(", ")) == ["Friday class", "Monday class"]
    assert (found["ada"].age, found["ada"].last_checked) == (6.0, makers.TODAY - 7 * DAY)
    assert (found["cy"].classes, found["cy"].age, found["cy"].last_checked) == ("", None, None)


def test_the_answers_are_those_every_page_gives(ada: Athlete, bo: Athlete) -> None:
    known = know_athletes(athletes=[bo, ada], today=makers.TODAY)

    found = rows()
    for answer in known.readiness:
        said = found[answer.athlete].readiness
        assert (said.decision, said.reasons) == (answer.decision, answer.reasons)
        assert said.p_ready == pytest.approx(answer.p_ready)


def test_an_empty_gym_has_an_empty_list(small_catalogue: dict[str, Skill]) -> None:
    assert see_move_up(today=makers.TODAY) == ()


def test_the_number_of_queries_does_not_grow_with_the_gym(
    monday_class: GymClass, small_catalogue: dict[str, Skill]
) -> None:
    def count() -> int:
        calibrate_gym(today=makers.TODAY)
        with CaptureQueriesContext(connection) as asked:
            see_move_up(today=makers.TODAY)
        return len(asked)

    before = count()
    for _ in range(20):
        makers.enrol(makers.make_athlete(tier=2), monday_class)
    assert count() == before <= 10
