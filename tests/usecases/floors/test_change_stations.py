"""Stations are written down, taken from the library, and kept in it."""

from datetime import date
from typing import Any

import pytest

from progress.models import Equipment, Setup, StaffMember, Station, Variant
from progress.usecases.floors.add_station import add_from_library, add_new_station
from progress.usecases.floors.change_stations import change_station, remove_station
from progress.usecases.floors.change_stops import take_out
from progress.usecases.floors.changes import FloorRefused
from progress.usecases.floors.keep_in_library import keep_in_library
from progress.usecases.floors.undo_change import undo_change
from tests import makers
from tests.usecases.floors.floors import Hall, order_of, undone


class TestFromTheLibrary:
    def test_a_copy_with_the_same_codes_comes_to_the_end(
        self, hall: Hall, library: Setup, coach: StaffMember
    ) -> None:
        net = library.stations.get(code="net")
        done = add_from_library(setup=hall.setup, loop=hall.left.pk, design=net.pk, by=coach)

        assert order_of(hall.left) == ["start", "beam", "drop", "net"]
        copy = hall.setup.stations.get(code="net")
        assert copy.pk != net.pk
        assert copy.variants.get().code == net.variants.get().code
        undone(hall, done, coach)
        assert order_of(hall.left) == ["start", "beam", "drop"]
        assert not hall.setup.stations.filter(code="net").exists()

    def test_a_second_one_has_codes_of_its_own_so_that_attempts_tell_them_apart(
        self, hall: Hall, library: Setup, coach: StaffMember
    ) -> None:
        net = library.stations.get(code="net")
        for _ in range(2):
            add_from_library(setup=hall.setup, loop=hall.right.pk, design=net.pk, by=coach)

        assert order_of(hall.right) == ["start", "rope", "net", "net-2"]
        codes = Variant.objects.filter(station__setup=hall.setup).values_list("code", flat=True)
        assert len(codes) == len(set(codes))

    def test_it_may_take_the_place_of_another(
        self, hall: Hall, library: Setup, coach: StaffMember
    ) -> None:
        add_from_library(
            setup=hall.setup,
            loop=hall.left.pk,
            design=library.stations.get(code="net").pk,
            instead_of=hall.beam.pk,
            by=coach,
        )

        assert order_of(hall.left) == ["start", "net", "drop"]

    def test_only_designs_of_the_library_are_taken(self, hall: Hall, coach: StaffMember) -> None:
        other = makers.make_station(makers.make_setup(published=False), "far")

        with pytest.raises(FloorRefused, match="no longer in the library"):
            add_from_library(setup=hall.setup, loop=hall.left.pk, design=other.pk, by=coach)

    def test_a_new_station_has_a_code_nothing_had_before(
        self, hall: Hall, library: Setup, coach: StaffMember
    ) -> None:
        add_new_station(setup=hall.setup, loop=hall.left.pk, name="Net", by=coach)

        assert order_of(hall.left)[-1] == "net-2"


class TestStations:
    def test_facts_and_equipment_are_kept(
        self, hall: Hall, coach: StaffMember, today: date
    ) -> None:
        bench = Equipment.objects.create(code="bench", name="Bench", count=4)
        mat = Equipment.objects.create(code="mat", name="Mat", count=9)
        facts = {
            "name": " Wide beam ",
            "kind": "beam",
            "mat": "firm",
            "mat_rated_m": 1.5,
            "mat_checked": today,
            "way_down": False,
        }

        change_station(
            station=hall.beam, facts=facts, equipment={bench.pk: 2, mat.pk: 0, 999: 1}, by=coach
        )

        kept = Station.objects.get(pk=hall.beam.pk)
        assert (kept.name, kept.kind, kept.mat_rated_m) == ("Wide beam", "beam", 1.5)
        assert (kept.mat_checked, kept.way_down, kept.code) == (today, False, "beam")
        assert list(kept.equipment_links.values_list("equipment__code", "count")) == [("bench", 2)]

    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            ({"name": " "}, "station has no name"),
            ({"kind": "slide"}, "kind is not known"),
            ({"mat": "grass"}, "mat is not known"),
            ({"space_m2": 0.0}, "floor it takes must be above 0"),
            ({"swing_m": 1001.0}, "free run of the swing must be"),
        ],
    )
    def test_what_cannot_be_is_refused(
        self, hall: Hall, coach: StaffMember, wrong: dict[str, Any], words: str
    ) -> None:
        with pytest.raises(FloorRefused, match=words):
            change_station(
                station=hall.beam, facts={"name": "Beam"} | wrong, equipment={}, by=coach
            )

    def test_one_on_a_loop_is_not_removed(self, hall: Hall, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Start is on Left and Right"):
            remove_station(station=hall.start, by=coach)

    def test_one_put_aside_is_removed_and_comes_back_whole(
        self, hall: Hall, coach: StaffMember, today: date
    ) -> None:
        bench = Equipment.objects.create(code="bench", name="Bench", count=4)
        facts = {"name": "Beam", "mat_checked": today}
        change_station(station=hall.beam, facts=facts, equipment={bench.pk: 2}, by=coach)
        take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

        done = remove_station(station=hall.beam, by=coach)
        assert not hall.setup.stations.filter(code="beam").exists()
        undone(hall, done, coach)

        back = hall.setup.stations.get(code="beam")
        assert back.mat_checked == today
        assert back.variants.get().code == "beam+0"
        assert back.equipment_links.get().count == 2


class TestKeepingInTheLibrary:
    def test_a_station_of_a_published_setup_may_be_kept(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        Setup.objects.filter(pk=hall.setup.pk).update(published=True)

        keep_in_library(station=hall.rope, by=coach)

        kept = Setup.objects.library().stations.get(code="rope")
        assert kept.variants.get().code == hall.rope.variants.get().code

    def test_beside_the_one_there_or_instead_of_it(
        self, hall: Hall, library: Setup, coach: StaffMember
    ) -> None:
        keep_in_library(station=hall.beam, by=coach)
        assert set(library.stations.values_list("code", flat=True)) == {"beam", "beam-2", "net"}

        keep_in_library(station=hall.beam, replace=True, by=coach)
        assert library.stations.get(code="beam").variants.count() == 1

    def test_one_without_variants_is_not_kept(self, hall: Hall, coach: StaffMember) -> None:
        bare = makers.make_station(hall.setup, "bare")

        with pytest.raises(FloorRefused, match="Bare has no variants yet"):
            keep_in_library(station=bare, by=coach)

    def test_one_of_the_library_can_be_removed_and_brought_back(
        self, library: Setup, coach: StaffMember
    ) -> None:
        done = remove_station(station=library.stations.get(code="net"), by=coach)
        assert done.undo is not None

        undo_change(setup=library, undo=done.undo, by=coach)

        assert library.stations.get(code="net").variants.count() == 1
