"""A coach publishes a draft, takes a setup back, or changes one that was used already."""

from datetime import date, datetime

from django.db import transaction
from django.db.models import Prefetch, Q

from progress.models import Loop, LoopStop, Setup, StaffMember, Station
from progress.usecases.floors.changes import (
    Done,
    FloorRefused,
    is_used,
    lock,
    monday_of,
    refuse_strangers,
    week_words,
)
from progress.usecases.floors.copies import copy_floor
from progress.usecases.floors.copy_setup import new_draft
from progress.usecases.floors.find_problems import Problem, find_problems


class NotReadyToPublish(FloorRefused):
    """Things must be mended first; ``problems`` names them."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__(str(problems[0]))
        self.problems = problems


@transaction.atomic
def publish_setup(*, setup: Setup, today: date, now: datetime, by: StaffMember) -> Done:
    """Put a draft on the floor of its week and keep who did it and when.

    A setup that stood in this week until now is kept as it was, for the attempts recorded on it,
    and no longer stands. Raises FloorRefused: NotReadyToPublish where something is missing.
    """
    refuse_strangers(by)
    held = lock(setup)
    if not held.is_draft:
        raise FloorRefused(f"{held} is no draft, so there is nothing to publish.")
    problems = find_problems(loops_of(held))
    if problems:
        raise NotReadyToPublish(problems)
    week = held.for_week
    if week is None:
        _refuse_second_undated(held)
    elif week < monday_of(today):
        raise FloorRefused(
            f"{week_words(week, start=True)} is past. Choose another week under “Name and week”."
        )
    stood = _make_way(held, week)
    held.week, held.planned_for, held.published = week, None, True
    held.published_at, held.published_by = now, by
    held.save()
    where = f"for {week_words(week)}" if week else "until another is set"
    kept = " What stood before is kept as it was." if stood else ""
    return Done(f"{held} is published {where}.{kept}")


def _refuse_second_undated(setup: Setup) -> None:
    others = Setup.objects.filter(week__isnull=True, published=True).exclude(pk=setup.pk)
    if others.exists():
        raise FloorRefused(
            "A setup without a week stands already. Choose a week for this one under “Name and"
            " week”."
        )


def _make_way(setup: Setup, week: date | None) -> bool:
    """Free the week for ``setup``; return whether a setup stood in it."""
    if week is None:
        return False
    old = Setup.objects.select_for_update().filter(week=week).exclude(pk=setup.pk).first()
    if old is None:
        return False
    old.week = None
    if old.published:
        old.published, old.stood_in = False, week
    old.save(update_fields=["week", "published", "stood_in"])
    return True


def loops_of(setup: Setup) -> list[tuple[Loop, list[Station]]]:
    """Loops with area and their stations with variants, in order. Four queries."""
    stops = LoopStop.objects.select_related("station").order_by("position")
    loops = (
        Loop.objects.filter(setup=setup)
        .select_related("area")
        .order_by("area__small", "area__name", "order", "code")
        .prefetch_related(Prefetch("stops", stops), "stops__station__variants")
    )
    return [(loop, [stop.station for stop in loop.stops.all()]) for loop in loops]


@transaction.atomic
def take_back_setup(*, setup: Setup, today: date, by: StaffMember) -> Done:
    """Make a published setup a draft again; only where nobody has used it and its week is to come.

    Raises FloorRefused.
    """
    refuse_strangers(by)
    held = lock(setup)
    if not held.published:
        raise FloorRefused(f"{held} is not published, so there is nothing to take back.")
    if held.week and held.week < monday_of(today):
        raise FloorRefused(f"{week_words(held.week, start=True)} is past, so it stays as it was.")
    if is_used(held):
        raise FloorRefused(
            f"Attempts were recorded on {held}, so it stays as it was. Choose “Change it from"
            " today”."
        )
    _refuse_second_draft(held.week)
    held.planned_for, held.week, held.published = held.week, None, False
    held.published_at = held.published_by = None
    held.save()
    return Done(f"{held} is a draft again. It is on no floor until you publish it.")


@transaction.atomic
def change_from_today(*, setup: Setup, today: date, by: StaffMember) -> Setup:
    """A new draft for the same week with all that stands in a setup that was used.

    Once it is published it takes the week, and what stood until then is kept as it was. A setup
    without a week is changed for this week alone. Raises FloorRefused.
    """
    refuse_strangers(by)
    held = lock(setup)
    if not held.published:
        raise FloorRefused(f"{held} is not published. Only what stands can be changed from today.")
    if held.week and held.week < monday_of(today):
        raise FloorRefused(
            f"{week_words(held.week, start=True)} is past. Copy it to a week to come instead."
        )
    week = held.week or monday_of(today)
    if held.week is None and Setup.objects.filter(week=week).exists():
        raise FloorRefused(f"{week_words(week, start=True)} has a setup of its own. Change that.")
    _refuse_second_draft(week)
    draft = new_draft(week, name=held.name)
    copy_floor(held, draft)
    return draft


def _refuse_second_draft(week: date | None) -> None:
    if week and Setup.objects.filter(Q(planned_for=week)).exists():
        raise FloorRefused(
            f"{week_words(week, start=True)} has a draft already. Open that draft on the floor"
            " page, publish it or throw it away."
        )
