"""What people decide about athletes: holds and sign-offs."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from progress.models.ladders import Ladder, Tier
from progress.models.people import Athlete, StaffMember


class HoldReason(models.TextChoices):
    """Neutral reasons; no health details are kept."""

    INJURY = "injury", "Injury or illness"
    ABSENCE = "absence", "Long absence"
    WISH = "wish", "Family's or child's wish"
    OTHER = "other", "Other: ask the lead"


class HoldQuerySet(models.QuerySet["Hold"]):
    """Reads of holds."""

    def on(self, day: date) -> "HoldQuerySet":
        """Holds in force on ``day``: an end date alone does not lift a hold, a person does."""
        return self.filter(starts__lte=day).filter(Q(lifted__isnull=True) | Q(lifted__gt=day))


class Hold(models.Model):
    """A stop set by a person. The tool holds back; it never clears anyone."""

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="holds")
    starts = models.DateField()
    review = models.DateField(
        null=True, blank=True, help_text="Day to ask again, for information only."
    )
    lifted = models.DateField(null=True, blank=True, help_text="First day back.")
    lifted_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.PROTECT, related_name="holds_lifted"
    )
    kind = models.CharField(max_length=10, choices=HoldReason)
    reason = models.CharField(max_length=120, blank=True, help_text="Short and neutral.")
    ladders = models.ManyToManyField(
        Ladder, blank=True, help_text="Leave empty to hold everything."
    )
    placed_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.PROTECT, related_name="holds_placed"
    )

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ("-starts", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(lifted__isnull=True) | Q(lifted__gte=F("starts")),
                name="hold_lifted_after_start",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=HoldReason.values), name="hold_kind_is_known"
            ),
        )

    def __str__(self) -> str:
        return f"{self.athlete}: {self.get_kind_display()} from {self.starts}"


class SignOffQuerySet(models.QuerySet["SignOff"]):
    """Reads of sign-offs."""

    def standing(self) -> "SignOffQuerySet":
        """Decisions that were not undone."""
        return self.filter(undone_at__isnull=True)


class SignOff(models.Model):
    """The lead's decision to move an athlete up, with a sentence why and what the engine said.

    Within a day it can be undone; later a new decision is taken. ``although`` is asked for where
    the engine says building. ``stays``: no place in a class of the new tier is looked for.
    """

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="sign_offs")
    from_tier = models.ForeignKey(
        Tier, on_delete=models.PROTECT, to_field="number", related_name="+"
    )
    to_tier = models.ForeignKey(Tier, on_delete=models.PROTECT, to_field="number", related_name="+")
    decided_by = models.ForeignKey(StaffMember, on_delete=models.PROTECT, related_name="sign_offs")
    decided_at = models.DateTimeField(default=timezone.now)
    sentence = models.CharField(max_length=300)
    although = models.CharField(
        max_length=300, blank=True, help_text="Why, although the engine said building."
    )
    engine_said = models.JSONField(default=dict)
    engine_version = models.CharField(max_length=20)
    rules_version = models.PositiveIntegerField()
    stays = models.BooleanField(
        default=False, help_text="Stays in the present class and waits for no other."
    )
    places_given = models.JSONField(
        default=list, blank=True, help_text="Places that came with it, so that undo finds them."
    )
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(
        StaffMember,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="sign_offs_undone",
    )

    objects = SignOffQuerySet.as_manager()

    class Meta:
        ordering = ("-decided_at",)
        constraints = (
            models.CheckConstraint(
                condition=~Q(from_tier=F("to_tier")), name="sign_off_changes_tier"
            ),
            models.CheckConstraint(condition=~Q(sentence=""), name="sign_off_says_why"),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True, undone_by__isnull=True)
                | Q(undone_at__isnull=False, undone_by__isnull=False),
                name="sign_off_undone_by_somebody",
            ),
        )

    def __str__(self) -> str:
        return f"{self.athlete}: tier {self.from_tier_id} to {self.to_tier_id}"

    def snapshot(self) -> dict[str, Any]:
        """What the engine said on the day of the decision."""
        return dict(self.engine_said)
