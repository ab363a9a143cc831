"""Weeks from joining to a tier: who counts, for how long, and when nobody can say."""

from datetime import date, datetime, timedelta

import pytest

from progress.models import Athlete, StaffMember
from progress.usecases.see_time_to_tier import TierTimes, see_time_to_tier
from tests import makers

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("tiers")]

WEEK = timedelta(weeks=1)


def moved(
    athlete: Athlete, lead: StaffMember, day: date, to_tier: int = 2, **values: object
) -> None:
    """A decision on ``day``; the athlete is in the new tier now unless it was undone."""
    makers.make_sign_off(
        athlete,
        lead,
        from_tier=makers.make_tier(to_tier - 1),
        to_tier=makers.make_tier(to_tier),
        decided_at=makers.moment(day),
        **values,
    )
    if "undone_at" not in values:
        Athlete.objects.filter(pk=athlete.pk).update(tier=to_tier)


@pytest.fixture
def begun(lead: StaffMember, today: date) -> date:
    """Moves are on record for two years: a child who has since left and been erased moved first."""
    first = today - 104 * WEEK
    gone = makers.make_athlete(joined=first - WEEK, left=first + WEEK, erased_at=makers.moment())
    moved(gone, lead, first)
    return first


def child(today: date, weeks_ago: float, **values: object) -> Athlete:
    """A child who joined so many weeks before yesterday, the last day that counts."""
    yesterday = today - timedelta(days=1)
    return makers.make_athlete(joined=yesterday - timedelta(days=round(7 * weeks_ago)), **values)


def to_second(today: date) -> TierTimes:
    """The answer about tier 2."""
    return see_time_to_tier(today=today).tiers[0]


def test_the_curve_counts_those_under_way_and_those_who_left(
    lead: StaffMember, today: date, begun: date
) -> None:
    """By hand: reached after 10 of 5, after 20 of 3; one left after 15, two are still there."""
    yesterday = today - timedelta(days=1)
    for weeks in (10, 20):
        one = child(today, 40)
        moved(one, lead, yesterday - (40 - weeks) * WEEK)
    child(today, 40, left=yesterday - 25 * WEEK)
    child(today, 30)
    child(today, 50)

    found = to_second(today).everybody

    assert (found.children, found.reached, found.under_way, found.left) == (5, 2, 2, 1)
    assert found.curve is not None
    assert found.curve.times.tolist() == [10, 20]
    assert found.curve.at_risk.tolist() == [5, 3]
    assert found.curve.still == pytest.approx([4 / 5, 4 / 5 * 2 / 3])
    assert found.curve.median is None
    assert (found.start, found.followed) == (0.0, 50.0)


def test_who_joined_at_the_tier_or_above_is_not_on_the_way_to_it(
    lead: StaffMember, today: date, begun: date
) -> None:
    makers.make_tier(3)
    child(today, 30, tier=2)
    climber = child(today, 30, tier=2)
    moved(climber, lead, today - 3 * WEEK, to_tier=3)
    child(today, 30)

    second, third = see_time_to_tier(today=today).tiers

    assert second.everybody.children == 1
    assert (third.everybody.children, third.everybody.reached) == (3, 1)


def test_of_two_moves_each_counts_for_its_own_tier(
    lead: StaffMember, today: date, begun: date
) -> None:
    makers.make_tier(3)
    both = child(today, 30)
    moved(both, lead, today - 20 * WEEK)
    moved(both, lead, today - 4 * WEEK, to_tier=3)

    second, third = see_time_to_tier(today=today).tiers

    assert (second.everybody.children, second.everybody.reached) == (1, 1)
    assert (third.everybody.children, third.everybody.reached) == (1, 1)
    assert third.everybody.followed > second.everybody.followed


def test_an_undone_decision_and_one_of_today_do_not_count(
    lead: StaffMember, today: date, begun: date
) -> None:
    undone = {"undone_at": makers.moment(today - 2 * WEEK), "undone_by": lead}
    moved(child(today, 30), lead, today - 2 * WEEK, **undone)
    moved(child(today, 30), lead, today)

    found = to_second(today).everybody

    assert (found.children, found.reached, found.under_way) == (2, 0, 2)


def test_who_came_before_moves_were_on_record_is_seen_only_from_then(
    lead: StaffMember, today: date, begun: date
) -> None:
    """Five joined long before; they are not at risk in the weeks nobody wrote down."""
    for _ in range(5):
        makers.make_athlete(joined=begun - 30 * WEEK)
    for _ in range(5):
        child(today, 60)
    early = child(today, 60)
    moved(early, lead, early.joined + 10 * WEEK)
    late = makers.make_athlete(joined=begun - 30 * WEEK)
    moved(late, lead, begun + 20 * WEEK)

    curve = to_second(today).everybody.curve

    assert curve is not None
    assert curve.times.tolist() == [10, 50]
    assert curve.at_risk.tolist() == [6, 11]


def test_the_curve_begins_where_five_can_be_seen(
    lead: StaffMember, today: date, begun: date
) -> None:
    """A single newcomer who moves at once would else bring the whole curve to its end."""
    quick = child(today, 60)
    moved(quick, lead, quick.joined + 2 * WEEK)
    for number in range(6):
        one = makers.make_athlete(joined=begun - 30 * WEEK)
        if number == 0:
            moved(one, lead, begun + 10 * WEEK)

    found = to_second(today).everybody

    assert found.curve is not None
    assert found.curve.times.tolist() == [40]
    assert found.curve.still == pytest.approx([5 / 6])
    assert found.start == pytest.approx(40)
    assert (found.children, found.reached) == (7, 2)


def test_four_children_have_counts_and_no_curve(
    lead: StaffMember, today: date, begun: date
) -> None:
    for _ in range(3):
        child(today, 30)
    moved(child(today, 30), lead, today - 4 * WEEK)

    found = to_second(today).everybody

    assert (found.children, found.reached, found.curve) == (4, 1, None)


def test_terms_go_by_the_month_of_joining_whatever_the_year(today: date, begun: date) -> None:
    for day in (date(2024, 9, 1), date(2025, 12, 31), date(2025, 1, 1), date(2025, 5, 1)):
        makers.make_athlete(joined=day)

    by_term = to_second(today).by_term

    assert {term: times.children for term, times in by_term.items()} == {0: 1, 1: 1, 2: 2}


def test_terms_are_compared_only_with_enough_children_followed_from_their_first_day(
    lead: StaffMember, today: date, begun: date
) -> None:
    """Autumn's children move after 5 weeks and spring's never: no luck does that ten times."""
    for _ in range(5):
        moved(makers.make_athlete(joined=date(2024, 9, 2)), lead, date(2024, 10, 7))
    for _ in range(4):
        makers.make_athlete(joined=date(2025, 2, 3))
    assert to_second(today).compared is None
    makers.make_athlete(joined=date(2025, 2, 3))
    # Another day, as nothing tells that a child was added to what is kept for the day.
    compared = to_second(today + timedelta(days=1)).compared
    assert compared is not None
    assert compared.p < 0.01


def test_without_a_decision_on_record_there_is_no_answer(today: date) -> None:
    child(today, 30)
    found = see_time_to_tier(today=today)
    assert (found.seen_since, found.tiers) == (None, ())


def test_children_without_a_day_of_joining_are_counted_apart(today: date, begun: date) -> None:
    makers.make_athlete(joined=None)
    found = see_time_to_tier(today=today)
    assert (found.without_joined, found.tiers[0].everybody.children) == (1, 0)


def test_it_takes_few_questions_to_the_database_however_many_children(
    lead: StaffMember,
    today: date,
    begun: date,
    stopped_clock: datetime,
    django_assert_max_num_queries: pytest.FixtureRequest,
) -> None:
    for number in range(30):
        one = child(today, 20 + number)
        if number % 2:
            moved(one, lead, today - 3 * WEEK)
    with django_assert_max_num_queries(18):  # type: ignore[operator]
        see_time_to_tier(today=today)
