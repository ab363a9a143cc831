"""Stations with their variants, on a week's floor or in the library, and what they take."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from progress.engine import terms
from progress.models.ladders import Skill
from progress.models.setups import Setup

METRES = ("space_m2", "mat_rated_m", "clear_m", "spacing_m", "swing_m")


class ConstraintChoice(models.TextChoices):
    """Which constraint a variant changes; the engine's words as choices."""

    HEIGHT = terms.Constraint.HEIGHT.value, "Height"
    DISTANCE = terms.Constraint.DISTANCE.value, "Distance"
    WIDTH = terms.Constraint.WIDTH.value, "Width"
    SUPPORT = terms.Constraint.SUPPORT.value, "Support"
    GRIP = terms.Constraint.GRIP.value, "Grip"
    SPEED = terms.Constraint.SPEED.value, "Speed"
    TASK = terms.Constraint.TASK.value, "Task"


class StationKind(models.TextChoices):
    """What a station is, as far as safety prompts ask."""

    BEAM = "beam", "Beam or line"
    BLOCKS = "blocks", "Stepping blocks"
    JUMP = "jump", "Jump"
    VAULT = "vault", "Box or vault"
    BARS = "bars", "Bar to hang from"
    OVERHEAD = "overhead", "Overhead ladder or rings"
    WALL = "wall", "Wall"
    CLIMB = "climb", "Net, frame or ladder to climb"
    ROPE = "rope", "Hanging rope"
    SWING = "swing", "Swing"
    DROP = "drop", "Drop or landing"
    ROLL = "roll", "Roll or wedge"
    CRAWL = "crawl", "Crawl or hurdle"
    OTHER = "other", "Something else"


class Mat(models.TextChoices):
    """What lies under a station."""

    UNKNOWN = "unknown", "Not written down"
    NONE = "none", "No mat"
    FIRM = "firm", "Firm mat"
    DEEP_SOFT = "deep_soft", "Deep soft mat"


class Equipment(models.Model):
    """Something the hall has only so many of: boxes, benches, mats, ropes."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    count = models.PositiveSmallIntegerField(help_text="How many the hall has.")

    class Meta:
        ordering = ("name", "code")
        verbose_name_plural = "equipment"

    def __str__(self) -> str:
        return f"{self.name} ({self.count})"


class Station(models.Model):
    """A place on the floor of one setup; loops that split or rejoin share it."""

    setup = models.ForeignKey(Setup, on_delete=models.CASCADE, related_name="stations")
    code = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=StationKind, default=StationKind.OTHER)
    small_area = models.BooleanField(default=False, help_text="For the youngest children's area.")
    space_m2 = models.FloatField(
        null=True, blank=True, help_text="Floor it takes with its landing, square metres."
    )
    mat = models.CharField(max_length=10, choices=Mat, default=Mat.UNKNOWN)
    mat_rated_m = models.FloatField(
        null=True, blank=True, help_text="Fall height the mat's maker states, metres."
    )
    mat_checked = models.DateField(null=True, blank=True, help_text="Day the mat was last checked.")
    clear_m = models.FloatField(
        null=True, blank=True, help_text="Clear landing floor around it, metres."
    )
    spacing_m = models.FloatField(
        null=True, blank=True, help_text="Distance to the next station, metres."
    )
    swing_m = models.FloatField(
        null=True, blank=True, help_text="Free run each way in the direction of a swing, metres."
    )
    way_down = models.BooleanField(
        null=True, blank=True, help_text="An easier way down than up; empty: not written down."
    )
    equipment = models.ManyToManyField(Equipment, through="StationEquipment", blank=True)

    class Meta:
        ordering = ("setup", "code")
        constraints = (
            models.UniqueConstraint(fields=("setup", "code"), name="station_once_in_setup"),
            models.CheckConstraint(
                condition=Q(kind__in=StationKind.values), name="station_kind_is_known"
            ),
            models.CheckConstraint(condition=Q(mat__in=Mat.values), name="mat_is_known"),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{field}__isnull": True})
                    | Q(**{f"{field}__gt": 0, f"{field}__lte": 1000}),
                    name=f"station_{field}_is_metres",
                )
                for field in METRES
            ),
        )

    def __str__(self) -> str:
        return self.name

    def as_term(self) -> terms.Station:
        """This station in the engine's words; variants must be prefetched."""
        variants = sorted(self.variants.all(), key=lambda variant: (variant.step, variant.code))
        return terms.Station(self.code, tuple(variant.as_term() for variant in variants))


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
    hand_height_m = models.FloatField(
        null=True, blank=True, help_text="Hands above landing, metres, where the child hangs."
    )
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
            models.CheckConstraint(
                condition=Q(hand_height_m__isnull=True)
                | Q(hand_height_m__gt=0, hand_height_m__lte=10),
                name="variant_hand_height_is_metres",
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


class StationEquipment(models.Model):
    """How many of one thing a station takes."""

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="equipment_links")
    equipment = models.ForeignKey(Equipment, on_delete=models.CASCADE, related_name="station_links")
    count = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta:
        ordering = ("station", "equipment")
        verbose_name_plural = "station equipment"
        constraints = (
            models.UniqueConstraint(
                fields=("station", "equipment"), name="equipment_named_once_a_station"
            ),
            models.CheckConstraint(condition=Q(count__gte=1), name="station_takes_some_of_it"),
        )

    def __str__(self) -> str:
        return f"{self.count} x {self.equipment.name}"
