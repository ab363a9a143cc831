"""The words of the trade: what a catalogue takes and what it refuses."""

import pytest

from progress.engine.terms import Catalogue, NeedsCycle, Result, Skill, refuse_cycle


def skill(code: str, *needs: str, tier: int = 1, required: bool = True) -> Skill:
    return Skill(code, "ladder", tier, needs=needs, required=required)


class TestResult:
    def test_more_success_is_a_higher_level(self) -> None:
        assert [Result.MISS.level, Result.ASSISTED.level, Result.CLEAN.level] == [0, 1, 2]


class TestNeeds:
    def test_a_circle_is_refused_and_named_from_start_to_start(self) -> None:
        with pytest.raises(NeedsCycle) as refused:
            Catalogue((skill("A", "C"), skill("B", "A"), skill("C", "B"), skill("D", "A")))
        circle = refused.value.circle
        assert circle[0] == circle[-1]
        assert set(circle) == {"A", "B", "C"}
        assert " > ".join(circle) in str(refused.value)

    def test_the_circle_is_named_in_the_direction_of_needing(self) -> None:
        with pytest.raises(NeedsCycle) as refused:
            refuse_cycle({"A": ["B"], "B": ["C"], "C": ["A"]})
        needs = {("A", "B"), ("B", "C"), ("C", "A")}
        assert set(zip(refused.value.circle, refused.value.circle[1:], strict=False)) == needs

    def test_a_skill_that_needs_itself_is_a_circle(self) -> None:
        with pytest.raises(NeedsCycle):
            Catalogue((skill("A", "A"),))

    def test_unknown_needs_are_refused_by_name(self) -> None:
        with pytest.raises(ValueError, match=r"B needs unknown skills: \['GONE'\]"):
            Catalogue((skill("A"), skill("B", "A", "GONE")))

    def test_two_ways_to_the_same_skill_are_no_circle(self) -> None:
        Catalogue((skill("D", "B", "C"), skill("B", "A"), skill("C", "A"), skill("A")))


class TestTiers:
    CATALOGUE = Catalogue(
        (
            skill("A"),
            skill("B", tier=3),
            skill("C", tier=3, required=False),
            Skill("D", "other", 7),
        )
    )

    def test_the_next_tier_is_the_next_in_use_and_none_at_the_top(self) -> None:
        assert [self.CATALOGUE.next_tier(tier) for tier in (1, 3, 7)] == [3, 7, None]

    def test_only_required_skills_stand_between_an_athlete_and_the_next_tier(self) -> None:
        assert self.CATALOGUE.of_tier(3) == (1,)

    def test_every_skill_knows_its_ladder_and_place(self) -> None:
        assert self.CATALOGUE.ladders == ("ladder", "other")
        assert self.CATALOGUE.ladder_of == (0, 0, 0, 1)
        assert self.CATALOGUE.skill("D").ladder == "other"
        with pytest.raises(KeyError):
            self.CATALOGUE.skill("E")
