"""What the engine said last of every athlete, kept so that a board of thousands opens at once.

Everything here is worked out from the log and can be worked out again; nothing is decided by it.
"""

from collections.abc import Collection
from datetime import date

from django.db import models
from django.db.models import F, Q

from progress.engine.terms import Decision
from progress.models.people import Athlete


class DecisionChoice(models.TextChoices):
    """The engine's four suggestions, as stored."""

    READY = Decision.READY.value, "Ready"
    NEARLY = Decision.NEARLY.value, "Nearly"
    NEEDS_CHECKS = Decision.NEEDS_CHECKS.value, "Needs checks"
    BUILDING = Decision.BUILDING.value, "Building"


class StandingQuerySet(models.QuerySet["Standing"]):
    """Reads of standings."""

    def fresh(self, *, on_day: date, basis: str) -> "StandingQuerySet":
        """Those worked out for this day and basis, after the last change."""
        return self.filter(on_day=on_day, basis=basis, worked_out=F("changes"))

    def outdated(self, *, on_day: date, basis: str) -> "StandingQuerySet":
        """Those worked out for another day, on another basis, or before the last change."""
        return self.exclude(on_day=on_day, basis=basis, worked_out=F("changes"))

    def changed(self, athletes: Collection[int]) -> int:
        """Note that something about these athletes (by key) changed; how many were noted."""
        return self.filter(athlete__in=athletes).update(changes=F("changes") + 1)


class Standing(models.Model):
    """The engine's answer for one athlete at the end of ``on_day``.

    ``basis`` names the engine, rules, calibration and catalogue it was worked out with.
    ``changes`` counts what was written about the athlete; while it differs from ``worked_out`` the
    answer is older than the records. ``abilities`` holds for each skill code the mean and the
    variance of ability minus difficulty, in logits.
    """

    athlete = models.OneToOneField(Athlete, on_delete=models.CASCADE, related_name="standing")
    changes = models.PositiveIntegerField(default=0)
    worked_out = models.PositiveIntegerField(null=True, blank=True)
    on_day = models.DateField(null=True, blank=True)
    basis = models.CharField(max_length=64, blank=True)
    tier = models.PositiveSmallIntegerField(null=True, blank=True)
    next_tier = models.PositiveSmallIntegerField(null=True, blank=True)
    decision = models.CharField(max_length=12, choices=DecisionChoice, blank=True)
    p_ready = models.FloatField(null=True, blank=True)
    holding_back = models.JSONField(default=list, blank=True)
    reasons = models.JSONField(default=list, blank=True)
    would_change = models.JSONField(default=list, blank=True)
    last_checked = models.DateField(null=True, blank=True)
    ability = models.FloatField(null=True, blank=True)
    ability_sd = models.FloatField(null=True, blank=True)
    abilities = models.JSONField(default=dict, blank=True)

    objects = StandingQuerySet.as_manager()

    class Meta:
        ordering = ("athlete",)
        indexes = (models.Index(fields=("decision", "p_ready"), name="standing_by_decision"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(decision="") | Q(decision__in=DecisionChoice.values),
                name="standing_decision_is_known",
            ),
            models.CheckConstraint(
                condition=Q(p_ready__isnull=True) | Q(p_ready__gte=0, p_ready__lte=1),
                name="standing_p_ready_is_a_chance",
            ),
        )

    def __str__(self) -> str:
        return f"{self.athlete}: {self.get_decision_display() or 'not worked out yet'}"
