"""Kim records checks for the Monday class: what the tests of recording share."""

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from progress.models import Attempt, GymClass, Meeting, StaffMember
from progress.usecases.record_checks import ChecksRefused, Entry, Recorded, record_checks
from tests import makers

NOW = makers.moment(hour=17)
ENTRY = Entry("u1", "ada", "LAND-1", "clean")


def entry(number: int, **values: Any) -> Entry:
    """A clean try of Ada's, with an id of its own."""
    return replace(ENTRY, uid=f"u{number}", **values)


def record(*entries: Entry, now: datetime = NOW, **values: Any) -> Recorded:
    """Kim records these for the Monday class."""
    by = {
        "gym_class": GymClass.objects.get(code="monday"),
        "coach": StaffMember.objects.get(code="kim"),
        **values,
    }
    return record_checks(entries=entries, now=now, **by)


def problems(*entries: Entry, **values: Any) -> list[str]:
    """What is said against these entries; also makes sure that nothing at all was stored."""
    before = (Attempt.objects.count(), Meeting.objects.count())
    with pytest.raises(ChecksRefused) as refused:
        record(*entries, **values)
    assert (Attempt.objects.count(), Meeting.objects.count()) == before
    return refused.value.problems
