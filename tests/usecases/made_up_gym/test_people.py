"""The made-up people: children, guardians, staff and classes."""

from datetime import date

import pytest
from django.db.models import Count

from progress.models import Athlete, Guardian, GymClass, Hold, Role, StaffMember

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("gym")]


def test_everyone_has_a_name_of_their_own_and_a_birth_date_no_finer_than_the_month() -> None:
    athletes = Athlete.objects.all()
    assert len({athlete.name for athlete in athletes}) == 120
    assert all(athlete.birth_date and athlete.birth_date.day == 1 for athlete in athletes)
    assert any(not athlete.name.isascii() for athlete in athletes)


def test_every_child_has_a_guardian_some_share_one_and_one_has_two() -> None:
    guardians = Athlete.objects.annotate(number=Count("guardians"))
    assert {athlete.number for athlete in guardians} == {1, 2}
    assert guardians.filter(number=2).count() == 1
    assert Guardian.objects.annotate(number=Count("athletes")).filter(number=2).count() >= 8
    assert not StaffMember.objects.filter(user__isnull=False).exists()
    assert not Guardian.objects.filter(user__isnull=False).exists()


def test_most_children_are_in_the_first_two_tiers_and_few_in_the_last() -> None:
    in_tier = {
        tier: Athlete.objects.filter(tier=tier, classes__small_area=False).count()
        for tier in (1, 2, 3, 4)
    }
    assert in_tier[1] > in_tier[3] > in_tier[4] > 0
    assert in_tier[1] + in_tier[2] > 2 * (in_tier[3] + in_tier[4])


def test_the_small_area_is_for_children_of_three_to_five(today: date) -> None:
    small = Athlete.objects.filter(classes__small_area=True)
    ages = [athlete.age_on(today) or 0.0 for athlete in small]
    assert GymClass.objects.filter(small_area=True).count() == 2
    assert len(ages) == 18
    assert all(3.0 <= age < 5.5 for age in ages)


def test_the_staff_are_four_coaches_a_lead_and_the_front_desk() -> None:
    roles = sorted(StaffMember.objects.values_list("role", flat=True))
    assert roles == sorted([Role.COACH] * 4 + [Role.LEAD, Role.DESK])


def test_there_is_a_school_age_class_tonight_with_a_bit_of_everything(today: date) -> None:
    tonight = GymClass.objects.filter(weekday=today.weekday(), small_area=False).first()
    assert tonight is not None
    assert tonight.athletes_on(today).count() >= 12
    assert tonight.coaches.count() == 2
    assert len(set(tonight.athletes_on(today).values_list("tier", flat=True))) >= 2
    assert Hold.objects.on(today).filter(athlete__classes=tonight).exists()
