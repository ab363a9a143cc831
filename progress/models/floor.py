"""The floor of a week: setups, areas, loops, stations and their variants."""

from datetime import date

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Case, Q, When

from progress.engine import terms
from progress.models.ladders import Skill


class ConstraintChoice(models.TextChoices):
    """Which constraint a variant changes; the engine's words as choices."""

    HEIGHT = terms.Constraint.HEIGHT.value, "Height"
    DISTANCE = terms.Constraint.DISTANCE.value, "Distance"
    WIDTH = terms.Constraint.WIDTH.value, "Width"
    SUPPORT = terms.Constraint.SUPPORT.value, "Support"
    GRIP = terms.Constraint.GRIP.value, "Grip"
    SPEED = terms.Constraint.SPEED.value, "Speed"
    TASK = terms.Constraint.TASK.value, "Task"


class SetupQuerySet(models.QuerySet["Setup"]):
    """Reads of setups."""

    def standing_on(self, day: date) -> "SetupQuerySet":
        """Published setups that could stand on ``day``, the one that does first.

        That is the setup of the week of ``day``, else the undated one, else the last before.
        """
        monday = date.fromordinal(day.toordinal() - day.weekday())
        rank = Case(When(week=monday, then=0), When(week__isnull=True, then=1), default=2)
        return (
            self.filter(Q(week__lte=monday) | Q(week__isnull=True), published=True)
            .annotate(rank=rank)
            .order_by("rank", "-week")
        )

    def on_floor(self, day: date) -> "Setup | None":
        """The setup that stands on ``day``, None where there is none."""
        return self.standing_on(day).first()


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


class Setup(models.Model):
    """What stands on the floor in one week; without a week it stands until another is set."""

    week = models.DateField(null=True, blank=True, unique=True, help_text="Monday of the week.")
    name = models.CharField(max_length=120, blank=True)
    published = models.BooleanField(default=True)

    objects = SetupQuerySet.as_manager()

    class Meta:
        ordering = ("-week",)
        constraints = (
            models.CheckConstraint(
                condition=Q(week__isnull=True) | Q(week__week_day=2), name="setup_week_is_a_monday"
            ),
            models.UniqueConstraint(
                fields=("published",),
                condition=Q(week__isnull=True, published=True),
                name="one_undated_setup",
            ),
        )

    def __str__(self) -> str:
        return self.name or (f"Week of {self.week:%d %b %Y}" if self.week else "Standing floor")


class Area(models.Model):
    """A part of the hall."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    small = models.BooleanField(default=False, help_text="The youngest children's area.")

    class Meta:
        ordering = ("small", "name")

    def __str__(self) -> str:
        return self.name


class Station(models.Model):
    """A place on the floor of one setup; loops that split or rejoin share it."""

    setup = models.ForeignKey(Setup, on_delete=models.CASCADE, related_name="stations")
    code = models.CharField(max_length=60)
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ("setup", "code")
        constraints = (
            models.UniqueConstraint(fields=("setup", "code"), name="station_once_in_setup"),
        )

    def __str__(self) -> str:
        return self.name

    def as_term(self) -> terms.Station:
        """This station in the engine's words; variants must be prefetched."""
        variants = sorted(self.variants.all(), key=lambda variant: (variant.step, variant.code))
        return terms.Station(self.code, tuple(variant.as_term() for variant in variants))


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


class Variant(models.Model):
    """One way to set a station up, by step: negative easier, 0 base, positive harder."""

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="variants")
    code = models.CharField(max_length=60)
    name = models.CharField(max_length=200, blank=True)
    step = models.SmallIntegerField(default=0)
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="variants")
    change = models.CharField(max_length=10, choices=ConstraintChoice, blank=True)
    difficulty = models.FloatField(
        null=True, blank=True, help_text="Logits relative to its skill; empty lets the log decide."
    )
    height_m = models.FloatField(null=True, blank=True, help_text="Feet above landing, metres.")
    spotter = models.BooleanField(default=False, help_text="An adult stands here.")
    lanes = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])
    seconds = models.FloatField(null=True, blank=True, help_text="One turn, seconds.")
    places = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Most children on this variant in one class."
    )
    minimum_age = models.FloatField(null=True, blank=True, help_text="Years.")
    caution = models.TextField(blank=True)

    class Meta:
        ordering = ("station", "step", "code")
        constraints = (
            models.UniqueConstraint(fields=("station", "code"), name="variant_once_at_station"),
            models.UniqueConstraint(fields=("station", "step"), name="one_variant_a_step"),
            models.CheckConstraint(
                condition=Q(height_m__isnull=True) | Q(height_m__gte=0, height_m__lte=10),
                name="variant_height_is_metres",
            ),
            models.CheckConstraint(condition=Q(lanes__gte=1), name="variant_has_a_lane"),
            models.CheckConstraint(
                condition=Q(seconds__isnull=True) | Q(seconds__gt=0), name="a_turn_takes_time"
            ),
        )

    def __str__(self) -> str:
        return self.name or self.code

    def as_term(self) -> terms.Variant:
        """This variant in the engine's words; its skill must be loaded."""
        return terms.Variant(
            code=self.code,
            skill=self.skill.code,
            step=self.step,
            difficulty=self.difficulty,
            height_m=self.height_m,
            spotter=self.spotter,
            lanes=self.lanes,
            seconds=self.seconds,
            places=self.places,
            minimum_age=self.minimum_age,
        )
