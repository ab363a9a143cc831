"""The made-up children whose year is about something: each kind is there to be found."""

from datetime import UTC, date, datetime, timedelta

import pytest

from progress.models import Athlete, Attempt, Enrolment, Hold, RegisterEntry, Role, Skill

FRESH = timedelta(days=56)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("gym")]


def gates(athlete: Athlete, today: date) -> dict[str, list[Attempt]]:
    """The fresh attempts at each gate of the athlete's tier, newest first."""
    codes = Skill.objects.filter(tier=athlete.tier_id, gate=True).values_list("code", flat=True)
    since = datetime.combine(today - FRESH, datetime.min.time(), tzinfo=UTC)
    fresh = athlete.attempts.standing().filter(at__gt=since).select_related("skill").order_by("-at")
    return {code: [attempt for attempt in fresh if attempt.skill.code == code] for code in codes}


def meets_the_floor(attempts: list[Attempt]) -> bool:
    """Five of the last five clean, on two days, by two coaches: the default rule for gates."""
    last = attempts[:5]
    return (
        len(last) == 5
        and all(attempt.result == "clean" for attempt in last)
        and len({attempt.at.date() for attempt in attempts if attempt.result == "clean"}) >= 2
        and len({attempt.coach_id for attempt in attempts if attempt.result == "clean"}) >= 2
    )


def test_some_children_have_every_gate_clean_lately_by_two_coaches_on_two_days(
    today: date,
) -> None:
    secure = [
        athlete
        for athlete in Athlete.objects.current().filter(tier__lt=4)
        if all(map(meets_the_floor, gates(athlete, today).values()))
    ]
    assert len(secure) >= 8


def test_some_children_are_stuck_at_a_single_gate(today: date) -> None:
    stuck = 0
    for athlete in Athlete.objects.current():
        tries = gates(athlete, today)
        missed = [code for code in tries if not meets_the_floor(tries[code])]
        if len(tries) > 1 and len(missed) == 1 and len(tries[missed[0]]) >= 5:
            clean = [attempt.result == "clean" for attempt in tries[missed[0]]]
            stuck += sum(clean) / len(clean) <= 0.5
    assert stuck >= 3


def test_six_children_are_so_new_that_nobody_has_checked_them(today: date) -> None:
    unchecked = Athlete.objects.filter(attempts__isnull=True)
    assert unchecked.count() == 6
    assert all(athlete.joined >= today - timedelta(days=14) for athlete in unchecked)
    assert not RegisterEntry.objects.filter(athlete__in=unchecked, present=False).exists()


def test_one_hold_is_in_force_and_one_was_lifted_lately(today: date) -> None:
    in_force = Hold.objects.on(today).get()
    assert in_force.kind == "injury"
    assert in_force.review > today
    assert not in_force.athlete.attempts.filter(meeting__day__gte=in_force.starts).exists()
    lifted = Hold.objects.exclude(pk=in_force.pk).get()
    assert today - timedelta(days=14) < lifted.lifted <= today
    assert lifted.lifted_by.role == Role.LEAD
    between = lifted.athlete.attempts.filter(
        meeting__day__gte=lifted.starts, meeting__day__lt=lifted.lifted
    )
    assert not between.exists()


def test_some_children_have_left_and_are_in_no_class_any_more(today: date) -> None:
    gone = Athlete.objects.filter(left__isnull=False)
    assert gone.count() == 5
    for enrolment in Enrolment.objects.filter(athlete__in=gone):
        assert enrolment.until == enrolment.athlete.left < today
        assert enrolment.athlete not in enrolment.gym_class.athletes_on(today)
