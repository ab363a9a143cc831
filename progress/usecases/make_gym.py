"""Make a made-up gym, so that every page has something true to its kind to show."""

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from progress.models import (
    Area,
    Athlete,
    Attempt,
    Guardian,
    GymClass,
    Hold,
    HomeIdea,
    Meeting,
    RegisterEntry,
    Setup,
    SignOff,
    Skill,
    StaffMember,
)
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue
from progress.usecases.made_up_gym.plan import plan_gym
from progress.usecases.made_up_gym.scenario import Scenario, made_up_scenario
from progress.usecases.made_up_gym.store import store_gym
from progress.usecases.stock_library import stock_library


class GymNotEmpty(ValueError):
    """There are children or floors here already; invented children do not go among real ones."""

    def __init__(self) -> None:
        super().__init__("This gym has records of its own. Make the made-up gym in an empty one.")


@dataclass(frozen=True)
class GymMade:
    """What the made-up gym holds; ``made`` is False where it was there before."""

    made: bool
    skills: int
    staff: int
    athletes: int
    guardians: int
    classes: int
    meetings: int
    register_entries: int
    setups: int
    holds: int
    attempts: int
    sign_offs: int


def make_gym(*, seed: int, today: date) -> GymMade:
    """Store a year of a made-up gym that ends just before ``today``, with a class on ``today``.

    The same ``seed`` and ``today`` give the same gym to the last attempt. Where the made-up gym
    is there already nothing changes; a gym with children or floors of its own raises GymNotEmpty.
    """
    scenario = made_up_scenario()
    with transaction.atomic():
        if is_made(scenario):
            return count(made=False)
        refuse_company(scenario)
        catalogue = starter_catalogue()
        load_catalogue(source=catalogue)
        stock_library(source=catalogue)
        HomeIdea.objects.update(active=True)  # the made-up lead has read and marked them
        store_gym(plan_gym(seed=seed, today=today, catalogue=catalogue, scenario=scenario))
        return count(made=True)


def is_made(scenario: Scenario) -> bool:
    """Whether the made-up classes and staff are there."""
    classes = {class_.code for class_ in scenario.classes}
    staff = {member.code for member in scenario.staff}
    return classes <= set(GymClass.objects.values_list("code", flat=True)) and staff <= set(
        StaffMember.objects.values_list("code", flat=True)
    )


def refuse_company(scenario: Scenario) -> None:
    """Refuse a gym in use, and one whose staff would be mistaken for the made-up ones."""
    in_use = any(model._default_manager.exists() for model in (Athlete, GymClass, Area))
    in_use = in_use or Setup.objects.plans().exists()
    codes = [member.code for member in scenario.staff]
    if in_use or StaffMember.objects.filter(code__in=codes).exists():
        raise GymNotEmpty


def count(*, made: bool) -> GymMade:
    """Count what is stored."""
    return GymMade(
        made=made,
        skills=Skill.objects.count(),
        staff=StaffMember.objects.count(),
        athletes=Athlete.objects.count(),
        guardians=Guardian.objects.count(),
        classes=GymClass.objects.count(),
        meetings=Meeting.objects.count(),
        register_entries=RegisterEntry.objects.count(),
        setups=Setup.objects.plans().count(),
        holds=Hold.objects.count(),
        attempts=Attempt.objects.count(),
        sign_offs=SignOff.objects.count(),
    )
