"""What the engine runs on, version by version: rules, changes of skills, calibrations."""

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from progress.engine.rules import Rules
from progress.models.ladders import Skill
from progress.models.people import StaffMember


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


class SkillRule(models.TextChoices):
    """What of a skill a lead may tune on the pages."""

    TIER = "tier", "Tier"
    STANDARD = "standard", "Standard"
    REQUIRED = "required", "Required"


class SkillChange(models.Model):
    """A change of what one skill asks for. The earlier value is kept, so nothing is lost."""

    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="changes")
    what = models.CharField(max_length=10, choices=SkillRule)
    before = models.CharField(max_length=20)
    after = models.CharField(max_length=20)
    why = models.CharField(max_length=300)
    changed_by = models.ForeignKey(
        StaffMember, on_delete=models.PROTECT, related_name="skill_changes"
    )
    changed_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ("-changed_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(what__in=SkillRule.values), name="skill_change_is_known"
            ),
            models.CheckConstraint(condition=~Q(before=F("after")), name="skill_change_changes"),
            models.CheckConstraint(condition=~Q(why=""), name="skill_change_says_why"),
        )

    def __str__(self) -> str:
        return f"{self.skill_id}: {self.get_what_display()} {self.before} to {self.after}"
