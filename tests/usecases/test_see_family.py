"""The family page: one child's skills in a few words, and never another family's child."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, GymClass, Skill, StaffMember
from progress.usecases.see_family import MOST, ChildProgress, see_family
from tests import makers

pytestmark = pytest.mark.django_db

WEEK = timedelta(weeks=1)


def see(child: Athlete, today: date = makers.TODAY) -> ChildProgress:
    (page,) = see_family(children=[child], today=today)
    return page


def codes(skills: tuple[Skill, ...]) -> list[str]:
    return [skill.code for skill in skills]


def secure(athlete: Athlete, skill: Skill, coaches: list[StaffMember], last: date) -> None:
    """Enough clean tries, the last on a day of its own."""
    days = [last - ago * WEEK for ago in (3, 2, 1, 0)]
    makers.make_attempts(athlete, skill, ["clean"] * 12, days=days, coaches=coaches)


class TestWhoseChildren:
    def test_only_the_children_passed_in_are_shown(
        self, monday_class: GymClass, ada: Athlete, cy: Athlete
    ) -> None:
        """Bo shares Ada's class, coach and skills, and appears nowhere."""
        pages = see_family(children=[ada, cy], today=makers.TODAY)

        assert [page.athlete for page in pages] == [ada, cy]
        for page in pages:
            rungs = [rung for ladder in page.ladders for rung in ladder.rungs]
            assert {rung.estimate.athlete for rung in rungs} == {page.athlete.code}
        assert "Athlete: Ada" in repr(pages)
        assert "Athlete: Bo" not in repr(pages)
        assert "'bo'" not in repr(pages)

    def test_a_family_without_children_has_an_empty_page(self) -> None:
        assert see_family(children=[], today=makers.TODAY) == ()

    def test_a_child_is_told_the_same_alone_as_beside_a_sister(
        self, ada: Athlete, bo: Athlete
    ) -> None:
        both = see_family(children=[ada, bo], today=makers.TODAY)
        for page in both:
            alone = see(page.athlete)
            assert codes(alone.can_do) == codes(page.can_do)
            assert codes(alone.working_on) == codes(page.working_on)
            assert codes(alone.next_up) == codes(page.next_up)

    def test_two_coaches_are_asked_for_here_too(
        self, ada: Athlete, cy: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        """A parent must not read "can do" of a safety skill that the coaches' page leaves open."""
        secure(cy, small_catalogue["LAND-1"], [coach], makers.TODAY - WEEK)

        assert codes(see(cy).can_do) == []
        assert codes(see(cy).working_on) == ["LAND-1"]


class TestWhatIsSaid:
    def test_what_a_child_can_do_is_working_on_and_what_comes_next(
        self, ada: Athlete, bo: Athlete
    ) -> None:
        page = see(ada)
        assert codes(page.can_do) == ["HANG-1", "LAND-1"]
        assert codes(page.working_on) == []
        assert codes(page.next_up) == ["LAND-2", "HANG-2"]
        assert codes(see(bo).working_on) == ["HANG-1", "LAND-1"]

    def test_nothing_comes_next_whose_needs_are_not_held(
        self, bo: Athlete, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        assert codes(see(bo).next_up) == []
        assert codes(see(cy).next_up) == ["LAND-1", "HANG-1"]

    def test_a_tier_further_up_does_not_come_next(self, ada: Athlete) -> None:
        makers.make_skill("TOP-3", ladder="top", tier=3)
        assert codes(see(ada).next_up) == ["LAND-2", "HANG-2"]

        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        ada.refresh_from_db()
        assert codes(see(ada).next_up) == ["LAND-2", "HANG-2", "TOP-3"]

    def test_three_of_a_kind_are_enough_the_freshest_first(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        for number in range(MOST + 2):
            skill = makers.make_skill(f"CAN-{number}", ladder="can")
            secure(cy, skill, [coach], makers.TODAY - number * timedelta(days=1))
            tried = makers.make_skill(f"TRY-{number}", ladder="try")
            makers.make_attempt(cy, tried, "miss", at=makers.TODAY - number * timedelta(days=1))
            makers.make_skill(f"NEW-{number}", ladder="new")

        page = see(cy)
        assert codes(page.can_do) == ["CAN-0", "CAN-1", "CAN-2"]
        assert codes(page.working_on) == ["TRY-0", "TRY-1", "TRY-2"]
        assert codes(page.next_up) == ["NEW-0", "NEW-1", "NEW-2"]
        assert sum(len(ladder.rungs) for ladder in page.ladders) == 3 * (MOST + 2)

    def test_an_old_success_is_neither_bragged_about_nor_work_in_hand(self, ada: Athlete) -> None:
        page = see(ada, makers.TODAY + 9 * WEEK)

        assert (page.can_do, page.working_on) == ((), ())
        assert page.last_checked == makers.TODAY - WEEK


class TestTierAndHold:
    def test_the_page_names_this_tier_and_the_next(self, ada: Athlete) -> None:
        page = see(ada)
        assert page.next_tier is not None
        assert (page.tier.number, page.next_tier.number) == (1, 2)

    def test_there_is_no_next_tier_above_the_highest(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        assert see(makers.make_athlete("top", tier=2)).next_tier is None

    def test_a_hold_in_force_is_shown_and_a_lifted_one_is_not(
        self, ada: Athlete, cy: Athlete
    ) -> None:
        hold = makers.make_hold(ada)
        makers.make_hold(cy, starts=makers.TODAY - WEEK, lifted=makers.TODAY)

        assert (see(ada).holds, see(cy).holds) == ((hold,), ())

    def test_who_was_never_checked_has_no_last_check(self, cy: Athlete) -> None:
        assert see(cy).last_checked is None
