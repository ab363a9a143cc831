"""A coach looks for a station in the library, by words and by skill."""

from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet

from progress.models import Loop, LoopStop, Skill, Station, Variant


@dataclass(frozen=True)
class Standing:
    """A station of the setup that a loop may share.

    ``loops`` are the names of those that stop at it; ``refusal`` says why it cannot be shared.
    """

    station: Station
    loops: tuple[str, ...]
    refusal: str


def library_stations(*, words: str = "", skill: str = "") -> QuerySet[Station]:
    """Stations of the library with variants and skills, by name. Three queries when read.

    Each of ``words`` stands in the name of the station, a variant or a skill. ``skill`` is a code.
    """
    variants = Variant.objects.select_related("skill").order_by("step", "code")
    found = Station.objects.filter(setup__library=True)
    for word in words.split():
        found = found.filter(
            Q(name__icontains=word)
            | Q(variants__name__icontains=word)
            | Q(variants__skill__name__icontains=word)
        )
    if skill:
        found = found.filter(variants__skill__code=skill)
    return (
        found.distinct().order_by("name", "code").prefetch_related(Prefetch("variants", variants))
    )


def library_skills() -> QuerySet[Skill]:
    """The skills that stations of the library practise."""
    practised = Variant.objects.filter(station__setup__library=True).values("skill")
    return Skill.objects.filter(pk__in=practised).order_by("ladder__order", "tier", "code")


def standing_stations(*, loop: Loop) -> list[Standing]:
    """Stations of the loop's setup that it does not stop at yet, those it may share first.

    Three queries.
    """
    variants = Variant.objects.select_related("skill").order_by("step", "code")
    stops = LoopStop.objects.select_related("loop").order_by("loop__order", "loop__code")
    stations = (
        Station.objects.filter(setup=loop.setup_id)
        .exclude(stops__loop=loop)
        .order_by("name", "code")
        .prefetch_related(Prefetch("variants", variants), Prefetch("stops", stops))
    )
    found = []
    for station in stations:
        others = [stop.loop for stop in station.stops.all()]
        away = [other for other in others if other.area_id != loop.area_id]
        refusal = f"It stands in another area, on {away[0]}." if away else ""
        found.append(Standing(station, tuple(str(other) for other in others), refusal))
    return sorted(found, key=lambda one: bool(one.refusal))
