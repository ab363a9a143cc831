"""What people decide and what the engine ran on: holds, sign-offs, rules, calibrations."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from progress.engine.rules import Rules
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


class RuleBook(models.Model):
    """One version of the rules. Versions are kept for good; the highest is in force."""

    version = models.PositiveIntegerField(unique=True)
    values = models.JSONField()
    changed_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.PROTECT, related_name="rule_books"
    )
    changed_at = models.DateTimeField(default=timezone.now, editable=False)
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("-version",)

    def __str__(self) -> str:
        return f"Rules, version {self.version}"

    @classmethod
    def in_force(cls) -> Rules:
        """The rules that hold now: the highest version, or the defaults of a new gym."""
        newest = cls.objects.first()
        if newest is None:
            return Rules()
        return Rules.from_json({**newest.values, "version": newest.version})

    def clean(self) -> None:
        """Refuse values the engine could not use."""
        Rules.from_json(self.values)


class Calibration(models.Model):
    """What was learnt from the gym's own log up to ``cutoff``: difficulties, severities, spreads.

    ``values`` is the engine's own JSON; ``fingerprint`` tells which rows it was made from.
    """

    cutoff = models.DateField(help_text="Attempts before this day were used.")
    engine_version = models.CharField(max_length=20)
    fingerprint = models.CharField(max_length=64)
    attempts = models.PositiveIntegerField()
    values = models.JSONField()
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ("-cutoff", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("cutoff", "engine_version", "fingerprint"), name="calibrated_once"
            ),
        )

    def __str__(self) -> str:
        return f"Calibration before {self.cutoff} on {self.attempts} attempts"


class SignOff(models.Model):
    """The lead's decision to move an athlete up, with a sentence why and what the engine said."""

    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="sign_offs")
    from_tier = models.ForeignKey(
        Tier, on_delete=models.PROTECT, to_field="number", related_name="+"
    )
    to_tier = models.ForeignKey(Tier, on_delete=models.PROTECT, to_field="number", related_name="+")
    decided_by = models.ForeignKey(StaffMember, on_delete=models.PROTECT, related_name="sign_offs")
    decided_at = models.DateTimeField(default=timezone.now)
    sentence = models.CharField(max_length=300)
    engine_said = models.JSONField(default=dict)
    engine_version = models.CharField(max_length=20)
    rules_version = models.PositiveIntegerField()

    class Meta:
        ordering = ("-decided_at",)
        constraints = (
            models.CheckConstraint(
                condition=~Q(from_tier=F("to_tier")), name="sign_off_changes_tier"
            ),
            models.CheckConstraint(condition=~Q(sentence=""), name="sign_off_says_why"),
        )

    def __str__(self) -> str:
        return f"{self.athlete}: tier {self.from_tier_id} to {self.to_tier_id}"

    def snapshot(self) -> dict[str, Any]:
        """What the engine said on the day of the decision."""
        return dict(self.engine_said)
