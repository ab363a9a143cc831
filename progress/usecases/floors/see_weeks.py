"""A coach looks at the weeks: what stands, what is planned, what was."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from django.db.models import F, Prefetch, Q, QuerySet
from django.db.models.functions import Coalesce

from progress.models import Loop, LoopStop, Setup
from progress.usecases.floors.changes import WEEK, monday_of
from progress.usecases.floors.weeks import free_weeks


class Standing(StrEnum):
    """How a setup stands."""

    DRAFT = "draft"
    HERE = "here"  # stands on the floor today
    TO_COME = "to come"
    PAST = "past"
    REPLACED = "replaced"
    KEPT = "kept"  # published without a week, while another stands


@dataclass(frozen=True)
class LoopLine:
    """A loop in words: its name, area and stations in order."""

    name: str
    area: str
    stations: tuple[str, ...]


@dataclass(frozen=True)
class SetupCard:
    """A setup on the list of weeks."""

    setup: Setup
    standing: Standing
    loops: tuple[LoopLine, ...]

    @property
    def is_draft(self) -> bool:
        """Whether it may still be changed."""
        return self.standing is Standing.DRAFT


@dataclass(frozen=True)
class Weeks:
    """The floor page but for the past.

    ``here`` is what stands today, None in an empty hall; ``free`` are Mondays without a plan.
    """

    today: date
    here: SetupCard | None
    drafts: tuple[SetupCard, ...]
    to_come: tuple[SetupCard, ...]
    kept: tuple[SetupCard, ...]
    free: tuple[date, ...]

    @property
    def stands_over(self) -> bool:
        """Whether what stands is not this week's own setup."""
        return self.here is not None and self.here.setup.week != monday_of(self.today)


def see_weeks(*, today: date) -> Weeks:
    """What stands, the drafts, and what is published for weeks to come. Five queries."""
    here = Setup.objects.on_floor(today)
    monday = monday_of(today)
    ahead = Q(published=True, week__gt=monday) | Q(published=True, week__isnull=True)
    drafts = Q(published=False, stood_in__isnull=True)
    setups = (
        Setup.objects.plans()
        .filter(ahead | drafts | Q(pk=here.pk if here else None))
        .order_by(Coalesce("week", "planned_for").asc(nulls_last=True), "pk")
    )
    cards = cards_of(setups, here=here, today=today)

    def those(standing: Standing) -> tuple[SetupCard, ...]:
        return tuple(card for card in cards if card.standing is standing)

    return Weeks(
        today=today,
        here=next(iter(those(Standing.HERE)), None),
        drafts=those(Standing.DRAFT),
        to_come=those(Standing.TO_COME),
        kept=those(Standing.KEPT),
        free=tuple(free_weeks(today=today)),
    )


def past_setups(*, today: date) -> QuerySet[Setup]:
    """Setups of weeks gone by and those another took the place of, newest first."""
    monday = monday_of(today)
    return (
        Setup.objects.plans()
        .filter(Q(published=True, week__lt=monday) | Q(stood_in__isnull=False))
        .order_by(Coalesce(F("week"), F("stood_in")).desc(), "-pk")
    )


def cards_of(setups: Iterable[Setup], *, here: Setup | None, today: date) -> tuple[SetupCard, ...]:
    """Setups with their loops in words. Two queries beside that of ``setups``."""
    rows = list(setups)
    stops = LoopStop.objects.select_related("station").order_by("position")
    loops = (
        Loop.objects.filter(setup__in=rows)
        .select_related("area")
        .order_by("area__small", "area__name", "order", "code")
        .prefetch_related(Prefetch("stops", stops))
    )
    lines: dict[int, list[LoopLine]] = {}
    for loop in loops:
        stations = tuple(stop.station.name for stop in loop.stops.all())
        lines.setdefault(loop.setup_id, []).append(LoopLine(loop.name, str(loop.area), stations))
    return tuple(
        SetupCard(setup, standing_of(setup, here=here, today=today), tuple(lines.get(setup.pk, ())))
        for setup in rows
    )


def standing_of(setup: Setup, *, here: Setup | None, today: date) -> Standing:
    """How a setup stands today, ``here`` being the one on the floor."""
    if setup.is_draft:
        return Standing.DRAFT
    if setup.stood_in:
        return Standing.REPLACED
    if here is not None and setup.pk == here.pk:
        return Standing.HERE
    if setup.week is None:
        return Standing.KEPT
    return Standing.TO_COME if setup.week > today - WEEK else Standing.PAST
