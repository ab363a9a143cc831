"""Rules change by whole versions, with who and why, and never behind another lead's back."""

from typing import Any

import pytest

from progress.engine.rules import Rules
from progress.models import Role, RuleBook, StaffMember
from progress.usecases.change_rules import (
    RulesConflict,
    RulesRefused,
    change_rules,
    go_back_to,
    rule_versions,
)
from tests import makers

pytestmark = pytest.mark.django_db
NOW = makers.moment()


def change(
    lead: StaffMember, expected: int = 1, why: str = "The hall is small.", **values: Any
) -> RuleBook:
    return change_rules(values=values, why=why, lead=lead, expected=expected, now=NOW)


def refusal(lead: StaffMember, **values: Any) -> dict[str, str]:
    with pytest.raises(RulesRefused) as refused:
        change(lead, **values)
    assert not RuleBook.objects.exists()
    return refused.value.problems


def test_a_change_is_the_next_version_with_who_when_and_why(lead: StaffMember) -> None:
    book = change(lead, why="  The hall\n is small. ", children_per_lane=6)

    rules = RuleBook.in_force()
    assert (rules.version, rules.children_per_lane) == (2, 6)
    assert (book.changed_by, book.changed_at, book.why) == (lead, NOW, "The hall is small.")
    assert {**rules.as_json(), "version": 1, "children_per_lane": 8} == Rules().as_json()


def test_every_rule_can_be_changed_not_only_those_of_the_floor(lead: StaffMember) -> None:
    bands = [{"up_to_age": 5, "children_per_adult": 4}]
    heights = [{"above_m": 0.5, "needs": ["LAND-2"]}]

    change(lead, ratios=bands, height_rules=heights, ready_at=0.7, gate_days=3, walk_seconds=0)

    rules = RuleBook.in_force()
    assert [(one.up_to_age, one.children_per_adult) for one in rules.ratios] == [(5, 4)]
    assert rules.height_rules[0].needs == ("LAND-2",)
    assert (rules.ready_at, rules.gate_days, rules.walk_seconds) == (0.7, 3, 0)


BAD: list[tuple[str, Any, str]] = [
    ("children_per_lane", 0, "whole number from 1"),
    ("children_per_lane", 2.5, "whole number"),
    ("children_per_lane", 10**9, "to 1000"),
    ("children_per_lane", "8", "Write a number"),
    ("children_per_lane", True, "Write a number"),
    ("longest_wait", float("nan"), "Write a number"),
    ("longest_wait", float("inf"), "Write a number"),
    ("longest_wait", 0, "from 1 to 1000"),
    ("walk_seconds", -1, "from 0 to 1000"),
    ("least_active_share", 1.0, "below 100%"),
    ("challenge_shift", 0.5, "below 50%"),
    ("challenge_shift", -0.1, "from 0%"),
    ("target_low", 0.9, "must rise"),
    ("target_centre", 0.95, "must rise"),
    ("ratios", [], "at least one band"),
    ("ratios", "3", "list of rows"),
    ("ratios", [{"up_to_age": 3}], "both fields"),
    ("ratios", [{"up_to_age": 3, "children_per_adult": 0}], "at least 1 child"),
    ("ratios", [{"up_to_age": -1, "children_per_adult": 3}], "from 0 to 99"),
    ("ratios", [{"up_to_age": 3, "children_per_adult": 3}] * 2, "same age"),
    (
        "ratios",
        [{"up_to_age": age, "children_per_adult": 3} for age in (5, 3)],
        "youngest up",
    ),
    ("height_rules", [{"above_m": 1.0, "needs": []}], "at least one skill"),
    ("height_rules", [{"above_m": -1, "needs": ["LAND-2"]}], "in metres"),
    ("no_such_rule", 1, "no such rule"),
    ("version", 7, "no such rule"),
]


@pytest.mark.parametrize(("name", "value", "says"), BAD)
def test_what_cannot_be_is_refused_at_its_field_with_how_to_mend_it(
    lead: StaffMember, name: str, value: object, says: str
) -> None:
    problems = refusal(lead, **{name: value})

    assert list(problems) == [name]
    assert says in problems[name]


def test_every_wrong_field_is_told_at_once(lead: StaffMember) -> None:
    problems = refusal(lead, why=" ", children_per_lane=0, least_adults=0)

    assert set(problems) == {"why", "children_per_lane", "least_adults"}


def test_a_reason_as_long_as_a_page_is_refused(lead: StaffMember) -> None:
    assert "this has 301" in refusal(lead, why="x" * 301, least_adults=3)["why"]


def test_saving_what_is_in_force_already_makes_no_version(lead: StaffMember) -> None:
    assert "Nothing is different" in refusal(lead, children_per_lane=8)[""]


@pytest.mark.parametrize("role", [Role.COACH, Role.DESK])
def test_nobody_but_the_lead_changes_rules(db: None, role: Role) -> None:
    assert "Only the lead" in refusal(makers.make_staff(role=role), least_adults=3)[""]


def test_a_lead_who_has_left_changes_nothing(lead: StaffMember) -> None:
    lead.active = False

    assert "Only the lead" in refusal(lead, least_adults=3)[""]


class TestTwoLeadsAtOnce:
    """The second is told, and nothing of either is lost."""

    def test_the_one_who_looked_at_an_older_version_is_told(self, lead: StaffMember) -> None:
        other = makers.make_staff(role=Role.LEAD)
        change(other, children_per_lane=6)

        with pytest.raises(RulesConflict) as conflict:
            change(lead, expected=1, least_adults=3)

        assert conflict.value.version == 2
        assert RuleBook.in_force().least_adults == 2
        change(lead, expected=2, least_adults=3)
        rules = RuleBook.in_force()
        assert (rules.version, rules.children_per_lane, rules.least_adults) == (3, 6, 3)

    def test_in_the_very_same_moment_the_database_lets_one_through(
        self, lead: StaffMember, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Both read version 1 before either stored."""
        change(makers.make_staff(role=Role.LEAD), children_per_lane=6)
        with monkeypatch.context() as still:
            still.setattr(RuleBook, "in_force", classmethod(lambda cls: Rules()))
            with pytest.raises(RulesConflict):
                change(lead, expected=1, least_adults=3)

        assert RuleBook.objects.count() == 1
        assert RuleBook.in_force().children_per_lane == 6


class TestGoingBack:
    """An earlier version becomes the newest; the ones between stay."""

    def test_the_defaults_come_back_as_a_new_version(self, lead: StaffMember) -> None:
        change(lead, children_per_lane=6, ready_at=0.7)

        go_back_to(version=1, why="It was better before.", lead=lead, expected=2, now=NOW)

        rules = RuleBook.in_force()
        assert {**rules.as_json(), "version": 1} == Rules().as_json()
        assert [one.version for one in rule_versions()] == [3, 2, 1]
        assert rule_versions()[1].rules.children_per_lane == 6

    def test_a_version_that_never_was_is_refused(self, lead: StaffMember) -> None:
        with pytest.raises(RulesRefused, match="no version 9"):
            go_back_to(version=9, why="So.", lead=lead, expected=1, now=NOW)

    def test_it_asks_for_a_reason_and_for_the_version_in_force(self, lead: StaffMember) -> None:
        change(lead, children_per_lane=6)

        with pytest.raises(RulesRefused, match="Say in a sentence"):
            go_back_to(version=1, why="", lead=lead, expected=2, now=NOW)
        with pytest.raises(RulesConflict):
            go_back_to(version=1, why="So.", lead=lead, expected=1, now=NOW)


def test_a_new_gym_has_the_defaults_as_its_first_version(db: None) -> None:
    (only,) = rule_versions()

    assert (only.version, only.rules, only.book) == (1, Rules(), None)
