"""What a coach fixed by hand in a class's plan; the engine plans the rest around it."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone

from progress.models.classes import GymClass
from progress.models.floor import Loop
from progress.models.people import Athlete, StaffMember
from progress.models.stations import Station, Variant


class PlanChoiceQuerySet(models.QuerySet["PlanChoice"]):
    """Reads of choices."""

    def standing(self) -> "PlanChoiceQuerySet":
        """Choices that were not taken back."""
        return self.filter(taken_back_at__isnull=True)

    def of(self, gym_class: GymClass, day: date) -> "PlanChoiceQuerySet":
        """Standing choices for one class on one day, with what they name."""
        return (
            self.standing()
            .filter(gym_class=gym_class, day=day)
            .select_related("athlete", "loop", "station", "variant", "chosen_by")
        )


class PlanChoice(models.Model):
    """One athlete starts on this loop, or takes this variant at this station, on one day.

    A station without a variant: the athlete leaves it out. A later choice takes the place of an
    earlier one, which is kept as taken back.
    """

    gym_class = models.ForeignKey(GymClass, on_delete=models.CASCADE, related_name="plan_choices")
    day = models.DateField()
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="plan_choices")
    loop = models.ForeignKey(
        Loop, null=True, blank=True, on_delete=models.CASCADE, related_name="plan_choices"
    )
    station = models.ForeignKey(
        Station, null=True, blank=True, on_delete=models.CASCADE, related_name="plan_choices"
    )
    variant = models.ForeignKey(
        Variant, null=True, blank=True, on_delete=models.CASCADE, related_name="plan_choices"
    )
    reason = models.CharField(max_length=200, blank=True)
    chosen_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="plan_choices"
    )
    chosen_at = models.DateTimeField(default=timezone.now)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = PlanChoiceQuerySet.as_manager()

    class Meta:
        ordering = ("-day", "gym_class", "-chosen_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(loop__isnull=False, station__isnull=True, variant__isnull=True)
                | Q(loop__isnull=True, station__isnull=False),
                name="choice_is_of_a_loop_or_at_a_station",
            ),
            models.UniqueConstraint(
                fields=("gym_class", "day", "athlete"),
                condition=Q(station__isnull=True, taken_back_at__isnull=True),
                name="one_loop_chosen_a_day",
            ),
            models.UniqueConstraint(
                fields=("gym_class", "day", "athlete", "station"),
                condition=Q(station__isnull=False, taken_back_at__isnull=True),
                name="one_variant_chosen_a_day",
            ),
        )

    def __str__(self) -> str:
        where = self.loop or f"{self.station}: {self.variant or 'left out'}"
        return f"{self.athlete}, {self.day}: {where}"

    def clean(self) -> None:
        """Refuse a variant of another station."""
        if self.variant is not None and self.variant.station_id != self.station_id:
            raise ValidationError({"variant": "This variant belongs to another station."})
