"""The hall that tests of planning change."""

import pytest

from progress.models import Setup, Skill
from tests import makers
from tests.usecases.floors.floors import Hall, make_hall


@pytest.fixture
def hall(small_catalogue: dict[str, Skill]) -> Hall:
    """A draft without a week."""
    return make_hall(small_catalogue["LAND-1"])


@pytest.fixture
def library(small_catalogue: dict[str, Skill]) -> Setup:
    """A library with a beam of two variants, and a net."""
    library = Setup.objects.library()
    beam = makers.make_station(library, "beam", name="Beam")
    for step, height in ((0, 0.3), (1, 0.6)):
        makers.make_variant(beam, small_catalogue["LAND-1"], step=step, height_m=height)
    makers.make_station(library, "net", name="Net", variants=[small_catalogue["HANG-1"]])
    return library
