"""The family page: one child's skills in a few words, and never another family's child."""

from datetime import date, timedelta
from itertools import pairwise

import pytest

from progress.models import Athlete, GymClass, HomeIdea, Note, Skill, StaffMember
from progress.usecases.see_family import MOST, ChildProgress, Rest, see_family
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
        makers.make_hold(ada)
        makers.make_hold(cy, starts=makers.TODAY - WEEK, lifted=makers.TODAY)

        assert (see(ada).rests, see(cy).rests) == ((Rest((), None),), ())

    def test_who_was_never_checked_has_no_last_check(self, cy: Athlete) -> None:
        assert see(cy).last_checked is None


class TestRests:
    def test_a_day_to_look_again_is_told_while_it_lies_ahead(self, ada: Athlete) -> None:
        hold = makers.make_hold(ada, review=makers.TODAY + WEEK)
        assert see(ada).rests == (Rest((), makers.TODAY + WEEK),)

        hold.review = makers.TODAY
        hold.save()
        assert see(ada).rests == (Rest((), None),)

    def test_of_two_holds_of_everything_the_longer_counts(self, ada: Athlete) -> None:
        makers.make_hold(ada, review=makers.TODAY + WEEK)
        later = makers.make_hold(ada, kind="wish", review=makers.TODAY + 2 * WEEK)
        assert see(ada).rests == (Rest((), makers.TODAY + 2 * WEEK),)

        later.review = None
        later.save()
        assert see(ada).rests == (Rest((), None),)

    def test_nothing_of_a_held_ladder_is_worked_on_asked_for_or_next(
        self, bo: Athlete, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        hanging, landing = small_catalogue["HANG-1"].ladder, small_catalogue["LAND-1"].ladder
        makers.make_hold(bo, ladders=[hanging])
        makers.make_hold(ada, ladders=[landing])

        assert codes(see(bo).working_on) == ["LAND-1"]
        assert codes(see(bo).asked) == ["LAND-1"]
        assert codes(see(ada).next_up) == ["HANG-2"]
        assert see(bo).rests == (Rest((hanging,), None),)
        assert not see(bo).rests_wholly

    def test_a_child_who_rests_wholly_is_pressed_to_nothing(
        self, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        make_idea(small_catalogue["LAND-1"])
        makers.make_hold(bo, ladders=[small_catalogue["HANG-1"].ladder])
        makers.make_hold(bo)
        page = see(bo)

        assert page.rests == (Rest((), None),)
        assert (page.working_on, page.next_up, page.asked, page.idea) == ((), (), (), None)


class TestAges:
    @pytest.mark.parametrize(
        ("born", "offered"),
        [(date(2022, 3, 2), True), (date(2022, 3, 3), False), (None, False)],
        ids=["four today", "four tomorrow", "nobody told us"],
    )
    def test_nothing_comes_next_that_the_child_is_too_young_for(
        self, small_catalogue: dict[str, Skill], born: date | None, offered: bool
    ) -> None:
        makers.make_skill("TALL-1", ladder="tall", minimum_age=4)
        child = makers.make_athlete("kid", birth_date=born)
        assert ("TALL-1" in codes(see(child).next_up)) is offered

    @pytest.mark.parametrize(
        ("born", "asked_age"), [(date(2021, 3, 2), None), (date(2021, 3, 3), 5)]
    )
    def test_the_next_tiers_age_counts_for_its_skills_and_is_told(
        self, ada: Athlete, born: date, asked_age: float | None
    ) -> None:
        """Tier 2 starts at five years."""
        Athlete.objects.filter(pk=ada.pk).update(birth_date=born)
        ada.refresh_from_db()

        assert see(ada).asked_age == asked_age
        assert codes(see(ada).next_up) == ([] if asked_age else ["LAND-2", "HANG-2"])

    def test_in_a_tier_the_child_is_in_already_its_age_is_no_bar(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("NEW-2", ladder="new", tier=2)
        early = makers.make_athlete("early", tier=2, birth_date=date(2022, 1, 1))
        assert "NEW-2" in codes(see(early).next_up)


class TestNextGroup:
    def test_it_asks_for_what_is_required_and_not_steady(self, ada: Athlete, bo: Athlete) -> None:
        makers.make_skill("MORE-1", ladder="more", required=False)
        assert codes(see(ada).asked) == []
        assert codes(see(bo).asked) == ["LAND-1", "HANG-1"]

    def test_above_the_highest_tier_nothing_is_asked(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        page = see(makers.make_athlete("top", tier=2))
        assert (page.next_tier, page.asked, page.asked_age) == (None, (), None)


class TestFreshness:
    def test_lately_is_as_long_as_a_check_stays_fresh(self, ada: Athlete) -> None:
        """Ada was last checked a week before today; checks stay fresh for 56 days."""
        assert see(ada, makers.TODAY + timedelta(days=48)).seen_lately
        assert not see(ada, makers.TODAY + timedelta(days=49)).seen_lately


def make_note(child: Athlete, text: str, day: date = makers.TODAY, **values: object) -> Note:
    values = {"for_family": True, "written_at": makers.moment(day)} | values
    return Note.objects.create(athlete=child, text=text, **values)


class TestNotes:
    def test_the_newest_marked_for_the_family_is_shown(self, ada: Athlete, cy: Athlete) -> None:
        make_note(ada, "Old", makers.TODAY - WEEK)
        new = make_note(ada, "New", makers.TODAY - timedelta(days=1))
        make_note(ada, "For staff", for_family=False)
        make_note(ada, "Taken back", taken_back_at=makers.moment())
        make_note(ada, "Of tomorrow", makers.TODAY + timedelta(days=1))
        make_note(cy, "Of another child")

        assert see(ada).note == new

    def test_a_note_is_for_staff_unless_marked(self, ada: Athlete) -> None:
        make_note(ada, "For staff", for_family=False)
        assert see(ada).note is None


def make_idea(skill: Skill, code: str = "idea", **values: object) -> HomeIdea:
    values = {"text": "Try it.", "caution": "Mind the cat.", "active": True} | values
    return HomeIdea.objects.create(code=code, skill=skill, **values)


class TestIdeasForHome:
    def test_one_is_shown_for_a_skill_that_comes_next(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        idea = make_idea(small_catalogue["LAND-2"])
        assert see(ada).idea == idea

    def test_none_that_no_lead_marked(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        make_idea(small_catalogue["LAND-2"], active=False)
        assert see(ada).idea is None

    def test_none_for_a_skill_that_is_held_or_far_off(
        self, ada: Athlete, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        make_idea(small_catalogue["LAND-1"])
        make_idea(small_catalogue["HANG-3"], "far")
        assert see(ada).idea is None
        assert see(bo).idea is not None  # bo is working on LAND-1

    def test_with_several_another_one_comes_each_week_and_stays_for_it(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        for code in ("a", "b"):
            make_idea(small_catalogue["LAND-2"], code)
        shown = [see(ada, makers.TODAY + timedelta(days=day)).idea for day in range(15)]
        changes = [day for day, pair in enumerate(pairwise(shown), start=1) if pair[0] != pair[1]]
        assert len(changes) == 2
        assert changes[1] - changes[0] == 7


class TestNames:
    def test_the_name_the_family_chose_comes_first(self, ada: Athlete) -> None:
        assert see(ada).name == "Ada"
        ada.shown_as = "Captain A"
        assert see(ada).name == "Captain A"
