"""Moving a child tells what changes for the others; it can be taken back and given a reason."""

from datetime import datetime
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, GymClass, PlanChoice, Setup, StaffMember, Variant
from progress.usecases.plans.choose_by_hand import ChoiceRefused
from progress.usecases.plans.move_athlete import Change, Moved, give_reason, undo_move
from tests import makers
from tests.usecases.plans.conftest import NOON, Mover

pytestmark = pytest.mark.django_db


def undo(moved: Moved, athlete: Athlete, station: str, gym_class: GymClass, **values: Any) -> None:
    undo_move(
        gym_class=gym_class,
        day=makers.TODAY,
        athlete=athlete,
        station=station,
        made=moved.made.pk if moved.made else None,
        earlier=moved.earlier.pk if moved.earlier else None,
        now=NOON,
        **values,
    )


class TestWhatChangesForOthers:
    def test_who_loses_the_last_place_is_named_with_the_new_variant(
        self, move: Mover, ada: Athlete, bo: Athlete
    ) -> None:
        Variant.objects.filter(code="jump+0").update(places=1)
        Variant.objects.filter(code="jump+1").update(places=0)
        first = move(ada, "jump", "jump+0")
        second = move(ada, "jump", "jump-1")

        assert all(change.athlete == "bo" for change in (*first.changes, *second.changes))
        freed = Change("bo", "first", "jump", "jump-1", "jump+0")
        assert freed in second.changes

    def test_the_move_itself_is_not_among_the_changes(self, move: Mover, bo: Athlete) -> None:
        assert move(bo, "jump", "jump-1").changes == ()

    def test_moving_to_a_loop_brings_somebody_the_other_way(
        self, move: Mover, ada: Athlete, bo: Athlete, floor: Setup
    ) -> None:
        makers.make_loop(floor, "second", stations=floor.stations.all())
        move(ada, "", "first")
        moved = move(ada, "", "second")

        assert Change("bo", "", "", "second", "first") in moved.changes
        assert moved.earlier is not None
        assert moved.earlier.loop is not None
        assert moved.earlier.loop.code == "first"


class TestUndo:
    def test_it_is_the_engines_own_again(
        self, move: Mover, bo: Athlete, monday_class: GymClass, coach: StaffMember
    ) -> None:
        moved = move(bo, "jump", "jump-1")
        undo(moved, bo, "jump", monday_class, coach=coach)

        assert not PlanChoice.objects.standing().exists()
        assert PlanChoice.objects.count() == 1

    def test_an_earlier_choice_comes_back_with_its_reason(
        self, move: Mover, bo: Athlete, monday_class: GymClass, coach: StaffMember
    ) -> None:
        move(bo, "jump", "jump-1", reason="Tired today")
        for to in ("jump+0", "", None):
            undo(move(bo, "jump", to), bo, "jump", monday_class, coach=coach)

            back = PlanChoice.objects.standing().get()
            assert back.variant is not None
            assert (back.variant.code, back.reason) == ("jump-1", "Tired today")

    def test_what_somebody_changed_since_is_left_alone(
        self,
        move: Mover,
        bo: Athlete,
        monday_class: GymClass,
        coach: StaffMember,
        lead: StaffMember,
    ) -> None:
        moved = move(bo, "jump", "jump-1")
        theirs = move(bo, "jump", "jump+0", coach=lead).made

        with pytest.raises(ChoiceRefused, match="changed this since"):
            undo(moved, bo, "jump", monday_class, coach=coach)
        assert list(PlanChoice.objects.standing()) == [theirs]

    def test_the_desk_may_not(
        self, move: Mover, bo: Athlete, monday_class: GymClass, desk: StaffMember
    ) -> None:
        moved = move(bo, "jump", "jump-1")
        with pytest.raises(ChoiceRefused, match="Only a coach"):
            undo(moved, bo, "jump", monday_class, coach=desk)


class TestReasons:
    def give(
        self, moved: Moved, bo: Athlete, gym_class: GymClass, coach: StaffMember, reason: str
    ) -> None:
        assert moved.made is not None
        give_reason(
            gym_class=gym_class,
            day=makers.TODAY,
            athlete=bo,
            station="jump",
            made=moved.made.pk,
            reason=reason,
            coach=coach,
            now=NOON,
        )

    def test_a_reason_is_written_down_afterwards(
        self, move: Mover, bo: Athlete, monday_class: GymClass, coach: StaffMember
    ) -> None:
        self.give(move(bo, "jump", "jump-1"), bo, monday_class, coach, " Asked   for it ")

        standing = PlanChoice.objects.standing().get()
        assert standing.reason == "Asked for it"
        assert standing.variant is not None
        assert standing.variant.code == "jump-1"

    def test_not_for_a_choice_that_somebody_took_back(
        self, move: Mover, bo: Athlete, monday_class: GymClass, coach: StaffMember
    ) -> None:
        moved = move(bo, "jump", "jump-1")
        move(bo, "jump", None)
        with pytest.raises(ChoiceRefused, match="changed this since"):
            self.give(moved, bo, monday_class, coach, "Tired today")


def test_a_large_class_asks_no_more_of_the_database_than_a_small_one(
    move: Mover, ada: Athlete, monday_class: GymClass, now: datetime
) -> None:
    move(ada, "jump", "jump-1")  # the first of a day also learns from the log

    def count(to: str) -> int:
        with CaptureQueriesContext(connection) as asked:
            move(ada, "jump", to)
        return len(asked)

    few = count("jump+0")
    for _ in range(28):
        makers.enrol(makers.make_athlete(), monday_class)
    assert count("jump-1") == few
