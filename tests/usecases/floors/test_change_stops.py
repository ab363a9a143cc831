"""Stations move along loops, between loops and out of them; places never have a hole."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Setup, Skill, StaffMember
from progress.usecases.floors.change_stops import (
    move_stop,
    move_to_loop,
    share_station,
    swap_stop,
    take_out,
)
from progress.usecases.floors.changes import FloorRefused
from tests import makers
from tests.usecases.floors.floors import Hall, make_hall, order_of, undone


class TestMovingAlongALoop:
    @pytest.mark.parametrize(
        ("steps", "place", "order"),
        [
            (-1, 0, ["beam", "start", "drop"]),
            (1, 0, ["start", "drop", "beam"]),
            (0, 1, ["beam", "start", "drop"]),
            (0, 3, ["start", "drop", "beam"]),
            (0, 99, ["start", "drop", "beam"]),
        ],
    )
    def test_a_station_goes_where_it_is_sent(
        self, hall: Hall, coach: StaffMember, steps: int, place: int, order: list[str]
    ) -> None:
        done = move_stop(
            setup=hall.setup,
            loop=hall.left.pk,
            station=hall.beam.pk,
            steps=steps,
            place=place,
            by=coach,
        )

        assert order_of(hall.left) == order
        assert f"number {order.index('beam') + 1} on Left" in done.says

    def test_the_first_cannot_go_further_up(self, hall: Hall, coach: StaffMember) -> None:
        done = move_stop(
            setup=hall.setup, loop=hall.left.pk, station=hall.start.pk, steps=-1, by=coach
        )

        assert done.says == "Start is first on Left already."
        assert order_of(hall.left) == ["start", "beam", "drop"]

    def test_a_shared_station_keeps_its_place_on_the_other_loop(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        move_stop(setup=hall.setup, loop=hall.left.pk, station=hall.start.pk, steps=1, by=coach)

        assert order_of(hall.left) == ["beam", "start", "drop"]
        assert order_of(hall.right) == ["start", "rope"]

    def test_undo_brings_the_old_order_back(self, hall: Hall, coach: StaffMember) -> None:
        done = move_stop(
            setup=hall.setup, loop=hall.left.pk, station=hall.drop.pk, place=1, by=coach
        )

        undone(hall, done, coach)

        assert order_of(hall.left) == ["start", "beam", "drop"]

    def test_undo_does_not_undo_what_somebody_else_did_meanwhile(
        self, hall: Hall, coach: StaffMember, lead: StaffMember
    ) -> None:
        done = move_stop(
            setup=hall.setup, loop=hall.left.pk, station=hall.drop.pk, place=1, by=coach
        )
        take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=lead)

        with pytest.raises(FloorRefused, match="changed this meanwhile"):
            undone(hall, done, coach)

        assert order_of(hall.left) == ["drop", "start"]


class TestMovingToAnotherLoop:
    def test_it_leaves_one_and_comes_to_the_other(self, hall: Hall, coach: StaffMember) -> None:
        done = move_to_loop(
            setup=hall.setup,
            loop=hall.left.pk,
            station=hall.beam.pk,
            to_loop=hall.right.pk,
            place=2,
            by=coach,
        )

        assert order_of(hall.left) == ["start", "drop"]
        assert order_of(hall.right) == ["start", "beam", "rope"]
        undone(hall, done, coach)
        assert order_of(hall.left) == ["start", "beam", "drop"]
        assert order_of(hall.right) == ["start", "rope"]

    def test_a_loop_comes_to_a_station_once(self, hall: Hall, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Right stops at Start already"):
            move_to_loop(
                setup=hall.setup,
                loop=hall.left.pk,
                station=hall.start.pk,
                to_loop=hall.right.pk,
                by=coach,
            )
        assert order_of(hall.left) == ["start", "beam", "drop"]

    def test_a_station_of_one_loop_may_go_to_another_area(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        move_to_loop(
            setup=hall.setup,
            loop=hall.left.pk,
            station=hall.beam.pk,
            to_loop=hall.little.pk,
            by=coach,
        )

        assert order_of(hall.little) == ["shapes", "beam"]

    def test_a_shared_one_may_not(self, hall: Hall, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Start stands on Right, in another area"):
            move_to_loop(
                setup=hall.setup,
                loop=hall.left.pk,
                station=hall.start.pk,
                to_loop=hall.little.pk,
                by=coach,
            )


class TestSharing:
    def test_two_loops_may_meet_again(self, hall: Hall, coach: StaffMember) -> None:
        done = share_station(setup=hall.setup, loop=hall.right.pk, station=hall.drop.pk, by=coach)

        assert order_of(hall.right) == ["start", "rope", "drop"]
        assert done.says == "Drop is now on Right, shared with Left."
        assert hall.setup.stations.count() == 5

    def test_not_across_areas(self, hall: Hall, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Shapes stands on Little, in another area"):
            share_station(setup=hall.setup, loop=hall.left.pk, station=hall.shapes.pk, by=coach)


class TestTakingOutAndSwapping:
    def test_what_is_taken_out_is_put_aside_and_comes_back(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        done = take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

        assert order_of(hall.left) == ["start", "drop"]
        assert done.says == "Beam is taken out of Left. It is put aside below."
        assert undone(hall, done, coach).says == "Beam is back on Left."
        assert order_of(hall.left) == ["start", "beam", "drop"]

    def test_what_another_loop_shares_is_not_put_aside(
        self, hall: Hall, coach: StaffMember
    ) -> None:
        done = take_out(setup=hall.setup, loop=hall.left.pk, station=hall.start.pk, by=coach)

        assert "aside" not in done.says
        assert order_of(hall.right) == ["start", "rope"]

    def test_twice_is_refused_in_words(self, hall: Hall, coach: StaffMember) -> None:
        take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

        with pytest.raises(FloorRefused, match="Left does not stop at Beam any more"):
            take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

    def test_a_swap_takes_the_place(self, hall: Hall, coach: StaffMember) -> None:
        done = swap_stop(
            setup=hall.setup,
            loop=hall.left.pk,
            station=hall.beam.pk,
            other=hall.rope.pk,
            by=coach,
        )

        assert order_of(hall.left) == ["start", "rope", "drop"]
        undone(hall, done, coach)
        assert order_of(hall.left) == ["start", "beam", "drop"]

    def test_two_of_one_loop_change_places(self, hall: Hall, coach: StaffMember) -> None:
        swap_stop(
            setup=hall.setup,
            loop=hall.left.pk,
            station=hall.start.pk,
            other=hall.drop.pk,
            by=coach,
        )

        assert order_of(hall.left) == ["drop", "beam", "start"]


class TestWhoAndWhat:
    def test_the_desk_moves_nothing(self, hall: Hall, desk: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Only a coach or the lead"):
            take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=desk)

    def test_a_published_setup_stays(self, hall: Hall, coach: StaffMember) -> None:
        Setup.objects.filter(pk=hall.setup.pk).update(published=True)

        with pytest.raises(FloorRefused, match="published, so it cannot be changed"):
            take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

    def test_a_draft_that_attempts_point_at_stays(self, hall: Hall, coach: StaffMember) -> None:
        variant = hall.beam.variants.get()
        makers.make_attempt(
            makers.make_athlete("ada"), variant.skill, "clean", variant=variant, coach=coach
        )

        with pytest.raises(FloorRefused, match="Attempts were recorded"):
            take_out(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, by=coach)

    def test_a_station_of_another_setup_is_not_there(
        self, hall: Hall, coach: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        other = make_hall(small_catalogue["LAND-1"])

        with pytest.raises(FloorRefused, match="no longer in the setup"):
            share_station(setup=hall.setup, loop=hall.left.pk, station=other.rope.pk, by=coach)

    def test_a_move_asks_as_much_in_a_full_hall(
        self, hall: Hall, coach: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        def questions() -> int:
            with CaptureQueriesContext(
                connection,
            ) as asked:
                move_stop(
                    setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, steps=1, by=coach
                )
            return len(asked)

        few = questions()
        more = [makers.make_station(hall.setup, f"more-{n}") for n in range(8)]
        makers.make_loop(hall.setup, "full", stations=more)
        move_stop(setup=hall.setup, loop=hall.left.pk, station=hall.beam.pk, steps=-1, by=coach)

        assert questions() == few <= 10
