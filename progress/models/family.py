"""What families have with the gym beside progress: links, codes, consents, requests and mail."""

from datetime import datetime

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from progress.models.ladders import Skill
from progress.models.people import Athlete, Guardian, StaffMember


class FamilyLinkQuerySet(models.QuerySet["FamilyLink"]):
    """Reads of links."""

    def open_at(self, moment: datetime) -> "FamilyLinkQuerySet":
        """Links that open at ``moment``: neither run out nor revoked."""
        return self.filter(expires_at__gt=moment, revoked_at__isnull=True)


class FamilyLink(models.Model):
    """A guardian's private link. Only a digest of it is kept: nobody can read the link back."""

    guardian = models.ForeignKey(Guardian, on_delete=models.CASCADE, related_name="links")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(default=timezone.now)
    made_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True, help_text="When it was last opened.")

    objects = FamilyLinkQuerySet.as_manager()

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("made_at")), name="link_ends_after_it_began"
            ),
        )

    def __str__(self) -> str:
        return f"Link for {self.guardian}, made {self.made_at:%d %b %Y}"


class FamilyCode(models.Model):
    """A short code sent by mail, for one opening within minutes; only a digest is kept."""

    guardian = models.ForeignKey(Guardian, on_delete=models.CASCADE, related_name="codes")
    digest = models.CharField(max_length=64, editable=False)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0, help_text="Wrong codes typed so far.")

    class Meta:
        ordering = ("-made_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("made_at")), name="code_ends_after_it_began"
            ),
        )

    def __str__(self) -> str:
        return f"Code for {self.guardian}, made {self.made_at:%d %b %Y %H:%M}"


class ConsentKind(models.TextChoices):
    """What a guardian may say yes to; each on its own, no by default."""

    MAIL = "mail", "Progress by e-mail"
    PHOTO = "photo", "Photos and films for the gym's own use"
    NAME = "name", "The chosen name on paper that hangs in the hall"


class ConsentQuerySet(models.QuerySet["Consent"]):
    """Reads of consents."""

    def standing(self) -> "ConsentQuerySet":
        """Given and not withdrawn, by a guardian who still has rights for the child."""
        return self.filter(
            withdrawn_at__isnull=True,
            guardian__guardianships__athlete=F("athlete"),
            guardian__guardianships__may_see=True,
        )


class Consent(models.Model):
    """One guardian said yes to one thing for one child, reading one version of its text."""

    guardian = models.ForeignKey(Guardian, on_delete=models.CASCADE, related_name="consents")
    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="consents")
    kind = models.CharField(max_length=10, choices=ConsentKind)
    text_version = models.PositiveSmallIntegerField(default=1)
    given_at = models.DateTimeField(default=timezone.now)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = ConsentQuerySet.as_manager()

    class Meta:
        ordering = ("athlete", "kind", "-given_at")
        constraints = (
            models.UniqueConstraint(
                fields=("guardian", "athlete", "kind"),
                condition=Q(withdrawn_at__isnull=True),
                name="consent_stands_once",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=ConsentKind.values), name="consent_kind_is_known"
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True) | Q(withdrawn_at__gte=F("given_at")),
                name="consent_withdrawn_after_given",
            ),
        )

    def __str__(self) -> str:
        return f"{self.guardian} for {self.athlete}: {self.get_kind_display()}"


class ErasureRequest(models.Model):
    """A guardian asks to have everything about a child erased; a lead completes or declines it."""

    athlete = models.ForeignKey(Athlete, on_delete=models.CASCADE, related_name="erasure_requests")
    asked_by = models.ForeignKey(
        Guardian, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        StaffMember, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    erased = models.BooleanField(default=False)
    answer = models.CharField(max_length=300, blank=True, help_text="Why it was declined.")

    class Meta:
        ordering = ("answered_at", "asked_at")
        constraints = (
            models.UniqueConstraint(
                fields=("athlete",),
                condition=Q(answered_at__isnull=True),
                name="one_open_erasure_request",
            ),
            models.CheckConstraint(
                condition=Q(erased=False) | Q(answered_at__isnull=False),
                name="erased_only_when_answered",
            ),
        )

    def __str__(self) -> str:
        return f"Erase {self.athlete}, asked {self.asked_at:%d %b %Y}"


class HomeIdea(models.Model):
    """Something to try at home for a skill, marked as fit for home by a lead, with its caution."""

    code = models.CharField(max_length=40, unique=True)
    skill = models.ForeignKey(Skill, on_delete=models.CASCADE, related_name="home_ideas")
    text = models.CharField(max_length=300)
    caution = models.CharField(max_length=300)
    active = models.BooleanField(default=False, help_text="Marked as fit for home by a lead.")

    class Meta:
        ordering = ("skill", "code")
        constraints = (
            models.CheckConstraint(
                condition=~Q(text="") & ~Q(caution=""), name="home_idea_has_a_caution"
            ),
        )

    def __str__(self) -> str:
        return self.text


class MailSent(models.Model):
    """One guardian's progress mail for one period, claimed before it is sent.

    A row without ``sent_at`` was claimed when a run broke off: it may have gone out, so it is not
    sent again.
    """

    guardian = models.ForeignKey(Guardian, on_delete=models.CASCADE, related_name="mails")
    period = models.CharField(max_length=20)
    claimed_at = models.DateTimeField(default=timezone.now)
    sent_at = models.DateTimeField(null=True, blank=True)
    failed = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-claimed_at",)
        verbose_name_plural = "mails sent"
        constraints = (
            models.UniqueConstraint(fields=("guardian", "period"), name="one_mail_a_period"),
        )

    def __str__(self) -> str:
        return f"{self.guardian}, {self.period}"
