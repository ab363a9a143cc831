"""Attempts: the log everything else is worked out from. Rows are added, never changed."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils import timezone

from progress.engine import terms
from progress.models.classes import Meeting
from progress.models.ladders import Skill
from progress.models.people import Athlete, StaffMember
from progress.models.stations import Variant


class AttemptsAreNeverChanged(TypeError):
    """Somebody tried to change or delete an attempt instead of superseding it."""

    def __init__(self) -> None:
        super().__init__("Attempts are never changed: add a new one that supersedes it.")


class ResultChoice(models.TextChoices):
    """The engine's results, with the words a coach reads."""

    MISS = terms.Result.MISS.value, "Not yet"
    ASSISTED = terms.Result.ASSISTED.value, "With help"
    CLEAN = terms.Result.CLEAN.value, "Clean"


class AttemptQuerySet(models.QuerySet["Attempt"]):
    """Reads of attempts."""

    def standing(self) -> "AttemptQuerySet":
        """Attempts that count: not superseded and not taken back."""
        # Corrections are few. Listing what they correct costs the same whatever a database believes
        # about the table; a join with itself took PostgreSQL seconds right after a big load.
        corrected = Attempt.objects.filter(supersedes__isnull=False).values("supersedes")
        return self.filter(taken_back=False).exclude(pk__in=corrected)

    def up_to(self, moment: datetime) -> "AttemptQuerySet":
        """Attempts made at or before ``moment``."""
        return self.filter(at__lte=moment)

    def of(self, athletes: Iterable[Athlete] | models.QuerySet[Athlete]) -> "AttemptQuerySet":
        """Attempts of these athletes."""
        return self.filter(athlete__in=athletes)

    def update(self, **kwargs: Any) -> int:
        raise AttemptsAreNeverChanged

    def delete(self) -> tuple[int, dict[str, int]]:
        raise AttemptsAreNeverChanged


class Attempt(models.Model):
    """One try at a skill, perhaps on a station variant.

    ``uid`` is made where the attempt was entered, so sending it twice stores it once. A correction
    is a new row that supersedes the old one; a take-back is a correction with ``taken_back`` set.
    ``coach`` is who saw the try, ``entered_by`` who wrote it down where that is somebody else.
    A database trigger refuses changes that go round this class.
    """

    uid = models.CharField(max_length=64, unique=True)
    athlete = models.ForeignKey(Athlete, on_delete=models.PROTECT, related_name="attempts")
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="attempts")
    variant = models.ForeignKey(
        Variant, null=True, blank=True, on_delete=models.PROTECT, related_name="attempts"
    )
    at = models.DateTimeField()
    result = models.CharField(max_length=10, choices=ResultChoice)
    coach = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.PROTECT, related_name="attempts"
    )
    entered_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    meeting = models.ForeignKey(
        Meeting, null=True, blank=True, on_delete=models.PROTECT, related_name="attempts"
    )
    note = models.CharField(max_length=500, blank=True)
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    taken_back = models.BooleanField(default=False)
    reason = models.CharField(max_length=200, blank=True, help_text="Why it was corrected.")
    stored_at = models.DateTimeField(default=timezone.now, editable=False)

    objects = AttemptQuerySet.as_manager()

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (
            models.Index(fields=("athlete", "at"), name="attempt_by_athlete"),
            models.Index(fields=("skill", "at"), name="attempt_by_skill"),
        )
        constraints = (
            models.CheckConstraint(
                condition=Q(result__in=ResultChoice.values), name="attempt_result_is_known"
            ),
            models.CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(reason=""),
                name="correction_says_why",
            ),
            models.CheckConstraint(
                condition=Q(taken_back=False) | Q(supersedes__isnull=False),
                name="only_a_correction_takes_back",
            ),
        )

    def __str__(self) -> str:
        return f"{self.athlete}, {self.skill}: {self.get_result_display()}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Store a new attempt; refuse to change a stored one."""
        if not self._state.adding:
            raise AttemptsAreNeverChanged
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise AttemptsAreNeverChanged
