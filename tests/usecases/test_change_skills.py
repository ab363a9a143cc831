"""The lead changes what skills ask for, and every change is kept with who and why."""

from typing import Any

import pytest

from progress.models import Role, Skill, SkillChange, SkillRule, StaffMember
from progress.usecases.change_skills import (
    SkillsConflict,
    SkillsRefused,
    change_skills,
    in_words,
    refuse_skills,
)
from tests import makers

NOW = makers.moment()
TIER, STANDARD, REQUIRED = SkillRule.TIER, SkillRule.STANDARD, SkillRule.REQUIRED

pytestmark = pytest.mark.usefixtures("small_catalogue")


def change(lead: StaffMember, changes: Any, **more: Any) -> tuple[SkillChange, ...]:
    return change_skills(
        changes=changes, lead=lead, now=NOW, **{"why": "Seen on the floor for a year."} | more
    )


def refusal(lead: StaffMember, changes: Any, **more: Any) -> dict[str, str]:
    """What is refused; and nothing at all may be stored by it."""
    before = list(Skill.objects.values())
    with pytest.raises(SkillsRefused) as refused:
        change(lead, changes, **more)
    assert list(Skill.objects.values()) == before
    assert not SkillChange.objects.exists()
    return refused.value.problems


def test_all_three_may_be_changed_and_each_leaves_a_row(lead: StaffMember) -> None:
    stored = change(lead, {"HANG-2": {TIER: 1, STANDARD: 0.7, REQUIRED: False}})

    skill = Skill.objects.get(code="HANG-2")
    assert (skill.tier_id, skill.standard, skill.required) == (1, 0.7, False)
    assert [(one.what, one.before, one.after) for one in stored] == [
        ("tier", "2", "1"),
        ("standard", "0.8", "0.7"),
        ("required", "yes", "no"),
    ]
    assert SkillChange.objects.count() == 3
    for row in SkillChange.objects.all():
        assert (row.skill, row.changed_by, row.changed_at) == (skill, lead, NOW)
        assert row.why == "Seen on the floor for a year."


def test_several_skills_change_together_and_the_others_stay(lead: StaffMember) -> None:
    before = Skill.objects.get(code="LAND-2")

    change(lead, {"HANG-1": {STANDARD: 0.9}, "LAND-1": {STANDARD: 0.85}})

    standards = dict(Skill.objects.values_list("code", "standard"))
    assert (standards["HANG-1"], standards["LAND-1"]) == (0.9, 0.85)
    after = Skill.objects.get(code="LAND-2")
    assert (after.standard, after.tier_id, after.required) == (before.standard, 2, True)


def test_what_is_in_force_already_leaves_no_row(lead: StaffMember) -> None:
    stored = change(lead, {"HANG-1": {STANDARD: 0.8, REQUIRED: True}, "LAND-1": {STANDARD: 0.9}})

    assert [(one.skill.code, one.what) for one in stored] == [("LAND-1", "standard")]


WRONG: list[tuple[str, dict[Any, Any], str]] = [
    ("NO-SUCH", {STANDARD: 0.7}, "no skill NO-SUCH"),
    ("HANG-1", {TIER: 9}, "no tier 9"),
    ("HANG-1", {TIER: True}, "Write a number"),
    ("HANG-1", {STANDARD: 0.04}, "from 5% to 99%"),
    ("HANG-1", {STANDARD: 0.995}, "from 5% to 99%"),
    ("HANG-1", {STANDARD: float("nan")}, "Write a number"),
    ("HANG-1", {STANDARD: "0.7"}, "Write a number"),
    ("HANG-1", {REQUIRED: 1}, "Say yes or no"),
    ("HANG-1", {"gate": False}, "Nothing called gate"),
    ("LAND-1", {REQUIRED: False}, "never waived"),
]


@pytest.mark.parametrize(("code", "values", "says"), WRONG)
def test_what_cannot_be_is_refused_at_its_skill(
    lead: StaffMember, code: str, values: dict[Any, Any], says: str
) -> None:
    problems = refusal(lead, {code: values})

    assert list(problems) == [code]
    assert says in problems[code]


@pytest.mark.parametrize("standard", [0.05, 0.99])
def test_the_ends_of_what_a_standard_may_be_are_taken(lead: StaffMember, standard: float) -> None:
    change(lead, {"HANG-1": {STANDARD: standard}})

    assert Skill.objects.get(code="HANG-1").standard == standard


def test_one_wrong_value_stops_the_right_ones_too(lead: StaffMember) -> None:
    assert set(refusal(lead, {"HANG-1": {STANDARD: 0.9}, "HANG-2": {TIER: 9}})) == {"HANG-2"}


def test_every_problem_is_told_at_once(lead: StaffMember) -> None:
    wrong = {"HANG-1": {STANDARD: 2}, "LAND-1": {REQUIRED: False}}

    assert set(refusal(lead, wrong, why=" ")) == {"HANG-1", "LAND-1", "why"}


def test_a_change_of_nothing_is_refused(lead: StaffMember) -> None:
    assert "Nothing is different" in refusal(lead, {"HANG-1": {STANDARD: 0.8}})[""]
    assert "Nothing is different" in refusal(lead, {})[""]


def test_a_change_says_why_in_at_most_300_characters(lead: StaffMember) -> None:
    assert "Say in a sentence" in refusal(lead, {"HANG-1": {STANDARD: 0.9}}, why=" ")["why"]
    assert "this has 301" in refusal(lead, {"HANG-1": {STANDARD: 0.9}}, why="x" * 301)["why"]
    change(lead, {"HANG-1": {STANDARD: 0.9}}, why="x" * 300)


@pytest.mark.parametrize("role", [Role.COACH, Role.DESK])
def test_nobody_but_the_lead_changes_skills(role: Role) -> None:
    nobody = makers.make_staff(role=role)

    assert "Only the lead" in refusal(nobody, {"HANG-1": {STANDARD: 0.9}})[""]


def test_a_lead_who_has_left_changes_nothing(lead: StaffMember) -> None:
    lead.active = False

    assert "Only the lead" in refusal(lead, {"HANG-1": {STANDARD: 0.9}})[""]


class TestTiersThatWouldAskForNothing:
    """Nobody could be told ready or not for leaving one."""

    def test_the_last_skill_a_tier_asks_for_may_not_leave_it(self, lead: StaffMember) -> None:
        change(lead, {"HANG-2": {REQUIRED: False}})

        SkillChange.objects.all().delete()
        problems = refusal(lead, {"LAND-2": {TIER: 1}})
        assert "Tier 2 would ask for no skill" in problems["LAND-2"]

    def test_nor_may_all_of_them_leave_together(self, lead: StaffMember) -> None:
        assert set(refusal(lead, {"LAND-1": {TIER: 2}, "HANG-1": {TIER: 2}})) == {
            "LAND-1",
            "HANG-1",
        }

    def test_skills_that_change_places_are_no_trouble(self, lead: StaffMember) -> None:
        change(lead, {code: {TIER: 2} for code in ("LAND-1", "HANG-1")} | {"HANG-2": {TIER: 1}})

        assert Skill.objects.get(code="HANG-2").tier_id == 1


class TestTwoLeadsAtOnce:
    """Nobody overwrites what they have not seen."""

    def test_the_one_who_saw_something_else_is_told_what_it_is_now(self, lead: StaffMember) -> None:
        change(makers.make_staff(role=Role.LEAD), {"HANG-1": {STANDARD: 0.9}})

        with pytest.raises(SkillsConflict) as conflict:
            change(
                lead,
                {"HANG-1": {STANDARD: 0.7}, "HANG-2": {STANDARD: 0.7}},
                expected={"HANG-1": {STANDARD: 0.8}, "HANG-2": {STANDARD: 0.8}},
            )

        assert conflict.value.problems == {"HANG-1": "Standard is 90% by now."}
        assert Skill.objects.get(code="HANG-2").standard == 0.8

    def test_a_change_elsewhere_is_no_conflict(self, lead: StaffMember) -> None:
        change(makers.make_staff(role=Role.LEAD), {"HANG-1": {REQUIRED: False}})

        change(lead, {"HANG-1": {STANDARD: 0.7}}, expected={"HANG-1": {STANDARD: 0.8}})

        skill = Skill.objects.get(code="HANG-1")
        assert (skill.standard, skill.required) == (0.7, False)

    def test_a_skill_that_is_gone_is_told(self, lead: StaffMember) -> None:
        with pytest.raises(SkillsConflict, match="nothing of yours is stored"):
            change(lead, {"GONE": {TIER: 1}}, expected={"GONE": {TIER: 2}})


class TestAskingWhetherItCouldBe:
    """The same answers without storing anything."""

    def test_what_could_be_stored_is_not_refused_and_not_stored(self) -> None:
        refuse_skills(changes={"HANG-1": {STANDARD: 0.7}})

        assert Skill.objects.get(code="HANG-1").standard == 0.8

    def test_what_could_not_be_is_refused(self) -> None:
        with pytest.raises(SkillsRefused, match="never waived"):
            refuse_skills(changes={"LAND-1": {REQUIRED: False}})
        with pytest.raises(SkillsConflict):
            refuse_skills(changes={"HANG-1": {STANDARD: 0.7}}, expected={"HANG-1": {STANDARD: 0.5}})


@pytest.mark.parametrize(
    ("what", "written", "words"),
    [(STANDARD, 0.825, "82.5%"), (STANDARD, "0.8", "80%"), (TIER, 2, "2"), (REQUIRED, True, "yes")],
)
def test_a_value_is_said_as_a_person_reads_it(what: SkillRule, written: Any, words: str) -> None:
    assert in_words(what, written) == words
