"""What coaches add to a meeting beside attempts: which skills are on its sheet, and notes."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from progress.models.classes import Meeting
from progress.models.ladders import Skill
from progress.models.people import Athlete, StaffMember


class SheetSkill(models.Model):
    """A skill a coach put on the sheet of a meeting, or took off it."""

    meeting = models.ForeignKey(Meeting, on_delete=models.CASCADE, related_name="sheet_skills")
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="sheet_skills")
    shown = models.BooleanField(help_text="Added by the coach; unticked: taken off.")
    chosen_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ("meeting", "skill")
        constraints = (
            models.UniqueConstraint(fields=("meeting", "skill"), name="skill_chosen_once"),
        )

    def __str__(self) -> str:
        return f"{self.skill} {'on' if self.shown else 'off'} the sheet of {self.meeting}"


class NoteQuerySet(models.QuerySet["Note"]):
    """Reads of notes."""

    def standing(self) -> "NoteQuerySet":
        """Notes that were not taken back, newest first."""
        return self.filter(taken_back_at__isnull=True)


class Note(models.Model):
    """A few words on an athlete; never health details. For staff only, unless marked otherwise."""

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="notes")
    text = models.CharField(max_length=300)
    for_family = models.BooleanField(default=False, help_text="Shown on the family's page.")
    written_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="notes"
    )
    written_at = models.DateTimeField(default=timezone.now)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = NoteQuerySet.as_manager()

    class Meta:
        ordering = ("-written_at", "-pk")
        constraints = (models.CheckConstraint(condition=~Q(text=""), name="note_says_something"),)

    def __str__(self) -> str:
        return self.text
