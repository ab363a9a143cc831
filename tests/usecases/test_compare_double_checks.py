"""Double checks: how far two coaches agree, and how far equals would."""

from datetime import date, timedelta

import pytest

from progress.models import Skill, StaffMember
from progress.usecases.compare_double_checks import FEWEST_PAIRS, Agreement
from progress.usecases.see_coaches import see_coaches
from tests import makers
from tests.usecases.marked_alike import mark_children

pytestmark = pytest.mark.django_db


def agreement(skill: Skill, shares: dict[StaffMember, float], today: date) -> Agreement:
    mark_children(skill, shares, today=today, same_day=True)
    return see_coaches(today=today).agreement


def test_coaches_who_always_write_the_same_agree_fully_and_above_what_equals_would(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> None:
    found = agreement(small_catalogue["HANG-1"], {coach: 0.6, lead: 0.6}, today)

    assert found.pairs == 144
    assert found.found is not None
    assert found.found.value == pytest.approx(1)
    assert found.alike is not None
    assert 0 < found.alike < 0.9


def test_the_table_has_every_pair_once(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> None:
    """Kim gives clean below 0.3, Lee below 0.7: between them Lee has clean where Kim has a miss."""
    found = agreement(small_catalogue["HANG-1"], {coach: 0.3, lead: 0.7}, today)

    assert sum(map(sum, found.table)) == 144
    assert found.table[0][2] > 40
    assert found.table[2][0] == 0
    assert [row[1] for row in found.table] == [0, 0, 0]
    assert found.found is not None
    assert found.found.value < 0.5


def test_checks_on_different_days_are_no_double_checks(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> None:
    mark_children(small_catalogue["HANG-1"], {coach: 0.5, lead: 0.5}, today=today)
    assert see_coaches(today=today).agreement.pairs == 0


def test_below_twenty_the_number_is_given_and_no_agreement(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> None:
    for number in range(FEWEST_PAIRS - 1):
        child = makers.make_athlete()
        for who in (coach, lead):
            result = "clean" if number % 2 else "miss"
            day = today - timedelta(weeks=4)
            makers.make_attempt(child, small_catalogue["HANG-1"], result, at=day, coach=who)

    found = see_coaches(today=today).agreement

    assert (found.pairs, found.found, found.alike) == (FEWEST_PAIRS - 1, None, None)


def test_where_every_result_is_the_same_there_is_nothing_to_agree_about(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> None:
    found = agreement(small_catalogue["HANG-1"], {coach: 1.0, lead: 1.0}, today)
    assert (found.pairs, found.found) == (144, None)
