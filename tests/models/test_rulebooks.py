"""Rule books, changes of skills and calibrations."""

from datetime import date, timedelta

import pytest

from progress.engine.rules import HeightRule, Rules
from progress.models import Calibration, RuleBook, Skill, SkillChange, StaffMember
from tests.models.conftest import Refusal

DAY = timedelta(days=1)


class TestRuleBooks:
    def test_a_new_gym_has_the_defaults(self, db: None) -> None:
        assert RuleBook.in_force() == Rules()

    def test_the_highest_version_is_in_force(self, db: None) -> None:
        for version, ready_at in ((3, 0.8), (2, 0.7)):
            values = Rules(ready_at=ready_at).as_json()
            RuleBook.objects.create(version=version, values=values)
        assert RuleBook.in_force() == Rules(version=3, ready_at=0.8)

    def test_values_come_back_from_the_database_as_they_went_in(self, db: None) -> None:
        rules = Rules(version=2, height_rules=(HeightRule(0.5, ("LAND-1", "LAND-2")),))
        RuleBook.objects.create(version=2, values=rules.as_json())
        assert RuleBook.in_force() == rules

    def test_an_older_book_takes_defaults_for_rules_made_since(self, db: None) -> None:
        RuleBook.objects.create(version=2, values={"ready_at": 0.9, "a_rule_since_dropped": 1})
        assert RuleBook.in_force() == Rules(version=2, ready_at=0.9)

    def test_values_the_engine_could_not_use_are_refused(self) -> None:
        with pytest.raises(ValueError, match="building_at must be below ready_at"):
            RuleBook(version=2, values={"building_at": 0.9}).clean()

    def test_a_version_is_used_once(self, refused: Refusal) -> None:
        RuleBook.objects.create(version=1, values={})
        with refused(RuleBook, "version"):
            RuleBook.objects.bulk_create([RuleBook(version=1, values={})])


class TestCalibrations:
    def test_the_same_rows_are_calibrated_once(self, today: date, refused: Refusal) -> None:
        same = {"cutoff": today, "engine_version": "1", "fingerprint": "f" * 64, "attempts": 9}
        Calibration.objects.create(**same, values={})
        with refused(Calibration, "calibrated_once"):
            Calibration.objects.bulk_create([Calibration(**same, values={"b": [0.1]})])

    def test_the_newest_comes_first(self, db: None, today: date) -> None:
        for age, print_ in ((1, "b"), (9, "a"), (1, "c")):
            Calibration.objects.create(
                cutoff=today - age * DAY,
                engine_version="1",
                fingerprint=print_,
                attempts=5,
                values={},
            )
        assert [one.fingerprint for one in Calibration.objects.all()] == ["c", "b", "a"]


class TestSkillChanges:
    def change(self, skill: Skill, lead: StaffMember, **values: str) -> SkillChange:
        said = {"what": "standard", "before": "0.8", "after": "0.85", "why": "Too easy."} | values
        return SkillChange(skill=skill, changed_by=lead, **said)

    def test_one_keeps_what_was_before(
        self, small_catalogue: dict[str, Skill], lead: StaffMember
    ) -> None:
        self.change(small_catalogue["HANG-1"], lead).save()
        stored = SkillChange.objects.get()
        assert (stored.before, stored.after) == ("0.8", "0.85")
        assert str(stored).endswith("Standard 0.8 to 0.85")

    @pytest.mark.parametrize(
        ("values", "constraint"),
        [
            ({"what": "colour"}, "skill_change_is_known"),
            ({"after": "0.8"}, "skill_change_changes"),
            ({"why": ""}, "skill_change_says_why"),
        ],
    )
    def test_one_names_a_rule_a_difference_and_a_reason(
        self,
        small_catalogue: dict[str, Skill],
        lead: StaffMember,
        refused: Refusal,
        values: dict[str, str],
        constraint: str,
    ) -> None:
        with refused(SkillChange, constraint):
            SkillChange.objects.bulk_create(
                [self.change(small_catalogue["HANG-1"], lead, **values)]
            )
