"""Loops and where they stop."""

from datetime import date

from django.core.validators import MinValueValidator
from django.db import models

from progress.engine import terms
from progress.models.setups import Area, Setup
from progress.models.stations import Station, Variant


class LoopQuerySet(models.QuerySet["Loop"]):
    """Reads of loops."""

    def on_floor(self, day: date) -> "LoopQuerySet":
        """Loops standing on ``day`` with setup, area, stops, stations and variants: 3 queries."""
        stops = LoopStop.objects.select_related("station").order_by("position")
        variants = Variant.objects.select_related("skill").order_by("step", "code")
        standing = Setup.objects.standing_on(day).values("pk")[:1]
        return (
            self.filter(setup=standing)
            .select_related("setup", "area")
            .order_by("area__small", "order", "code")
            .prefetch_related(
                models.Prefetch("stops", stops),
                models.Prefetch("stops__station__variants", variants),
            )
        )


class Loop(models.Model):
    """An ordered round of stations in one area."""

    setup = models.ForeignKey(Setup, on_delete=models.CASCADE, related_name="loops")
    area = models.ForeignKey(Area, on_delete=models.PROTECT, related_name="loops")
    code = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    order = models.PositiveSmallIntegerField(default=0)
    stations = models.ManyToManyField(Station, through="LoopStop", related_name="loops")

    objects = LoopQuerySet.as_manager()

    class Meta:
        ordering = ("setup", "order", "code")
        constraints = (
            models.UniqueConstraint(fields=("setup", "code"), name="loop_once_in_setup"),
        )

    def __str__(self) -> str:
        return self.name

    def as_term(self) -> terms.Loop:
        """This loop in the engine's words; stops, stations and variants must be prefetched."""
        stops = sorted(self.stops.all(), key=lambda stop: stop.position)
        stations = tuple(stop.station.as_term() for stop in stops)
        return terms.Loop(self.code, stations, small_area=self.area.small)


class LoopStop(models.Model):
    """Where a station comes in a loop."""

    loop = models.ForeignKey(Loop, on_delete=models.CASCADE, related_name="stops")
    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="stops")
    position = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])

    class Meta:
        ordering = ("loop", "position")
        constraints = (
            models.UniqueConstraint(fields=("loop", "position"), name="one_station_a_stop"),
            models.UniqueConstraint(fields=("loop", "station"), name="station_once_in_loop"),
        )

    def __str__(self) -> str:
        return f"{self.loop} {self.position}: {self.station}"
