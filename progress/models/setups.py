"""What stands on the floor when: setups week by week, and the parts of the hall."""

from datetime import date

from django.db import models
from django.db.models import Case, Q, When

from progress.models.people import StaffMember


class SetupQuerySet(models.QuerySet["Setup"]):
    """Reads of setups."""

    def standing_on(self, day: date) -> "SetupQuerySet":
        """Published setups that could stand on ``day``, the one that does first.

        That is the setup of the week of ``day``, else the undated one, else the last before.
        """
        monday = date.fromordinal(day.toordinal() - day.weekday())
        rank = Case(When(week=monday, then=0), When(week__isnull=True, then=1), default=2)
        return (
            self.filter(Q(week__lte=monday) | Q(week__isnull=True), published=True)
            .annotate(rank=rank)
            .order_by("rank", "-week")
        )

    def on_floor(self, day: date) -> "Setup | None":
        """The setup that stands on ``day``, None where there is none."""
        return self.standing_on(day).first()

    def library(self) -> "Setup":
        """The station library, made if it is not there yet."""
        return self.get_or_create(library=True, defaults={"published": False})[0]

    def plans(self) -> "SetupQuerySet":
        """Setups of a week or standing ones, published or draft: not the library."""
        return self.filter(library=False)

    def in_use(self) -> "SetupQuerySet":
        """Setups that attempts point at; these stay as they are."""
        return self.filter(stations__variants__attempts__isnull=False).distinct()


class Setup(models.Model):
    """What stands on the floor in one week; without a week it stands until another is set.

    Three kinds are not on any floor: a draft (not published; ``planned_for`` says for which week),
    a setup another took the place of in the middle of its week (``stood_in`` says which week), and
    the station library, whose stations are copied into new setups.
    """

    week = models.DateField(null=True, blank=True, unique=True, help_text="Monday of the week.")
    name = models.CharField(max_length=120, blank=True)
    published = models.BooleanField(default=True)
    published_at = models.DateTimeField(null=True, blank=True, editable=False)
    published_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    stood_in = models.DateField(
        null=True, blank=True, help_text="Monday of the week it stood in until it was changed."
    )
    planned_for = models.DateField(
        null=True,
        blank=True,
        unique=True,
        help_text="Monday of the week a draft is meant for; it takes the week once published.",
    )
    library = models.BooleanField(default=False, editable=False)

    objects = SetupQuerySet.as_manager()

    class Meta:
        ordering = ("-week",)
        constraints = (
            models.CheckConstraint(
                condition=Q(week__isnull=True) | Q(week__week_day=2), name="setup_week_is_a_monday"
            ),
            models.UniqueConstraint(
                fields=("published",),
                condition=Q(week__isnull=True, published=True),
                name="one_undated_setup",
            ),
            models.UniqueConstraint(
                fields=("library",), condition=Q(library=True), name="one_station_library"
            ),
            models.CheckConstraint(
                condition=Q(library=False)
                | Q(published=False, week__isnull=True, stood_in__isnull=True),
                name="library_is_on_no_floor",
            ),
            models.CheckConstraint(
                condition=Q(stood_in__isnull=True) | Q(published=False, week__isnull=True),
                name="replaced_setup_is_off_the_floor",
            ),
            models.CheckConstraint(
                condition=Q(planned_for__isnull=True)
                | Q(
                    planned_for__week_day=2,
                    published=False,
                    week__isnull=True,
                    stood_in__isnull=True,
                    library=False,
                ),
                name="draft_is_planned_for_a_monday",
            ),
        )

    def __str__(self) -> str:
        if self.library:
            return "Station library"
        week = self.for_week
        return self.name or (f"Week of {week:%d %b %Y}" if week else "Standing floor")

    @property
    def for_week(self) -> date | None:
        """Monday of the week it stands in, stood in or is meant for; None where it has none."""
        return self.week or self.planned_for or self.stood_in

    @property
    def is_draft(self) -> bool:
        """Whether it may still stand on a floor and does not yet."""
        return not (self.published or self.library or self.stood_in)


class Area(models.Model):
    """A part of the hall."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    space_m2 = models.FloatField(
        null=True, blank=True, help_text="Floor to build on, square metres; empty: no limit."
    )
    small = models.BooleanField(default=False, help_text="The youngest children's area.")

    class Meta:
        ordering = ("small", "name")
        constraints = (
            models.CheckConstraint(
                condition=Q(space_m2__isnull=True) | Q(space_m2__gt=0), name="area_has_space"
            ),
        )

    def __str__(self) -> str:
        return self.name
