"""A coach prints a floor for the wall: its loops in order, and what to look at before a class."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q

from progress.engine.safety_facts import GroupFacts, Prompt, Severity
from progress.models import Athlete, Enrolment, Loop, LoopStop, RuleBook, Setup, Variant
from progress.usecases.plans.cautions import cautions_of


@dataclass(frozen=True)
class FloorSheet:
    """A floor as it hangs on the wall.

    ``loops`` stop somewhere and come in the order of the floor, stops, stations and variants
    loaded. ``cautions`` hold for the floor itself, the most serious first; those that depend on
    age take the youngest child of the week, whose age in years is given by kind of area (True: the
    small area) where any age is on record.
    """

    setup: Setup
    loops: tuple[Loop, ...]
    cautions: tuple[Prompt, ...]
    youngest: dict[bool, float]


def see_floor_sheet(*, setup: Setup, today: date) -> FloorSheet:
    """Read a setup for printing: five queries, or six with the rules' own."""
    stops = LoopStop.objects.select_related("station").order_by("position")
    variants = Variant.objects.select_related("skill").order_by("step", "code")
    found = (
        Loop.objects.filter(setup=setup)
        .select_related("area")
        .order_by("area__small", "order", "code")
        .prefetch_related(Prefetch("stops", stops), Prefetch("stops__station__variants", variants))
    )
    loops = tuple(loop for loop in found if loop.stops.all())
    youngest = _youngest(today)
    rules = RuleBook.in_force()
    cautions = [
        prompt
        for small in (False, True)
        for prompt in cautions_of(
            _of_kind(loops, small),
            GroupFacts(children=0, youngest_age=youngest.get(small)),
            rules,
            today,
        )
    ]
    order = list(Severity)
    cautions.sort(key=lambda prompt: order.index(prompt.severity))
    return FloorSheet(setup, loops, tuple(cautions), youngest)


def _of_kind(loops: Sequence[Loop], small: bool) -> list[Loop]:
    return [loop for loop in loops if loop.area.small == small]


def _youngest(today: date) -> dict[bool, float]:
    """The youngest child enrolled today by kind of area: one query."""
    enrolments = Enrolment.objects.running_on(today).filter(
        Q(athlete__left__isnull=True) | Q(athlete__left__gt=today),
        athlete__birth_date__isnull=False,
    )
    born: dict[bool, date] = {}
    rows = enrolments.values_list("gym_class__small_area", "athlete__birth_date").order_by()
    for small, birth in rows:
        if birth is not None:
            born[small] = max(birth, born.get(small, birth))
    ages = {small: Athlete(birth_date=birth).age_on(today) for small, birth in born.items()}
    return {small: age for small, age in ages.items() if age is not None}
