"""Loops are added, renamed and removed; what is removed comes back whole."""

import pytest

from progress.models import Loop, StaffMember
from progress.usecases.floors.change_loops import add_loop, change_loop, remove_loop
from progress.usecases.floors.change_stops import take_out
from progress.usecases.floors.changes import FloorRefused
from tests import makers
from tests.usecases.floors.floors import Hall, order_of, undone


def test_a_new_loop_comes_last_with_a_code_of_its_own(hall: Hall, coach: StaffMember) -> None:
    area = hall.left.area_id
    first = add_loop(setup=hall.setup, name="  Left  ", area=area, by=coach)
    second = add_loop(setup=hall.setup, name="Große Runde!", area=area, by=coach)

    assert (first.name, first.code, first.order) == ("Left", "left-2", 4)
    assert (second.code, second.order) == ("groe-runde", 5)


@pytest.mark.parametrize(
    ("name", "area", "words"),
    [("   ", True, "loop has no name"), ("x" * 121, True, "too long"), ("Far", False, "no area")],
)
def test_a_loop_needs_a_name_and_an_area(
    hall: Hall, coach: StaffMember, name: str, area: bool, words: str
) -> None:
    with pytest.raises(FloorRefused, match=words):
        add_loop(setup=hall.setup, name=name, area=hall.left.area_id if area else 999_999, by=coach)
    assert hall.setup.loops.count() == 3


def test_a_loop_gets_another_name_and_keeps_its_code(hall: Hall, coach: StaffMember) -> None:
    done = change_loop(
        setup=hall.setup, loop=hall.left.pk, name="Beam way", area=hall.left.area_id, by=coach
    )

    hall.left.refresh_from_db()
    assert (hall.left.name, hall.left.code) == ("Beam way", "left")
    undone(hall, done, coach)
    hall.left.refresh_from_db()
    assert hall.left.name == "Left"


def test_a_loop_that_shares_a_station_stays_in_its_area(hall: Hall, coach: StaffMember) -> None:
    with pytest.raises(FloorRefused, match="Left shares Start with Right"):
        change_loop(
            setup=hall.setup, loop=hall.left.pk, name="Left", area=hall.little.area_id, by=coach
        )


def test_a_loop_on_its_own_may_move(hall: Hall, coach: StaffMember) -> None:
    take_out(setup=hall.setup, loop=hall.left.pk, station=hall.start.pk, by=coach)

    change_loop(
        setup=hall.setup, loop=hall.left.pk, name="Left", area=hall.little.area_id, by=coach
    )

    hall.left.refresh_from_db()
    assert hall.left.area == hall.little.area


class TestRemoving:
    def test_its_own_stations_are_put_aside_and_shared_ones_stay_where_they_are(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        remove_loop(setup=hall.setup, loop=hall.left.pk, by=coach)

        assert hall.setup.stations.count() == 5
        assert order_of(hall.right) == ["start", "rope"]
        assert not hall.beam.loops.exists()

    def test_undo_brings_loop_and_order_back(self, hall: Hall, coach: StaffMember) -> None:
        done = remove_loop(setup=hall.setup, loop=hall.left.pk, by=coach)

        assert undone(hall, done, coach).says == "Left is back."

        back = Loop.objects.get(setup=hall.setup, code="left")
        assert order_of(back) == ["start", "beam", "drop"]
        assert (back.name, back.order, back.area) == ("Left", 1, hall.left.area)

    def test_undo_leaves_out_a_station_that_is_gone(self, hall: Hall, coach: StaffMember) -> None:
        done = remove_loop(setup=hall.setup, loop=hall.left.pk, by=coach)
        hall.beam.delete()

        undone(hall, done, coach)

        assert order_of(Loop.objects.get(setup=hall.setup, code="left")) == ["start", "drop"]

    def test_undo_twice_is_refused(self, hall: Hall, coach: StaffMember) -> None:
        done = remove_loop(setup=hall.setup, loop=hall.left.pk, by=coach)
        undone(hall, done, coach)

        with pytest.raises(FloorRefused, match="meanwhile"):
            undone(hall, done, coach)

    def test_a_loop_of_another_setup_is_not_there(self, hall: Hall, coach: StaffMember) -> None:
        other = makers.make_loop(makers.make_setup(published=False))

        with pytest.raises(FloorRefused, match="no longer in the setup"):
            remove_loop(setup=hall.setup, loop=other.pk, by=coach)
        assert Loop.objects.filter(pk=other.pk).exists()
