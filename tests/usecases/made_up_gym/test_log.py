"""The made-up log: when attempts fall, how many there are, and how they turn out."""

from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise

import pytest
from django.db.models import Count, F

from progress.models import Athlete, Attempt, Meeting, RegisterEntry, Skill

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("gym")]


def meeting_days() -> list[date]:
    """All days on which a class met."""
    return list(Meeting.objects.values_list("day", flat=True))


def test_attempts_lie_within_the_time_a_child_is_there(today: date) -> None:
    attempts = Attempt.objects.select_related("athlete", "meeting")
    for attempt in attempts.iterator(chunk_size=2000):
        day, athlete = attempt.at.date(), attempt.athlete
        assert attempt.meeting is not None
        assert day == attempt.meeting.day < today
        assert athlete.birth_date < athlete.joined <= day
        assert athlete.left is None or day < athlete.left
        assert attempt.stored_at.date() < today


def test_nobody_is_checked_who_was_not_there() -> None:
    present = set(
        RegisterEntry.objects.filter(present=True).values_list("meeting_id", "athlete_id")
    )
    assert set(Attempt.objects.values_list("meeting_id", "athlete_id")) <= present


def test_the_year_has_thirty_six_weeks_with_two_holidays() -> None:
    mondays = sorted({day - timedelta(days=day.weekday()) for day in meeting_days()})
    gaps = [(later - earlier).days for earlier, later in pairwise(mondays)]
    assert len(mondays) in (35, 36)
    assert sorted(gap for gap in gaps if gap > 7) == [21, 28]


def test_attendance_is_between_85_and_92_in_a_hundred() -> None:
    entries = RegisterEntry.objects.all()
    assert 0.85 <= entries.filter(present=True).count() / entries.count() <= 0.92


def test_in_most_weeks_a_third_to_three_fifths_of_the_children_are_checked() -> None:
    shares = []
    for monday in {day - timedelta(days=day.weekday()) for day in meeting_days()}:
        week = (monday, monday + timedelta(days=6))
        enrolled = Athlete.objects.filter(register_entries__meeting__day__range=week)
        checked = Athlete.objects.filter(attempts__meeting__day__range=week)
        shares.append(checked.distinct().count() / enrolled.distinct().count())
    assert 0.30 <= sum(shares) / len(shares) <= 0.60
    assert sum(0.25 <= share <= 0.65 for share in shares) >= len(shares) - 2


def test_a_check_is_one_to_three_skills_of_one_to_three_tries() -> None:
    tries = Attempt.objects.standing().values("athlete", "meeting", "skill")
    counts = tries.annotate(number=Count("pk")).values_list("number", flat=True).order_by()
    assert set(counts) == {1, 2, 3}
    skills = Attempt.objects.values("athlete", "meeting").order_by()
    numbers = skills.annotate(number=Count("skill", distinct=True)).values_list("number", flat=True)
    assert set(numbers) == {1, 2, 3}


def test_the_tier_below_was_mostly_mastered_and_the_own_tier_is_being_learnt() -> None:
    def share_clean(below: int) -> float:
        tried = Attempt.objects.filter(skill__tier=F("athlete__tier") - below)
        return tried.filter(result="clean").count() / tried.count()

    assert share_clean(1) > 0.75
    assert 0.5 < share_clean(0) < share_clean(1)
    assert share_clean(-1) < share_clean(0)


def test_children_come_clean_more_often_as_the_year_goes_on() -> None:
    """Within each child and skill, so that who is checked does not matter.

    With some 700 pairs the mean difference is known to about 0.012.
    """
    halves: dict[tuple[int, int], list[list[bool]]] = defaultdict(lambda: [[], []])
    middle = sorted(meeting_days())[len(meeting_days()) // 2]
    rows = Attempt.objects.values_list("athlete", "skill", "meeting__day", "result")
    for athlete, skill, day, result in rows:
        halves[athlete, skill][day > middle].append(result == "clean")
    pairs = [(sum(a) / len(a), sum(b) / len(b)) for a, b in halves.values() if a and b]
    assert len(pairs) > 300
    assert sum(later - earlier for earlier, later in pairs) / len(pairs) > 0.03


def test_every_skill_was_tried_by_somebody_and_gates_most_often() -> None:
    tried = Skill.objects.annotate(number=Count("attempts"))
    assert all(skill.number > 0 for skill in tried)
    first_tier = tried.filter(tier=1).exclude(ladder__code="EARLY")
    assert all(skill.gate for skill in first_tier.order_by("-number")[:4])


def test_coaches_differ_a_little_and_sometimes_another_one_looks() -> None:
    by = Attempt.objects.values_list("coach__code").annotate(number=Count("pk")).order_by()
    counts = dict(by)
    assert set(counts) == {"ines", "tomas", "bea", "kofi", "maren"}
    assert 0 < counts["maren"] < 0.1 * sum(counts.values())
    gates_by = Skill.objects.filter(gate=True, tier=1).values_list("attempts__coach", flat=True)
    assert len(set(gates_by)) == 5


def test_a_few_results_were_corrected_with_a_reason() -> None:
    corrections = Attempt.objects.filter(supersedes__isnull=False)
    assert corrections.count() == 10
    assert not corrections.filter(result=F("supersedes__result")).exists()
    assert not corrections.filter(reason="").exists()
