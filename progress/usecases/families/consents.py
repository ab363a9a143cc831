"""A guardian says yes to one thing for one child, or takes it back; staff see what stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import DateTimeField, F, Q, Value
from django.db.models.functions import Greatest

from progress.models import Athlete, Consent, ConsentKind, Guardian
from progress.models.family import ConsentQuerySet
from progress.usecases.families.consent_texts import TEXTS, ConsentText, text_for


class ConsentRefused(ValueError):
    """The answer cannot be kept; the message says why."""


@dataclass(frozen=True)
class Asked:
    """One question to one guardian for one child.

    ``given`` is their standing yes to the text in force, None while the answer is no. ``outdated``:
    they said yes to an earlier text, which no longer counts. ``history`` is newest first.
    """

    text: ConsentText
    given: Consent | None
    outdated: bool
    history: tuple[Consent, ...]


def ask_consents(*, guardian: Guardian, athlete: Athlete) -> tuple[Asked, ...]:
    """Every question with this guardian's own answer: one query."""
    rows = Consent.objects.filter(guardian=guardian, athlete=athlete).order_by("-given_at", "-pk")
    mine = list(rows)
    found = []
    for text in TEXTS:
        history = tuple(row for row in mine if row.kind == text.kind)
        standing = next((row for row in history if row.withdrawn_at is None), None)
        counts = standing is not None and standing.text_version == text.version
        found.append(
            Asked(
                text=text,
                given=standing if counts else None,
                outdated=standing is not None and not counts,
                history=history,
            )
        )
    return tuple(found)


@transaction.atomic
def give_consent(
    *, guardian: Guardian, athlete: Athlete, kind: str, version: int, now: datetime
) -> Consent:
    """Keep a yes to the text with this version; saying it twice keeps it once.

    Raises ConsentRefused where the text read is not the one in force any more, where the kind is
    unknown, and where the guardian has no rights for the child.
    """
    text = text_for(kind)
    if text is None:
        raise ConsentRefused("There is no such question.")
    if version != text.version:
        raise ConsentRefused("The text has changed since. Please read it again.")
    if not guardian.guardianships.filter(athlete=athlete, may_see=True).exists():
        raise ConsentRefused("Only a guardian with rights for this child may answer.")
    # The guardian's row is locked, so that a double tap on two phones waits here.
    Guardian.objects.select_for_update().get(pk=guardian.pk)
    standing = _standing(guardian, athlete, kind).first()
    if standing is not None and standing.text_version == text.version:
        return standing
    if standing is not None:
        Consent.objects.filter(pk=standing.pk).update(withdrawn_at=max(now, standing.given_at))
    return Consent.objects.create(
        guardian=guardian, athlete=athlete, kind=kind, text_version=version, given_at=now
    )


def withdraw_consent(*, guardian: Guardian, athlete: Athlete, kind: str, now: datetime) -> bool:
    """Take a yes back at once, whichever text it was for; True where there was one."""
    # Never before it was given, even where two clocks disagree: a no must not fail on that.
    latest = Greatest(F("given_at"), Value(now, output_field=DateTimeField()))
    return bool(_standing(guardian, athlete, kind).update(withdrawn_at=latest))


def consents_in_force(kinds: Iterable[ConsentKind] | None = None) -> ConsentQuerySet:
    """Standing consents to the texts in force, of every kind or of ``kinds``."""
    wanted = None if kinds is None else set(kinds)
    texts = [text for text in TEXTS if wanted is None or text.kind in wanted]
    current = Q(pk__in=())
    for text in texts:
        current |= Q(kind=text.kind, text_version=text.version)
    return Consent.objects.standing().filter(current)


def standing_consents(*, athlete: Athlete) -> tuple[Consent, ...]:
    """What staff may rely on for this child now, with who said yes: one query."""
    return tuple(
        consents_in_force().filter(athlete=athlete).select_related("guardian").order_by("kind")
    )


def _standing(guardian: Guardian, athlete: Athlete, kind: str) -> ConsentQuerySet:
    return Consent.objects.filter(
        guardian=guardian, athlete=athlete, kind=kind, withdrawn_at__isnull=True
    )
