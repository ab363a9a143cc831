"""The people: athletes, their guardians, and the staff who record and decide."""

from calendar import isleap
from datetime import date

from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.models import User as Account
from django.db import models
from django.db.models import Q

User = settings.AUTH_USER_MODEL


class Role(models.TextChoices):
    """What a member of staff is here to do."""

    COACH = "coach", "Coach"
    LEAD = "lead", "Programme lead"
    DESK = "desk", "Front desk"


class Challenge(models.TextChoices):
    """How hard practice should be for a child or a class, beside the rules' target band."""

    GENTLER = "gentler", "Gentler than usual"
    USUAL = "usual", "As usual"
    BOLDER = "bolder", "Bolder than usual"


class StaffMember(models.Model):
    """A coach, the programme lead, or the front desk."""

    code = models.CharField(max_length=40, unique=True, help_text="Short code used in files.")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=10, choices=Role, default=Role.COACH)
    user = models.OneToOneField(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="staff_member"
    )
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("name", "code")
        constraints = (
            models.CheckConstraint(condition=Q(role__in=Role.values), name="staff_role_is_known"),
        )

    def __str__(self) -> str:
        return self.name


class AthleteQuerySet(models.QuerySet["Athlete"]):
    """Reads of athletes, named for the pages that ask."""

    def current(self) -> "AthleteQuerySet":
        """Athletes who have not left."""
        return self.filter(left__isnull=True)

    def here_on(self, day: date) -> "AthleteQuerySet":
        """Athletes who have not left by ``day``."""
        return self.filter(Q(left__isnull=True) | Q(left__gt=day))

    def with_last_here(self, before: date) -> "AthleteQuerySet":
        """Add ``last_here``: the last day before ``before`` the register has them present."""
        came = Q(register_entries__present=True, register_entries__meeting__day__lt=before)
        return self.annotate(last_here=models.Max("register_entries__meeting__day", filter=came))

    def with_last_move(self) -> "AthleteQuerySet":
        """Add ``last_move``: the key of the sign-off of the athlete's last move up."""
        up = Q(
            sign_offs__to_tier__gt=models.F("sign_offs__from_tier"),
            sign_offs__undone_at__isnull=True,
        )
        return self.annotate(last_move=models.Max("sign_offs__pk", filter=up))

    def visible_to(self, user: Account | AnonymousUser) -> "AthleteQuerySet":
        """Athletes whose skills this user may see: all for coaches and leads, own for guardians."""
        if not user.is_authenticated or not user.is_active:
            return self.none()
        staff = StaffMember.objects.filter(
            user=user, active=True, role__in=(Role.COACH, Role.LEAD)
        ).exists()
        if staff:
            return self
        return self.filter(
            guardianships__guardian__user=user, guardianships__may_see=True
        ).distinct()


class Athlete(models.Model):
    """A child in the programme. No address, school, photo, weight or health note is kept."""

    code = models.CharField(max_length=40, unique=True, help_text="Short code used in files.")
    name = models.CharField(max_length=200, blank=True)
    birth_date = models.DateField(
        null=True, blank=True, help_text="The first of the month is exact enough."
    )
    tier = models.ForeignKey(
        "progress.Tier", on_delete=models.PROTECT, to_field="number", related_name="athletes"
    )
    joined = models.DateField(null=True, blank=True)
    left = models.DateField(null=True, blank=True)
    challenge = models.CharField(max_length=10, choices=Challenge, default=Challenge.USUAL)
    shown_as = models.CharField(
        max_length=200, blank=True, help_text="Name the family chose to be shown; else the name."
    )
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = AthleteQuerySet.as_manager()

    class Meta:
        ordering = ("name", "code")
        constraints = (
            models.CheckConstraint(
                condition=Q(challenge__in=Challenge.values), name="athlete_challenge_is_known"
            ),
            models.CheckConstraint(
                condition=Q(left__isnull=True)
                | Q(joined__isnull=True)
                | Q(left__gte=models.F("joined")),
                name="athlete_leaves_after_joining",
            ),
        )

    def __str__(self) -> str:
        return self.name or self.code

    def age_on(self, day: date) -> float | None:
        """Age in years on ``day``, whole on each birthday; None where the birth date is unknown.

        Counting days alone would keep some children out of a tier on their very birthday. Born on
        29 February, the birthday falls on 1 March in other years.
        """
        if self.birth_date is None:
            return None
        born = (self.birth_date.month, self.birth_date.day)
        last = day.year - ((day.month, day.day) < born)
        leap = born == (2, 29) and not isleap(last)
        since = day - (date(last, 3, 1) if leap else date(last, *born))
        return last - self.birth_date.year + since.days / 366


class Guardian(models.Model):
    """An adult with a right to see one or more athletes' progress."""

    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    language = models.CharField(
        max_length=10, blank=True, help_text="Language code for mail; empty: the site's own."
    )
    user = models.OneToOneField(
        User, null=True, blank=True, on_delete=models.SET_NULL, related_name="guardian"
    )
    athletes = models.ManyToManyField(Athlete, through="Guardianship", related_name="guardians")

    class Meta:
        ordering = ("name", "pk")

    def __str__(self) -> str:
        return self.name


class Guardianship(models.Model):
    """One guardian's rights for one athlete, so that each can be ended on its own."""

    guardian = models.ForeignKey(Guardian, on_delete=models.CASCADE, related_name="guardianships")
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="guardianships")
    may_see = models.BooleanField(default=True, help_text="Untick to end access at once.")

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("guardian", "athlete"), name="guardianship_once"),
        )

    def __str__(self) -> str:
        return f"{self.guardian} for {self.athlete}"
