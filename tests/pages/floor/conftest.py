"""A hall with a draft for next week, one that stands, and a library."""

from datetime import date, timedelta

import pytest

from progress.models import Setup, Skill
from tests import makers
from tests.usecases.floors.floors import Hall, make_hall

WEEK = timedelta(weeks=1)


@pytest.fixture
def stands(small_catalogue: dict[str, Skill], today: date) -> Hall:
    """This week's published setup."""
    return make_hall(small_catalogue["LAND-1"], published=True, week=today, name="This round")


@pytest.fixture
def draft(small_catalogue: dict[str, Skill], today: date) -> Hall:
    """Next week's draft."""
    return make_hall(small_catalogue["LAND-1"], planned_for=today + WEEK)


@pytest.fixture
def library(small_catalogue: dict[str, Skill]) -> Setup:
    """A library of two stations."""
    library = Setup.objects.library()
    makers.make_station(library, "net", name="Net", variants=[small_catalogue["HANG-1"]])
    makers.make_station(library, "box", name="Box", variants=[small_catalogue["LAND-2"]])
    return library
