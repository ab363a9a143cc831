"""One athlete's evidence, attempt by attempt, and what would change the answer."""

from datetime import date, timedelta

import pytest

from progress.engine.parameters import VERSION
from progress.engine.terms import Decision
from progress.engine.what_would_change import Obstacle, Outlook
from progress.models import Athlete, GymClass, RuleBook, Skill, StaffMember
from progress.usecases.see_athlete import see_athlete
from progress.usecases.see_evidence import (
    EvidencePicture,
    Part,
    PartOfRule,
    SkillEvidence,
    Weight,
    see_evidence,
)
from tests import makers

pytestmark = pytest.mark.django_db

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)


def see(athlete: Athlete, today: date = makers.TODAY) -> EvidencePicture:
    return see_evidence(athlete=athlete, today=today)


def block(picture: EvidencePicture, code: str) -> SkillEvidence:
    return next(one for one in picture.blocks if one.skill.code == code)


def parts(picture: EvidencePicture, code: str) -> dict[Part, PartOfRule]:
    return {one.part: one for one in block(picture, code).parts}


def test_it_says_what_the_athletes_page_says(ada: Athlete, bo: Athlete) -> None:
    for athlete in (ada, bo):
        assert see(athlete).readiness == see_athlete(athlete=athlete, today=makers.TODAY).readiness


class TestSkills:
    def test_there_is_a_block_for_each_skill_of_the_tier_those_that_hold_back_first(
        self, bo: Athlete
    ) -> None:
        picture = see(bo)
        assert next(one.skill.code for one in picture.blocks) == "HANG-1"
        assert {one.skill.code for one in picture.blocks} == {"LAND-1", "HANG-1"}
        assert [one.skill.code for one in picture.blocks if one.holds_back] == list(
            picture.readiness.holding_back
        )

    def test_a_gates_rule_is_shown_part_by_part(
        self, bo: Athlete, lead: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        """Bo: one miss, then seven clean on four days, all seen by Kim; Lee records too."""
        makers.make_attempt(
            makers.make_athlete(), small_catalogue["LAND-1"], coach=lead, at=makers.TODAY - WEEK
        )
        found = parts(see(bo), "LAND-1")
        assert list(found) == [Part.RUN, Part.RUN_DAYS, Part.RUN_COACHES, Part.SURE]
        assert (found[Part.RUN].met, found[Part.RUN].has, found[Part.RUN].asks) == (True, 7, 5)
        assert (found[Part.RUN_DAYS].has, found[Part.RUN_DAYS].asks) == (4, 2)
        coaches = found[Part.RUN_COACHES]
        assert (coaches.met, coaches.has, coaches.asks) == (False, 1, 2)
        assert block(see(bo), "LAND-1").bars

    def test_any_other_skills_rule_is_shown_part_by_part(self, bo: Athlete, ada: Athlete) -> None:
        found = parts(see(bo), "HANG-1")
        assert list(found) == [Part.CLEAN, Part.CLEAN_DAYS, Part.FRESH, Part.SURE]
        assert [one.met for one in found.values()] == [False] * 4
        assert found[Part.FRESH].has is None
        hers = parts(see(ada), "HANG-1")
        assert hers[Part.FRESH].has == makers.TODAY - WEEK
        assert [one.met for one in hers.values()] == [True] * 4
        assert not hers[Part.SURE].bars
        assert parts(see(ada), "LAND-1")[Part.SURE].bars

    def test_the_rules_in_force_are_the_ones_shown(self, ada: Athlete, lead: StaffMember) -> None:
        RuleBook.objects.create(version=7, values={"gate_clean_in_a_row": 9}, changed_by=lead)
        picture = see(ada)
        assert picture.rules.version == 7
        run = parts(picture, "LAND-1")[Part.RUN]
        assert (run.met, run.has, run.asks) == (False, 8, 9)

    def test_a_safety_skill_of_an_earlier_tier_that_slipped_has_a_block(
        self, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        dot = makers.make_athlete("dot", tier=2)
        makers.make_skill("LAND-3", tier=3)
        days = [makers.TODAY - WEEK]
        makers.make_attempts(
            dot, small_catalogue["LAND-1"], ["miss"] * 8, days=days, coaches=[coach]
        )
        picture = see(dot)
        slipped = block(picture, "LAND-1")
        assert (slipped.slipped, slipped.bars) == (True, True)
        assert [one.part for one in slipped.parts] == [Part.SURE]
        assert not block(picture, "LAND-2").slipped


class TestAttempts:
    def test_they_stand_newest_first_with_those_of_the_run_marked(self, bo: Athlete) -> None:
        seen = block(see(bo), "LAND-1").attempts
        assert [one.attempt.at for one in seen] == sorted(
            (one.attempt.at for one in seen), reverse=True
        )
        assert [one.weight for one in seen] == [Weight.IN_RUN] * 7 + [Weight.COUNTS]

    def test_of_tries_at_one_moment_a_miss_ends_the_run(
        self, cy: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        for result in ("clean", "miss", "clean"):
            makers.make_attempt(cy, small_catalogue["LAND-1"], result, coach=coach)
        picture = see(cy)
        assert parts(picture, "LAND-1")[Part.RUN].has == 0
        assert next(one.attempt.result for one in block(picture, "LAND-1").attempts) == "miss"
        assert {one.weight for one in block(picture, "LAND-1").attempts} == {Weight.COUNTS}

    def test_those_past_the_fresh_days_say_so(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        limit = makers.TODAY - 56 * DAY
        for day in (limit, limit - DAY):
            makers.make_attempt(cy, small_catalogue["HANG-1"], "assisted", at=day)
        seen = block(see(cy), "HANG-1").attempts
        assert [one.weight for one in seen] == [Weight.COUNTS, Weight.TOO_OLD]

    def test_a_correction_stands_in_place_of_what_it_corrects(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        wrong = makers.make_attempt(cy, small_catalogue["LAND-1"], "clean")
        right = makers.make_correction(wrong, "miss", reason="Hands down.")
        makers.make_correction(makers.make_attempt(cy, small_catalogue["LAND-1"]))
        seen = block(see(cy), "LAND-1").attempts
        assert [one.attempt for one in seen] == [right]
        assert seen[0].attempt.supersedes == wrong

    def test_what_comes_after_the_day_is_not_shown(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(cy, small_catalogue["LAND-1"], at=makers.TODAY + DAY)
        assert block(see(cy), "LAND-1").attempts == ()


class TestChange:
    def test_who_lacks_another_coach_is_told_so_and_recording_it_makes_ready(
        self, cy: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember
    ) -> None:
        days = [makers.TODAY - ago * WEEK for ago in (3, 2, 1)]
        for code, coaches in (("LAND-1", [coach]), ("HANG-1", [coach, lead])):
            makers.make_attempts(
                cy, small_catalogue[code], ["clean"] * 9, days=days, coaches=coaches
            )
        change = see(cy).change
        assert [(one.skill, one.clean, one.new_coaches) for one in change.further] == [
            ("LAND-1", 1, 1)
        ]
        assert change.by is not None
        day = date.fromordinal(change.by)
        assert see(cy, day).readiness.decision is not Decision.READY
        makers.make_attempt(cy, small_catalogue["LAND-1"], coach=lead, at=day)
        assert see(cy, day).readiness.decision is Decision.READY

    def test_further_tries_lie_on_the_days_of_the_athletes_classes(
        self, bo: Athlete, cy: Athlete, monday_class: GymClass
    ) -> None:
        thursday = makers.make_class("thursday", weekday=3)
        makers.enrol(cy, thursday)
        picture = see(cy)
        assert picture.meets_weekly
        assert picture.change.by is not None
        assert date.fromordinal(picture.change.by).weekday() == 3

    def test_a_place_that_ends_gives_no_days_beyond_its_end(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        thursday = makers.make_class("thursday", weekday=3)
        makers.enrol(cy, thursday, until=makers.TODAY + 2 * DAY)
        picture = see(cy)
        assert not picture.meets_weekly
        assert picture.change.by is not None
        assert date.fromordinal(picture.change.by).weekday() == makers.TODAY.weekday()

    def test_a_ready_athletes_answer_lapses_when_it_says(self, ada: Athlete) -> None:
        back = see(ada).change.taken_back
        assert back is not None
        assert back.lapses is not None
        day = date.fromordinal(back.lapses)
        assert see(ada, day - DAY).readiness.decision is Decision.READY
        assert see(ada, day).readiness.decision is not Decision.READY
        assert "LAND-1" in back.by_a_miss

    def test_a_hold_bars_and_nothing_is_worked_out(self, bo: Athlete) -> None:
        hold = makers.make_hold(bo)
        picture = see(bo)
        assert picture.holds == (hold,)
        assert (picture.change.obstacles, picture.change.further) == ((Obstacle.HOLD,), ())

    def test_a_lifted_hold_is_known_to_what_is_worked_out(
        self, ada: Athlete, lead: StaffMember
    ) -> None:
        """Time on hold makes the engine less sure; the day of lapse is that of the real log."""
        makers.make_hold(
            ada, starts=makers.TODAY - 6 * DAY, lifted=makers.TODAY - DAY, lifted_by=lead
        )
        back = see(ada).change.taken_back
        assert back is not None
        assert back.lapses is not None
        day = date.fromordinal(back.lapses)
        assert see(ada, day - DAY).readiness.decision is Decision.READY
        assert see(ada, day).readiness.decision is not Decision.READY

    def test_who_is_too_young_is_told_the_day_of_the_birthday(self, cy: Athlete) -> None:
        cy.birth_date = date(2021, 7, 1)
        cy.save()
        makers.make_skill("HANG-9", tier=2)
        picture = see(cy)
        assert picture.change.obstacles == (Obstacle.TOO_YOUNG,)
        assert picture.old_enough_on == date(2026, 7, 1)
        assert (picture.youngest, see(cy, date(2026, 7, 1)).old_enough_on) == (5.0, None)

    @pytest.mark.usefixtures("small_catalogue")
    def test_in_the_highest_tier_there_is_nothing_to_change(self) -> None:
        picture = see(makers.make_athlete(tier=2))
        assert picture.change.outlook is Outlook.BARRED
        assert picture.change.obstacles == (Obstacle.TOP_TIER,)


def test_it_says_what_it_rests_on(ada: Athlete) -> None:
    picture = see(ada)
    assert picture.engine_version == VERSION
    assert picture.learnt_before <= makers.TODAY
    assert picture.coaches_needed == 2
