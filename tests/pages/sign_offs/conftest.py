"""A move five minutes old, a class to move to, and how pages are read here."""

import re
from datetime import datetime, timedelta

import pytest
from django.http import HttpResponse

from progress.models import Athlete, GymClass, SignOff, StaffMember, Tier
from tests import makers


def text(response: HttpResponse) -> str:
    """The words of a page, without its tags."""
    words = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(words.replace("&#x27;", "'").split())


def tier_of(athlete: Athlete) -> int:
    """The tier on record now."""
    return Athlete.objects.get(pk=athlete.pk).tier_id


@pytest.fixture
def moved(ada: Athlete, lead: StaffMember, stopped_clock: datetime) -> SignOff:
    """Ada, moved up five minutes ago."""
    Athlete.objects.filter(pk=ada.pk).update(tier=2)
    said = {
        "decision": "building",
        "p_ready": 0.2,
        "reasons": ["1 of 2 skills of tier 1 secure"],
        "skills": [{"skill": "LAND-1", "gate": True, "state": "secure"}],
    }
    return makers.make_sign_off(
        ada,
        lead,
        decided_at=stopped_clock - timedelta(minutes=5),
        although="Hangs well elsewhere.",
        engine_said=said,
    )


@pytest.fixture
def second(tiers: dict[int, Tier]) -> GymClass:
    """A Wednesday class for tier 2 with two places."""
    gym_class = makers.make_class("second", name="Second class", weekday=2, places=2)
    gym_class.tiers.add(tiers[2])
    return gym_class
