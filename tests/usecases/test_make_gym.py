"""Making the made-up gym: the same every time, once only, and never among real children."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from progress.models import Athlete, Attempt, GymClass, HomeIdea, Skill, StaffMember
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue
from progress.usecases.made_up_gym.plan import GymPlan, plan_gym
from progress.usecases.made_up_gym.scenario import made_up_scenario
from progress.usecases.make_gym import GymNotEmpty, make_gym
from tests import makers

TODAY = date(2026, 11, 25)  # a Wednesday
SEED = 7


def planned(seed: int = SEED, today: date = TODAY) -> GymPlan:
    """The gym that these would give, without storing it."""
    return plan_gym(
        seed=seed, today=today, catalogue=starter_catalogue(), scenario=made_up_scenario()
    )


def fingerprint(plan: GymPlan) -> set[tuple[str, str, str]]:
    """Each planned attempt's id, result and coach."""
    return {(attempt.uid, attempt.result.value, attempt.coach) for attempt in plan.attempts}


@pytest.mark.django_db
def test_what_is_stored_is_what_the_seed_gives_and_a_second_time_nothing_changes() -> None:
    made = make_gym(seed=SEED, today=TODAY)
    assert made.made
    assert (made.skills, made.staff, made.athletes, made.classes) == (55, 6, 120, 9)
    assert (made.setups, made.holds) == (10, 2)
    assert 10_000 <= made.attempts <= 15_000
    ideas = HomeIdea.objects.all()
    assert ideas  # marked by the made-up lead
    assert all(idea.active for idea in ideas)
    stored = set(Attempt.objects.values_list("uid", "result", "coach__code"))
    assert len(stored) == made.attempts
    again = make_gym(seed=99, today=TODAY + timedelta(days=3))
    assert again == replace(made, made=False)
    assert set(Attempt.objects.values_list("uid", "result", "coach__code")) == stored
    assert stored == fingerprint(planned())


def test_the_same_seed_gives_the_same_gym() -> None:
    one, same = planned(), planned()
    assert fingerprint(one) == fingerprint(same)
    assert (one.children, one.guardians, one.register) == (
        same.children,
        same.guardians,
        same.register,
    )


def test_another_seed_gives_another_gym() -> None:
    one, other = planned(), planned(seed=SEED + 1)
    assert not fingerprint(one) & fingerprint(other)
    assert [child.birth for child in one.children] != [child.birth for child in other.children]


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
def test_any_seed_gives_a_gym_of_the_promised_size(seed: int) -> None:
    plan = planned(seed=seed)
    assert 10_000 <= len(plan.attempts) <= 15_000
    assert len({attempt.uid for attempt in plan.attempts}) == len(plan.attempts)
    assert len({child.name for child in plan.children}) == len(plan.children) == 120


@pytest.mark.parametrize("day", range(7))
def test_whatever_the_weekday_there_is_a_class_and_the_log_ends_just_before(day: int) -> None:
    today = TODAY + timedelta(days=day)
    plan = planned(today=today)
    days = {attempt.day for attempt in plan.attempts}
    assert max(days) < today
    assert max(days) >= today - timedelta(days=3)
    assert any(class_.days_ago == 0 and not class_.small_area for class_ in plan.scenario.classes)
    monday = today - timedelta(days=today.weekday())
    assert plan.year.mondays[max(plan.floors.weeks)] == monday


# Refusing


@pytest.mark.django_db
def test_invented_children_never_go_among_real_ones() -> None:
    makers.make_athlete("real")
    with pytest.raises(GymNotEmpty):
        make_gym(seed=SEED, today=TODAY)
    assert Athlete.objects.count() == 1
    assert not Skill.objects.exists()


@pytest.mark.django_db
def test_an_invented_coach_never_takes_the_place_of_a_real_one() -> None:
    makers.make_staff("bea")
    with pytest.raises(GymNotEmpty):
        make_gym(seed=SEED, today=TODAY)
    assert not GymClass.objects.exists()


@pytest.mark.django_db
def test_a_gym_with_a_catalogue_and_a_lead_but_no_children_may_be_filled() -> None:
    load_catalogue(source=starter_catalogue())
    Skill.objects.filter(code="JUMP-1").update(name="Our own name")
    makers.make_staff("own-lead")
    assert make_gym(seed=SEED, today=TODAY).made
    assert Skill.objects.get(code="JUMP-1").name == "Our own name"
    assert StaffMember.objects.count() == 7
