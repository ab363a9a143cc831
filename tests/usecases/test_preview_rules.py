"""Who would change if the rules or the skills were others, before anything is saved."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.engine.rules import HeightRule, Rules
from progress.engine.terms import Decision, SkillState
from progress.models import (
    Athlete,
    GymClass,
    ResultChoice,
    RuleBook,
    Skill,
    SkillRule,
    StaffMember,
)
from progress.usecases.change_rules import change_rules
from progress.usecases.change_skills import change_skills
from progress.usecases.know_athletes import know_athletes
from progress.usecases.preview_rules import (
    Preview,
    preview_rules,
    preview_skills,
)
from tests import makers

STANDARD, REQUIRED = SkillRule.STANDARD, SkillRule.REQUIRED


def other(**values: Any) -> Rules:
    return replace(Rules(), version=2, **values)


def decisions(preview: Preview) -> dict[Decision, tuple[int, int]]:
    return {one.what: (one.before, one.after) for one in preview.decisions}


def states(preview: Preview) -> dict[SkillState, tuple[int, int]]:
    return {one.what: (one.before, one.after) for one in preview.states}


def gates(preview: Preview) -> dict[str, tuple[int, int]]:
    return {one.skill.code: (one.newly, one.no_longer) for one in preview.gates}


@pytest.fixture
def dot(small_catalogue: dict[str, Skill], coach: StaffMember, today: date) -> Athlete:
    """In tier 1: hangs well, and landed cleanly three times in a row on two days for one coach."""
    athlete = makers.make_athlete("dot", name="Dot")
    days = [today - timedelta(days=days) for days in (15, 8)]
    makers.make_attempts(
        athlete, small_catalogue["LAND-1"], [ResultChoice.CLEAN] * 3, days=days, coaches=(coach,)
    )
    makers.make_attempts(
        athlete, small_catalogue["HANG-1"], [ResultChoice.CLEAN] * 8, days=days, coaches=(coach,)
    )
    return athlete


@pytest.mark.usefixtures("monday_class", "cy")
class TestRules:
    def test_a_stricter_cut_takes_ready_from_ada_and_says_from_what_to_what(
        self, today: date
    ) -> None:
        preview = preview_rules(rules=other(gate_clean_in_a_row=9), today=today)

        (change,) = preview.changed
        assert change.athlete.code == "ada"
        assert change.classes == "Monday class"
        assert change.before.decision is Decision.READY
        assert change.after.decision is not Decision.READY
        before, after = decisions(preview)[Decision.READY]
        assert (before, after) == (1, 0)
        assert preview.athletes == 3

    def test_counts_add_up_to_every_child_and_every_skill(self, today: date) -> None:
        preview = preview_rules(rules=other(gate_clean_in_a_row=9), today=today)

        for side in (0, 1):
            assert sum(both[side] for both in decisions(preview).values()) == 3
            assert sum(both[side] for both in states(preview).values()) == 3 * 5

    def test_a_gate_that_asks_for_more_is_held_by_fewer(self, today: date) -> None:
        preview = preview_rules(rules=other(gate_clean_in_a_row=9), today=today)

        assert gates(preview) == {"LAND-1": (0, 1)}
        assert (preview.newly_holding, preview.no_longer_holding) == (0, 1)
        before, after = states(preview)[SkillState.SECURE]
        assert after == before - 1

    def test_a_gate_that_asks_for_less_names_who_would_newly_count(
        self, dot: Athlete, today: date
    ) -> None:
        preview = preview_rules(
            rules=other(gate_clean_in_a_row=3, gate_coaches=1, secure_confidence=0.4), today=today
        )

        newly, no_longer = gates(preview)["LAND-1"]
        assert newly >= 1
        assert no_longer == 0
        assert preview.newly_holding == newly

    def test_only_the_cut_of_ready_moves_the_decision_and_no_skill(self, today: date) -> None:
        preview = preview_rules(rules=other(ready_at=0.999), today=today)

        assert [one.athlete.code for one in preview.changed] == ["ada"]
        assert all(before == after for before, after in states(preview).values())
        assert preview.gates == ()

    def test_what_is_previewed_is_what_holds_once_it_is_saved(
        self, lead: StaffMember, today: date
    ) -> None:
        values = {"gate_clean_in_a_row": 9, "fresh_days": 10, "ready_at": 0.8}
        preview = preview_rules(rules=other(**values), today=today)

        change_rules(values=values, why="So.", lead=lead, expected=1, now=makers.moment())

        known = know_athletes(athletes=list(Athlete.objects.order_by("name")), today=today)
        for decision, (_, after) in decisions(preview).items():
            assert sum(one.decision is decision for one in known.readiness) == after
        assert int(known.picture.secure.sum()) == states(preview)[SkillState.SECURE][1]

    def test_nothing_is_stored(self, today: date) -> None:
        preview_rules(rules=other(ready_at=0.9), today=today)

        assert not RuleBook.objects.exists()

    def test_a_rule_for_a_second_coach_knows_coaches_who_recorded_nobody_here(
        self, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        """The log of these children names two; a third recorded a child who has left."""
        left = makers.make_athlete("left", left=today - timedelta(days=30))
        third = makers.make_staff("third")
        makers.make_attempt(
            left, small_catalogue["LAND-1"], at=today - timedelta(days=40), coach=third
        )

        preview = preview_rules(rules=other(gate_coaches=3), today=today)

        assert gates(preview) == {"LAND-1": (0, 1)}
        assert preview.athletes == 3

    def test_days_of_absence_say_how_many_are_eased_back(
        self, monday_class: GymClass, ada: Athlete, today: date
    ) -> None:
        makers.make_meeting(monday_class, today - timedelta(days=14), present=(ada,))

        preview = preview_rules(rules=other(absence_days=7), today=today)

        assert (preview.easing.before, preview.easing.after) == (0, 1)

    def test_days_until_not_seen_say_how_many_are_not_seen(self, today: date) -> None:
        preview = preview_rules(rules=other(unseen_days=3), today=today)

        assert (preview.unseen.before, preview.unseen.after) == (1, 3)

    def test_heights_say_how_many_may_be_sent_up(self, today: date) -> None:
        rules = other(height_rules=(HeightRule(0.6, ("LAND-1",)),))

        found = {
            one.what: (one.before, one.after)
            for one in preview_rules(rules=rules, today=today).heights
        }

        # LAND-2 is asked for by default, and nobody holds it; Ada alone holds LAND-1.
        assert found == {0.6: (0, 1), 1.0: (0, 1)}

    def test_a_child_in_the_highest_tier_is_counted_in_no_decision(self, today: date) -> None:
        makers.make_athlete("top", tier=2)

        preview = preview_rules(rules=other(ready_at=0.9), today=today)

        assert preview.athletes == 4
        assert sum(before for before, _ in decisions(preview).values()) == 3

    def test_more_children_cost_no_more_queries(
        self, today: date, django_assert_num_queries: DjangoAssertNumQueries
    ) -> None:
        preview_rules(rules=other(ready_at=0.9), today=today)  # makes the calibration
        with django_assert_num_queries(9):
            preview_rules(rules=other(gate_coaches=3, ready_at=0.9), today=today)
        for number in range(5):
            makers.make_athlete(f"more-{number}")
        with django_assert_num_queries(9):
            preview_rules(rules=other(gate_coaches=3, ready_at=0.9), today=today)


def test_an_empty_gym_has_nobody_who_would_change(
    small_catalogue: dict[str, Skill], today: date
) -> None:
    preview = preview_rules(rules=other(ready_at=0.9), today=today)

    assert (preview.athletes, preview.changed) == (0, ())


def test_a_gym_without_a_catalogue_has_nothing_to_change(cy: Athlete, today: date) -> None:
    preview = preview_rules(rules=other(ready_at=0.9), today=today)

    assert (preview.athletes, preview.changed, preview.gates) == (1, (), ())


@pytest.mark.usefixtures("monday_class")
class TestSkills:
    def test_a_higher_standard_takes_ready_from_ada(self, today: date) -> None:
        preview = preview_skills(changes={"HANG-1": {STANDARD: 0.99}}, today=today)

        assert [one.athlete.code for one in preview.changed] == ["ada"]
        before, after = states(preview)[SkillState.SECURE]
        assert after == before - 1

    def test_a_skill_no_longer_asked_for_holds_bo_back_no_more(self, today: date) -> None:
        preview = preview_skills(changes={"HANG-1": {REQUIRED: False}}, today=today)

        (change,) = preview.changed
        assert change.athlete.code == "bo"
        assert change.before.decision is Decision.BUILDING
        assert "HANG-1" not in change.after.holding_back

    def test_what_is_previewed_is_what_holds_once_it_is_saved(
        self, lead: StaffMember, today: date
    ) -> None:
        changes = {"HANG-1": {STANDARD: 0.95}, "LAND-1": {STANDARD: 0.6}}
        preview = preview_skills(changes=changes, today=today)

        change_skills(changes=changes, why="So.", lead=lead, now=makers.moment())

        known = know_athletes(athletes=list(Athlete.objects.order_by("name")), today=today)
        for decision, (_, after) in decisions(preview).items():
            assert sum(one.decision is decision for one in known.readiness) == after
        assert int(known.picture.secure.sum()) == states(preview)[SkillState.SECURE][1]

    def test_a_lower_standard_of_a_gate_says_who_would_newly_hold_it(
        self, lead: StaffMember, today: date
    ) -> None:
        hard = {"LAND-1": {STANDARD: 0.99}}
        change_skills(changes=hard, why="So.", lead=lead, now=makers.moment())

        preview = preview_skills(changes={"LAND-1": {STANDARD: 0.8}}, today=today)

        assert gates(preview)["LAND-1"] == (1, 0)
        assert preview.newly_holding == 1
