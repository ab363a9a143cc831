"""Feet above 0.6 m and above 1.0 m: what must be held first.

The skills asked for are the project's own proposal (common practice, no source); 1.0 m is where
Sherker 2005 found about three times the odds of an arm fracture.
"""

import pytest

from progress.engine.rules import HeightRule, Rules
from progress.engine.stops import barred
from progress.engine.terms import Athlete, Catalogue, Skill, Variant
from tests.engine.small_gyms import picture_of, secure_at, surer

LOW = ("LAND-2", "DOWN-1")
HIGH = (*LOW, "LAND-3", "FALL-2")
NET = Skill("NET-2", "net", 1, name="Climb the net")
SAFETY = tuple(
    Skill(code, code[:4], 1, name=code.lower(), gate=True)
    for code in ("LAND-1", "LAND-2", "LAND-3", "FALL-2", "DOWN-1")
)


def told_off(
    height: float | None,
    held: tuple[str, ...],
    catalogue: Catalogue = Catalogue((*SAFETY, NET)),  # noqa: B008
    rules: Rules | None = None,
    variant_skill: str = "NET-2",
) -> str:
    """Why Ada, who holds these skills, may not go where her feet are at this height."""
    rows = secure_at("ada", *held)
    told = picture_of(
        catalogue, [Athlete("ada", 1)], rows, parameters=surer(catalogue), rules=rules
    )
    for code in held:
        assert told.held[0, catalogue.position[code]], code
    return barred(told, 0, Variant("high", variant_skill, height_m=height))


class TestTheDefaultRules:
    @pytest.mark.parametrize("height", [None, 0.0, 0.3, 0.6])
    def test_up_to_60_cm_nothing_is_asked(self, height: float | None) -> None:
        assert told_off(height, ()) == ""

    @pytest.mark.parametrize("height", [0.61, 0.8, 1.0])
    def test_above_60_cm_a_drop_landing_and_a_climb_down_are_asked(self, height: float) -> None:
        assert told_off(height, LOW) == ""
        assert told_off(height, ()) == "feet above 0.6 m need land-2, down-1"
        assert told_off(height, ("LAND-2",)) == "feet above 0.6 m need down-1"
        assert told_off(height, ("DOWN-1",)) == "feet above 0.6 m need land-2"

    @pytest.mark.parametrize("height", [1.01, 1.5])
    def test_above_a_metre_a_higher_landing_and_a_fall_are_asked_too(self, height: float) -> None:
        assert told_off(height, HIGH) == ""
        assert told_off(height, LOW) == "feet above 1 m need land-3, fall-2"
        assert told_off(height, HIGH[:3]) == "feet above 1 m need fall-2"

    def test_a_metre_exactly_asks_for_the_lower_rule(self) -> None:
        assert told_off(1.0, LOW) == ""

    def test_the_lower_rule_holds_above_a_metre_too(self) -> None:
        assert told_off(1.2, ("LAND-3", "FALL-2")) == "feet above 0.6 m need land-2, down-1"


class TestRulesThatTheCatalogueDoesNotKnow:
    def catalogue(self, *codes: str) -> Catalogue:
        return Catalogue((*(skill for skill in SAFETY if skill.code in codes), NET))

    def test_the_gates_up_to_the_tier_of_the_skill_are_asked_instead(self) -> None:
        catalogue = self.catalogue("LAND-1")
        assert told_off(0.8, (), catalogue) == "feet above 0.6 m need land-1"
        assert told_off(0.8, ("LAND-1",), catalogue) == ""

    def test_what_is_known_of_the_rule_is_asked_all_the_same(self) -> None:
        """A gate of a higher tier that the rule names is not dropped with the one unknown."""
        higher = Skill("LAND-2", "land", 2, name="land-2", gate=True)
        catalogue = Catalogue((SAFETY[0], higher, NET))
        assert told_off(0.8, ("LAND-1",), catalogue) == "feet above 0.6 m need land-2"
        assert told_off(0.8, ("LAND-1", "LAND-2"), catalogue) == ""

    def test_gates_of_higher_tiers_are_not_asked(self) -> None:
        higher = Skill("FLY-9", "flight", 2, name="fly", gate=True)
        assert told_off(0.8, ("LAND-1",), Catalogue((SAFETY[0], higher, NET))) == ""

    def test_without_any_safety_skill_height_is_barred(self) -> None:
        said = told_off(0.8, (), Catalogue((NET,)))
        assert said == "feet above 0.6 m and no safety skills to check it by"
        assert told_off(0.6, (), Catalogue((NET,))) == ""


def test_a_lead_may_set_other_heights_and_skills() -> None:
    rules = Rules(height_rules=(HeightRule(0.3, ("LAND-1",)),))
    assert told_off(0.4, (), rules=rules) == "feet above 0.3 m need land-1"
    assert told_off(2.0, ("LAND-1",), rules=rules) == ""


def test_a_skill_of_the_tier_that_is_not_secure_does_not_count_for_height() -> None:
    """Tried clean once is not held."""
    catalogue = Catalogue((*SAFETY, NET))
    rows = secure_at("ada", "DOWN-1") + secure_at("ada", "LAND-2")[:2]
    told = picture_of(catalogue, [Athlete("ada", 1)], rows, parameters=surer(catalogue))
    assert barred(told, 0, Variant("high", "NET-2", height_m=0.8)) == "feet above 0.6 m need land-2"
