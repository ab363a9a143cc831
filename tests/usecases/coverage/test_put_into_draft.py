"""A proposal goes into a draft, whole or not at all, and never into a floor that stands."""

import pytest

from progress.models import Equipment, Role, Setup, Skill, StaffMember, Station, StationEquipment
from progress.usecases.coverage.put_into_draft import put_into_draft
from progress.usecases.floors.changes import FloorRefused
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(small_catalogue: dict[str, Skill]) -> Setup:
    """Two loops that share a station, and a third in another area."""
    setup = makers.make_setup(None, published=False, name="Draft")
    a, b, c, d = (
        makers.make_station(setup, code, name=code.upper(), variants=[small_catalogue["LAND-1"]])
        for code in "abcd"
    )
    makers.make_loop(setup, "one", stations=(a, b))
    makers.make_loop(setup, "two", stations=(c, b))
    makers.make_loop(setup, "three", stations=(d,), area=makers.make_area("small", small=True))
    return setup


@pytest.fixture
def bar(small_catalogue: dict[str, Skill]) -> Station:
    """A bar of the library that takes two mats."""
    bar = makers.make_station(Setup.objects.library(), "bar", name="Bar", space_m2=8.0)
    makers.make_variant(bar, small_catalogue["HANG-1"], caution="Dry hands.", lanes=2)
    mats = Equipment.objects.create(code="mat", name="Mat", count=9)
    StationEquipment.objects.create(station=bar, equipment=mats, count=2)
    return bar


def stops(setup: Setup) -> dict[str, list[str]]:
    return {
        loop.code: [stop.station.code for stop in loop.stops.order_by("position")]
        for loop in setup.loops.all()
    }


def swap(setup: Setup, out: str, into: Station, area: str = "main") -> tuple[int, int, int]:
    return setup.stations.get(code=out).pk, into.pk, makers.make_area(area).pk


def test_what_comes_takes_the_place_in_every_loop_with_all_it_has(
    draft: Setup, bar: Station, coach: StaffMember
) -> None:
    done = put_into_draft(setup=draft, swaps=[swap(draft, "b", bar)], by=coach)

    assert stops(draft) == {"one": ["a", "bar"], "two": ["c", "bar"], "three": ["d"]}
    copy = draft.stations.get(code="bar")
    assert copy.space_m2 == 8.0
    assert [(v.caution, v.lanes) for v in copy.variants.all()] == [("Dry hands.", 2)]
    assert [link.count for link in copy.equipment_links.all()] == [2]
    assert draft.stations.filter(code="b").exists()  # put aside
    assert done.says == "Bar is in the place of B, which is put aside."
    bar.refresh_from_db()
    assert bar.setup.library


def test_several_are_made_together(draft: Setup, bar: Station, coach: StaffMember) -> None:
    other = makers.make_station(bar.setup, "net", name="Net")

    put_into_draft(
        setup=draft, swaps=[swap(draft, "a", bar), swap(draft, "d", other, "small")], by=coach
    )

    assert stops(draft) == {"one": ["bar", "b"], "two": ["c", "b"], "three": ["net"]}


def test_a_second_of_the_same_design_gets_a_code_of_its_own(
    draft: Setup, bar: Station, coach: StaffMember
) -> None:
    put_into_draft(setup=draft, swaps=[swap(draft, "a", bar), swap(draft, "c", bar)], by=coach)

    one, two = stops(draft)["one"][0], stops(draft)["two"][0]
    assert one == "bar"
    assert two.startswith("bar")
    assert one != two


def test_a_station_of_this_floor_may_be_built_a_second_time(
    draft: Setup, coach: StaffMember
) -> None:
    there = draft.stations.get(code="a")

    put_into_draft(setup=draft, swaps=[swap(draft, "d", there, "small")], by=coach)

    assert stops(draft)["one"] == ["a", "b"]
    assert stops(draft)["three"] != ["d"]


@pytest.mark.parametrize("gone", ["station", "place", "design"])
def test_nothing_is_done_where_somebody_changed_the_draft_meanwhile(
    draft: Setup, bar: Station, coach: StaffMember, gone: str
) -> None:
    good, bad = swap(draft, "a", bar), swap(draft, "d", bar, "small")
    if gone == "station":
        bad = (10**6, bar.pk, bad[2])
    elif gone == "place":
        bad = (bad[0], bar.pk, good[2])
    else:
        bad = (bad[0], 10**6, bad[2])
    before = stops(draft)

    with pytest.raises(FloorRefused, match="again"):
        put_into_draft(setup=draft, swaps=[good, bad], by=coach)

    assert stops(draft) == before
    assert not draft.stations.filter(code="bar").exists()


def test_a_published_floor_stays_as_it_is(draft: Setup, bar: Station, coach: StaffMember) -> None:
    swaps = [swap(draft, "a", bar)]
    draft.published = True
    draft.save()

    with pytest.raises(FloorRefused, match="is published"):
        put_into_draft(setup=draft, swaps=swaps, by=coach)

    assert stops(draft)["one"] == ["a", "b"]


def test_the_desk_and_an_empty_wish_are_refused(
    draft: Setup, bar: Station, coach: StaffMember
) -> None:
    desk = makers.make_staff(role=Role.DESK)

    with pytest.raises(FloorRefused, match="Only a coach"):
        put_into_draft(setup=draft, swaps=[swap(draft, "a", bar)], by=desk)
    with pytest.raises(FloorRefused, match="Nothing was chosen"):
        put_into_draft(setup=draft, swaps=[], by=coach)


def test_the_library_is_no_floor(bar: Station, coach: StaffMember) -> None:
    with pytest.raises(FloorRefused, match="The library is no floor"):
        put_into_draft(setup=bar.setup, swaps=[(bar.pk, bar.pk, 1)], by=coach)
