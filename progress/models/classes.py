"""Classes, who is in them, their meetings and registers."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from progress.models.people import Athlete, AthleteQuerySet, Challenge, StaffMember


class Weekday(models.IntegerChoices):
    """Days as Python counts them."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class GymClass(models.Model):
    """A group that meets weekly. The pages say "class"; Python keeps that word for itself."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    weekday = models.PositiveSmallIntegerField(choices=Weekday, null=True, blank=True)
    starts_at = models.TimeField(null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(default=60)
    small_area = models.BooleanField(default=False, help_text="Uses the youngest children's area.")
    adults = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Adults usually on the floor."
    )
    spotters = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of these, free to stand at stations of one loop."
    )
    challenge = models.CharField(max_length=10, choices=Challenge, default=Challenge.USUAL)
    tiers = models.ManyToManyField(
        "progress.Tier",
        blank=True,
        related_name="classes",
        help_text="Tiers this class is for; leave empty for a class of all tiers.",
    )
    places = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Children the class has room for; empty: not counted."
    )
    coaches = models.ManyToManyField(StaffMember, blank=True, related_name="classes")
    athletes = models.ManyToManyField(Athlete, through="Enrolment", related_name="classes")

    class Meta:
        ordering = ("weekday", "starts_at", "name")
        verbose_name = "class"
        verbose_name_plural = "classes"
        constraints = (
            models.CheckConstraint(
                condition=Q(weekday__isnull=True) | Q(weekday__lte=6), name="class_weekday_exists"
            ),
            models.CheckConstraint(
                condition=Q(challenge__in=Challenge.values), name="class_challenge_is_known"
            ),
        )

    def __str__(self) -> str:
        return self.name

    def athletes_on(self, day: date) -> AthleteQuerySet:
        """Athletes enrolled on ``day`` who have not left by then, by name."""
        return (
            Athlete.objects.filter(
                Q(enrolments__until__isnull=True) | Q(enrolments__until__gte=day),
                Q(left__isnull=True) | Q(left__gt=day),
                enrolments__gym_class=self,
                enrolments__since__lte=day,
            )
            .distinct()
            .order_by("name", "code")
        )


class EnrolmentQuerySet(models.QuerySet["Enrolment"]):
    """Reads of places in classes."""

    def running_on(self, day: date) -> "EnrolmentQuerySet":
        """Places held on ``day``, whether or not the athlete has left."""
        return self.filter(Q(until__isnull=True) | Q(until__gte=day), since__lte=day)


class Enrolment(models.Model):
    """An athlete's place in a class between two dates."""

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="enrolments")
    gym_class = models.ForeignKey(GymClass, on_delete=models.CASCADE, related_name="enrolments")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        ordering = ("gym_class", "athlete", "since")
        constraints = (
            models.UniqueConstraint(
                fields=("athlete", "gym_class", "since"), name="enrolment_starts_once"
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="enrolment_ends_after_start",
            ),
        )

    def __str__(self) -> str:
        return f"{self.athlete} in {self.gym_class}"


class Meeting(models.Model):
    """One date of a class."""

    gym_class = models.ForeignKey(GymClass, on_delete=models.CASCADE, related_name="meetings")
    day = models.DateField()
    adults = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Adults on the floor; empty: as usual."
    )
    spotters = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of these, free to stand at stations of one loop."
    )

    class Meta:
        ordering = ("-day", "gym_class")
        constraints = (
            models.UniqueConstraint(fields=("gym_class", "day"), name="class_meets_once_a_day"),
        )

    def __str__(self) -> str:
        return f"{self.gym_class}, {self.day:%a %d %b %Y}"


class RegisterEntry(models.Model):
    """Whether one athlete came to one meeting."""

    meeting = models.ForeignKey(Meeting, on_delete=models.CASCADE, related_name="register")
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="register_entries")
    present = models.BooleanField(default=True)

    class Meta:
        ordering = ("meeting", "athlete")
        verbose_name_plural = "register entries"
        constraints = (
            models.UniqueConstraint(fields=("meeting", "athlete"), name="registered_once"),
        )

    def __str__(self) -> str:
        return f"{self.athlete}: {'here' if self.present else 'away'}"

    def clean(self) -> None:
        """Refuse an athlete who was not enrolled on the day."""
        if (
            not self.meeting.gym_class.athletes_on(self.meeting.day)
            .filter(pk=self.athlete_id)
            .exists()
        ):
            raise ValidationError({"athlete": "Not enrolled in this class on that day."})
