"""What would change is shown first, and only what was shown is saved."""

from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.terms import Decision
from progress.models import Athlete, Skill, SkillChange, SkillRule, StaffMember
from progress.usecases.change_skills import SkillsRefused, change_skills
from progress.usecases.know_athletes import know_athletes
from progress.usecases.retier import (
    MOST_MOVES,
    CatalogueMoved,
    from_writing,
    put_back,
    save_changes,
    skill_history,
    what_would_change,
)
from tests import makers

DAY = timedelta(days=1)
TIER, STANDARD, REQUIRED = SkillRule.TIER, SkillRule.STANDARD, SkillRule.REQUIRED
HANG_UP = {"HANG-1": {TIER: 2}}
NOW = makers.moment()


def decisions(athletes: list[Athlete], on: date) -> dict[str, Decision]:
    known = know_athletes(athletes=athletes, today=on)
    return {one.athlete: one.decision for one in known.readiness}


class TestPreview:
    def test_those_named_are_those_whose_suggestion_is_another_once_it_is_saved(
        self, ada: Athlete, bo: Athlete, cy: Athlete, lead: StaffMember, today: date
    ) -> None:
        everybody, yesterday = [ada, bo, cy], today - DAY
        preview = what_would_change(changes=HANG_UP, today=today)
        before = decisions(everybody, yesterday)

        save_changes(changes=HANG_UP, seen=preview.digest, why="Harder.", lead=lead, now=NOW)

        after = decisions(everybody, yesterday)
        told = {one.athlete.code: (one.change.before, one.change.after) for one in preview.changes}
        differing = {code: (before[code], after[code]) for code in before}
        assert told == {code: pair for code, pair in differing.items() if pair[0] != pair[1]}
        assert "bo" in told  # held back by hanging alone

    @pytest.mark.usefixtures("ada", "bo")
    def test_counts_say_from_what_to_what(self, today: date) -> None:
        preview = what_would_change(changes=HANG_UP, today=today)
        assert sum(count for _, _, count in preview.moved) == len(preview.changes) > 0
        assert (preview.athletes, preview.attempts) == (2, 32)
        assert preview.until == today - DAY

    @pytest.mark.usefixtures("ada", "bo")
    def test_nothing_is_stored_by_looking(self, today: date) -> None:
        what_would_change(changes=HANG_UP, today=today)
        assert Skill.objects.get(code="HANG-1").tier_id == 1
        assert not SkillChange.objects.exists()

    @pytest.mark.usefixtures("small_catalogue")
    def test_a_gym_without_children_is_told_of_the_rest(self, today: date) -> None:
        preview = what_would_change(changes=HANG_UP, today=today)
        assert (preview.athletes, preview.changes) == (0, ())

    def test_a_child_who_left_is_not_counted(self, ada: Athlete, bo: Athlete, today: date) -> None:
        Athlete.objects.filter(pk=bo.pk).update(left=today - 2 * DAY)
        assert what_would_change(changes=HANG_UP, today=today).athletes == 1

    def test_no_suggestion_is_shown_in_the_highest_tier(self, bo: Athlete, today: date) -> None:
        Athlete.objects.filter(pk=bo.pk).update(tier=2)
        preview = what_would_change(changes={"HANG-2": {TIER: 1}}, today=today)
        assert preview.changes == ()

    @pytest.mark.usefixtures("ada", "bo")
    def test_standards_and_what_is_required_can_be_looked_at_too(self, today: date) -> None:
        waived = what_would_change(changes={"HANG-1": {REQUIRED: False}}, today=today)
        assert [one.athlete.code for one in waived.changes] == ["bo"]
        harder = what_would_change(changes={"HANG-1": {STANDARD: 0.99}}, today=today)
        assert [(one.before, one.after) for one in harder.wanted] == [(0.8, 0.99)]

    @pytest.mark.usefixtures("ada", "bo")
    def test_looking_again_does_not_replay_the_log(self, today: date) -> None:
        with CaptureQueriesContext(connection) as first:
            shown = what_would_change(changes=HANG_UP, today=today)
        with CaptureQueriesContext(connection) as second:
            again = what_would_change(changes=HANG_UP, today=today)
        assert again.changes == shown.changes
        assert len(second) <= 12 < len(first)
        assert not any('"progress_attempt"."result"' in one["sql"] for one in second)

    def test_more_children_take_no_more_queries(
        self, ada: Athlete, bo: Athlete, today: date
    ) -> None:
        what_would_change(changes=HANG_UP, today=today)  # stores the calibration
        with CaptureQueriesContext(connection) as few:
            what_would_change(changes=HANG_UP, today=today + DAY)
        for _ in range(20):
            makers.make_athlete()
        with CaptureQueriesContext(connection) as many:
            what_would_change(changes=HANG_UP, today=today + 2 * DAY)
        assert len(many) == len(few)


class TestRefused:
    @pytest.mark.usefixtures("small_catalogue")
    @pytest.mark.parametrize(
        ("changes", "named"),
        [
            ({"NONE": {TIER: 2}}, "NONE"),
            ({"HANG-1": {TIER: 7}}, "HANG-1"),
            ({"HANG-1": {TIER: 1}}, ""),
            ({}, ""),
            ({f"CODE-{n}": {TIER: 2} for n in range(MOST_MOVES + 1)}, ""),
        ],
    )
    def test_what_cannot_be_looked_at_says_why(
        self, changes: dict[str, dict[SkillRule, int]], named: str, today: date
    ) -> None:
        with pytest.raises(SkillsRefused) as refused:
            what_would_change(changes=changes, today=today)
        assert refused.value.problems[named]


class TestBroken:
    @pytest.mark.usefixtures("small_catalogue")
    def test_a_need_that_would_sit_above_is_named(self, today: date) -> None:
        makers.make_tier(3)
        broken = what_would_change(changes={"HANG-2": {TIER: 3}}, today=today).broken
        assert [(a.code, b.code) for a, b in broken.needs] == [("HANG-3", "HANG-2")]

    @pytest.mark.usefixtures("small_catalogue")
    def test_a_need_in_the_same_tier_is_none(self, today: date) -> None:
        assert what_would_change(changes=HANG_UP, today=today).broken.needs == ()

    @pytest.mark.usefixtures("small_catalogue")
    def test_a_safety_skill_is_named(self, today: date) -> None:
        broken = what_would_change(changes={"LAND-2": {TIER: 1}}, today=today).broken
        assert [one.skill.code for one in broken.gates] == ["LAND-2"]

    @pytest.mark.usefixtures("small_catalogue")
    def test_a_tier_that_would_ask_for_nothing_is_named_and_cannot_be_saved(
        self, lead: StaffMember, today: date
    ) -> None:
        changes = {"LAND-1": {TIER: 2}, "HANG-1": {TIER: 2}}
        preview = what_would_change(changes=changes, today=today)
        assert preview.broken.asking_nothing == (1,)
        with pytest.raises(SkillsRefused):
            save_changes(changes=changes, seen=preview.digest, why="Why.", lead=lead, now=NOW)

    def test_children_in_the_highest_tier_no_longer_are(self, ada: Athlete, today: date) -> None:
        makers.make_tier(3)
        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        broken = what_would_change(changes={"HANG-3": {TIER: 3}}, today=today).broken
        assert broken.tops == ((2, 1, False),)

    def test_a_skill_that_no_longer_counts_as_held_is_counted(
        self, ada: Athlete, small_catalogue: dict[str, Skill], lead: StaffMember, today: date
    ) -> None:
        """Clean once and likely: held only because the tier lies behind the child."""
        makers.make_tier(3)
        Athlete.objects.filter(pk=ada.pk).update(tier=3)
        makers.make_attempt(ada, small_catalogue["HANG-2"], at=today - 8 * DAY)
        changes = {"HANG-2": {TIER: 3}}

        def held() -> bool:
            ada.refresh_from_db()
            known = know_athletes(athletes=[ada], today=today - DAY)
            return known.estimates(0)["HANG-2"].held

        assert held()
        preview = what_would_change(changes=changes, today=today)
        assert [(s.code, n) for s, n in preview.broken.held_less] == [("HANG-2", 1)]
        save_changes(changes=changes, seen=preview.digest, why="Why.", lead=lead, now=NOW)
        assert not held()


class TestSaving:
    @pytest.mark.usefixtures("small_catalogue")
    def test_what_was_looked_at_is_stored_with_who_and_why(
        self, lead: StaffMember, today: date
    ) -> None:
        seen = what_would_change(changes=HANG_UP, today=today).digest
        save_changes(changes=HANG_UP, seen=seen, why="Too hard.", lead=lead, now=NOW)
        (change,) = skill_history()
        assert (change.skill.tier_id, change.before, change.after) == (2, "1", "2")
        assert (change.why, change.changed_by) == ("Too hard.", lead)

    @pytest.mark.usefixtures("small_catalogue")
    def test_a_skill_moved_meanwhile_by_somebody_else_stops_everything(
        self, lead: StaffMember, today: date
    ) -> None:
        seen = what_would_change(changes=HANG_UP, today=today).digest
        change_skills(changes={"HANG-3": {TIER: 1}}, why="Mine first.", lead=lead, now=NOW)
        with pytest.raises(CatalogueMoved, match="nothing of yours is stored"):
            save_changes(changes=HANG_UP, seen=seen, why="Too hard.", lead=lead, now=NOW)
        assert Skill.objects.get(code="HANG-1").tier_id == 1
        assert SkillChange.objects.count() == 1

    @pytest.mark.usefixtures("small_catalogue")
    def test_one_that_cannot_be_stops_the_others(self, lead: StaffMember, today: date) -> None:
        seen = what_would_change(changes=HANG_UP, today=today).digest
        both = {**HANG_UP, "HANG-3": {TIER: 9}}
        with pytest.raises(SkillsRefused):
            save_changes(changes=both, seen=seen, why="Too hard.", lead=lead, now=NOW)
        assert Skill.objects.get(code="HANG-1").tier_id == 1


class TestHistory:
    @pytest.mark.usefixtures("small_catalogue")
    @pytest.mark.parametrize(
        ("what", "before", "after"),
        [(TIER, 1, 2), (STANDARD, 0.8, 0.85), (REQUIRED, True, False)],
    )
    def test_each_kind_of_change_is_put_back_by_a_new_one(
        self,
        what: SkillRule,
        before: float,
        after: float,
        lead: StaffMember,
        stopped_clock: datetime,
        today: date,
    ) -> None:
        change_skills(changes={"HANG-1": {what: after}}, why="Try it.", lead=lead, now=NOW)
        back = put_back(skill_history()[0])
        assert back == {"HANG-1": {what: before}}
        seen = what_would_change(changes=back, today=today).digest
        save_changes(changes=back, seen=seen, why="It did not help.", lead=lead, now=NOW + DAY)
        newest, first = skill_history()
        assert (newest.before, newest.after) == (first.after, first.before)
        assert put_back(first) == {}

    def test_values_are_read_back_as_they_were_written(self) -> None:
        told = [from_writing(TIER, "3"), from_writing(STANDARD, "0.85")]
        assert told == [3, 0.85]
        assert [from_writing(REQUIRED, text) for text in ("yes", "no")] == [True, False]
