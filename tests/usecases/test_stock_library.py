"""The catalogue's stations go into the gym's library once, and a lead's changes stay."""

import pytest

from progress.models import Equipment, Setup, Station
from progress.usecases.load_catalogue import load_catalogue, starter_catalogue
from progress.usecases.stock_library import stock_library

pytestmark = pytest.mark.django_db


@pytest.fixture
def stocked() -> int:
    load_catalogue(source=starter_catalogue())
    return stock_library(source=starter_catalogue())


def test_every_station_comes_with_its_variants_and_what_it_takes(stocked: int) -> None:
    library = Setup.objects.library()
    designs = {raw["code"]: raw for raw in starter_catalogue()["stations"]}
    assert stocked == len(designs) == library.stations.count() == 15
    net = library.stations.get(code="net")
    assert [variant.step for variant in net.variants.order_by("step")] == [-1, 0, 1]
    taken = {link.equipment.code: link.count for link in net.equipment_links.all()}
    assert taken == designs["net"]["equipment"]


def test_no_mat_is_rated_before_the_gym_has_asked_its_maker(stocked: int) -> None:
    """A starter catalogue cannot know what lies in the hall."""
    assert set(Station.objects.values_list("mat_rated_m", "mat_checked")) == {(None, None)}


def test_the_hall_has_as_much_as_any_one_station_takes(stocked: int) -> None:
    for equipment in Equipment.objects.all():
        needed = max(link.count for link in equipment.station_links.all())
        assert equipment.count >= needed


def test_a_second_time_adds_nothing_and_changes_nothing(stocked: int) -> None:
    Station.objects.filter(code="net").update(name="Our net")
    assert stock_library(source=starter_catalogue()) == 0
    assert Station.objects.get(code="net").name == "Our net"
    Station.objects.filter(code="rope").delete()
    assert stock_library(source=starter_catalogue()) == 1


def test_facts_fit_their_records(stocked: int) -> None:
    for station in Station.objects.prefetch_related("variants"):
        station.full_clean()
        for variant in station.variants.all():
            variant.full_clean()
