"""Tries that reach the gym after their child was put on hold: stored, and named."""

from datetime import timedelta

import pytest

from progress.models import Athlete, Attempt, Hold, Skill, StaffMember
from progress.usecases.record_checks import HeldTries
from tests import makers
from tests.usecases.recording import ENTRY, NOW, entry, record

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]

DAY = timedelta(days=1)


def stored() -> int:
    return Attempt.objects.filter(uid__startswith="u").count()


def test_tries_under_a_hold_are_stored_and_named_and_the_others_are_not(
    ada: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    makers.make_hold(ada, ladders=[small_catalogue["LAND-1"].ladder])
    recorded = record(ENTRY, entry(2, skill="HANG-1"), entry(3, athlete="bo"), entry(4))

    assert stored() == 4
    assert recorded.held == (HeldTries(ada, makers.TODAY, ("u1", "u4")),)


def test_a_hold_on_everything_covers_every_skill(ada: Athlete) -> None:
    makers.make_hold(ada)
    recorded = record(ENTRY, entry(2, skill="HANG-1"))
    assert [each.uids for each in recorded.held] == [("u1", "u2")]


def test_a_try_of_the_day_before_the_hold_is_not_named(ada: Athlete) -> None:
    makers.make_hold(ada, starts=makers.TODAY)
    assert record(entry(1, at=NOW - DAY)).held == ()
    assert record(entry(2, at=NOW - timedelta(minutes=1))).held[0].uids == ("u2",)
    assert stored() == 2


def test_a_hold_lifted_since_is_named_for_its_own_days_alone(
    ada: Athlete, lead: StaffMember
) -> None:
    makers.make_hold(ada, starts=makers.TODAY - 3 * DAY, lifted=makers.TODAY - DAY, lifted_by=lead)
    recorded = record(
        entry(1, at=NOW - 4 * DAY), entry(2, at=NOW - 2 * DAY), entry(3, at=NOW - DAY), entry(4)
    )
    assert [each.uids for each in recorded.held] == [("u2",)]


def test_a_try_under_two_holds_is_named_once_with_the_older_ones_day(ada: Athlete) -> None:
    for days in (0, 2):
        makers.make_hold(ada, starts=makers.TODAY - days * DAY)
    assert record(ENTRY).held == (HeldTries(ada, makers.TODAY - 2 * DAY, ("u1",)),)


def test_it_is_named_again_when_the_answer_was_lost_and_it_is_sent_again(ada: Athlete) -> None:
    makers.make_hold(ada)
    first, again = record(ENTRY), record(ENTRY)
    assert again.stored_before == 1
    assert again.held == first.held != ()


def test_taking_a_try_back_is_no_try(ada: Athlete) -> None:
    record(ENTRY)
    makers.make_hold(ada)
    assert record(entry(2, supersedes="u1", taken_back=True)).held == ()
    assert Hold.objects.count() == 1
