"""A coach moves a child in the plan and hears what that changes for the others."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db import transaction

from progress.engine.class_plan import ClassPlan
from progress.models import Athlete, GymClass, PlanChoice, StaffMember
from progress.usecases.plans.choose_by_hand import (
    ChoiceRefused,
    choose_loop,
    choose_variant,
    standing_at,
    take_back,
)
from progress.usecases.see_class import ClassTonight, plan_around, see_class


@dataclass(frozen=True)
class Move:
    """Where an athlete goes, by codes.

    ``station`` empty: the loop to start on. ``to`` None: leave it to the engine; empty at a
    station: leave the station out.
    """

    station: str
    to: str | None


@dataclass(frozen=True)
class Change:
    """What the new plan has otherwise for an athlete.

    At ``station`` of ``loop`` the variant by code, None for nothing; without a station the loop to
    start on.
    """

    athlete: str
    loop: str
    station: str
    before: str | None
    after: str | None


@dataclass(frozen=True)
class Moved:
    """``earlier`` and ``made``: what stood before and what stands now, None for the engine's own.

    ``changes``: everything else that is planned otherwise now, in the order of the class.
    """

    earlier: PlanChoice | None
    made: PlanChoice | None
    changes: tuple[Change, ...]


def move_athlete(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    move: Move,
    coach: StaffMember,
    now: datetime,
    reason: str = "",
) -> Moved:
    """Fix what the coach chose and plan the rest around it. Raises ChoiceRefused."""
    before = see_class(gym_class=gym_class, today=day)
    with transaction.atomic():
        earlier = standing_at(gym_class, day, athlete, move.station).first()
        made = _store(gym_class, day, athlete, move, coach, now, reason)
    found = _changes(before, _plan_now(before))
    mine = (athlete.code, move.station)
    return Moved(earlier, made, tuple(c for c in found if (c.athlete, c.station) != mine))


@transaction.atomic
def undo_move(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    station: str,
    made: int | None,
    earlier: int | None,
    coach: StaffMember,
    now: datetime,
) -> None:
    """Put back what stood before a move (``earlier``, by key; None: the engine's own).

    Raises ChoiceRefused where ``made`` is not what stands now: somebody changed it since.
    """
    _must_stand(gym_class, day, athlete, station, made)
    mine = PlanChoice.objects.filter(gym_class=gym_class, day=day, athlete=athlete)
    known = mine.select_related("loop", "station", "variant")
    choice = None if earlier is None else known.filter(pk=earlier).first()
    move = Move(station, _code(choice) if choice else None)
    _store(gym_class, day, athlete, move, coach, now, choice.reason if choice else "")


@transaction.atomic
def give_reason(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    station: str,
    made: int,
    reason: str,
    coach: StaffMember,
    now: datetime,
) -> None:
    """Say why a choice was made, if it still stands. Raises ChoiceRefused."""
    choice = _must_stand(gym_class, day, athlete, station, made)
    move = Move(station, _code(choice) if choice else None)
    _store(gym_class, day, athlete, move, coach, now, reason)


def _must_stand(
    gym_class: GymClass, day: date, athlete: Athlete, station: str, made: int | None
) -> PlanChoice | None:
    standing = standing_at(gym_class, day, athlete, station).first()
    if (standing.pk if standing else None) != made:
        raise ChoiceRefused("Somebody has changed this since. Look at it again.")
    return standing


def _code(choice: PlanChoice) -> str:
    if choice.loop is not None:
        return choice.loop.code
    return choice.variant.code if choice.variant else ""


def _store(
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    move: Move,
    coach: StaffMember,
    now: datetime,
    reason: str,
) -> PlanChoice | None:
    if move.to is None:
        take_back(
            gym_class=gym_class,
            day=day,
            athlete=athlete,
            coach=coach,
            now=now,
            station=move.station,
        )
        return None
    if not move.station:
        return choose_loop(
            gym_class=gym_class,
            day=day,
            athlete=athlete,
            loop=move.to,
            coach=coach,
            now=now,
            reason=reason,
        )
    return choose_variant(
        gym_class=gym_class,
        day=day,
        athlete=athlete,
        station=move.station,
        variant=move.to,
        coach=coach,
        now=now,
        reason=reason,
    )


def _plan_now(before: ClassTonight) -> ClassPlan:
    """The plan around the choices that stand now, for the same children and floor."""
    choices = tuple(PlanChoice.objects.of(before.gym_class, before.day))
    setting = replace(before.setting, choices=choices)
    here = [row for row, each in enumerate(before.athletes) if not each.away]
    return plan_around(before.known, here, setting, before.loops)


def _changes(before: ClassTonight, after: ClassPlan) -> Iterator[Change]:
    suggested: Mapping[tuple[str, str, str], str | None] = {
        (one.athlete, one.loop, one.station): one.variant for one in after.suggestions
    }
    for row, each in enumerate(before.athletes):
        code, starts = each.athlete.code, after.starts.get(row)
        if starts != each.starts_on:
            yield Change(code, "", "", each.starts_on, starts)
        for loop, plans in each.suggestions.items():
            for plan in plans:
                now = suggested.get((code, loop, plan.station))
                if now != plan.variant:
                    yield Change(code, loop, plan.station, plan.variant, now)
