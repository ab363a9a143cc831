"""Each answer about the next tier, with a case made by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest

from progress.engine.answers import Readiness
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture
from progress.engine.readiness import MOST_NAMED, readiness
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, Decision, Skill
from tests.engine.small_gyms import (
    LATELY,
    SECURE,
    Try,
    landing_and_hanging,
    picture_of,
    picture_of_gym,
    secure_at,
    surer,
    tries,
)
from tests.simulated_gyms import Habits, simulate

CATALOGUE = landing_and_hanging()
TIER_1 = ("LAND-1", "HANG-1")
SECURE_IN_1 = tuple(secure_at("ada", *TIER_1))
ADA = Athlete("ada", 1, age=8.0)


def ask(
    rows: Sequence[Try],
    athlete: Athlete = ADA,
    *,
    age_floors: Mapping[int, float] | None = None,
    catalogue: Catalogue = CATALOGUE,
    rules: Rules | None = None,
) -> Readiness:
    told = picture_of(catalogue, [athlete], rows, parameters=surer(catalogue), rules=rules)
    return readiness(told, age_floors)[0]


class TestReady:
    def test_all_skills_of_the_tier_secure_is_ready(self) -> None:
        said = ask(SECURE_IN_1)
        assert (said.decision, said.tier, said.next_tier) == (Decision.READY, 1, 2)
        assert said.p_ready >= Rules().ready_at
        assert said.holding_back == ()
        assert said.why == "2 of 2 skills of tier 1 secure"

    def test_even_then_a_person_decides(self) -> None:
        assert "lead decides" in ask(SECURE_IN_1).would_change[0]

    def test_a_skill_that_is_not_required_is_not_asked_for(self) -> None:
        extra = Skill("BEAM-1", "balance", 1, required=False)
        catalogue = Catalogue((*CATALOGUE.skills, extra))
        rows = [*SECURE_IN_1, *tries("ada", "BEAM-1", "mmmmmm", ago=LATELY)]
        assert ask(rows, catalogue=catalogue).decision is Decision.READY

    def test_a_gate_is_asked_for_even_if_it_is_not_required(self) -> None:
        extra = Skill("FALL-1", "falling", 1, required=False, gate=True)
        catalogue = Catalogue((*CATALOGUE.skills, extra))
        said = ask(SECURE_IN_1, catalogue=catalogue)
        assert said.decision is Decision.NEEDS_CHECKS
        assert said.holding_back == ("FALL-1",)

    def test_the_evidence_of_a_gate_alone_is_not_enough_it_must_be_secure(self) -> None:
        """Five in a row after a miss: the floor is met, the confidence is not there."""
        shaky = tries("ada", "LAND-1", "maccccc", ago=(30, 8, 1))
        rules = Rules(ready_at=0.3, building_at=0.1)
        said = ask([*shaky, *secure_at("ada", "HANG-1")], rules=rules)
        assert said.p_ready >= rules.ready_at
        assert said.decision is Decision.NEEDS_CHECKS
        assert said.holding_back == ("LAND-1",)
        assert said.would_change == ("Land still: more clean tries",)


class TestNearly:
    ROWS = (*secure_at("ada", "LAND-1"), *tries("ada", "HANG-1", "cmacccacc", ago=LATELY))

    def test_one_skill_in_between_is_nearly_and_named(self) -> None:
        said = ask(self.ROWS)
        assert Rules().building_at < said.p_ready < Rules().ready_at
        assert said.decision is Decision.NEARLY
        assert said.holding_back == ("HANG-1",)
        assert "held back by Hang" in said.reasons
        assert said.would_change == ("Hang: more clean tries",)

    def test_a_hold_is_nearly_at_most_and_says_so_first(self) -> None:
        said = ask(SECURE_IN_1, replace(ADA, held=True))
        assert said.p_ready >= Rules().ready_at
        assert said.decision is Decision.NEARLY
        assert said.reasons[0] == "on hold: ask the lead"
        assert said.would_change == ("The lead lifts the hold.",)

    def test_a_hold_on_one_ladder_is_a_hold(self) -> None:
        said = ask(SECURE_IN_1, replace(ADA, held_ladders=frozenset({"hanging"})))
        assert said.decision is Decision.NEARLY
        assert said.reasons[0] == "a ladder is on hold"

    def test_too_young_is_nearly_at_most(self) -> None:
        said = ask(SECURE_IN_1, age_floors={2: 9.0})
        assert said.decision is Decision.NEARLY
        assert said.reasons[0] == "younger than tier 2 asks for"
        assert said.would_change

    @pytest.mark.parametrize("age_floors", [{2: 8.0}, {3: 12.0}, {1: 12.0}, {}])
    def test_old_enough_is_ready(self, age_floors: dict[int, float]) -> None:
        assert ask(SECURE_IN_1, age_floors=age_floors).decision is Decision.READY

    def test_an_unknown_age_is_not_held_against_a_child_but_told(self) -> None:
        said = ask(SECURE_IN_1, replace(ADA, age=None), age_floors={2: 9.0})
        assert said.decision is Decision.READY
        assert "age unknown" in said.why


class TestBuilding:
    def test_many_misses_are_building(self) -> None:
        rows = [*secure_at("ada", "LAND-1"), *tries("ada", "HANG-1", "mmmamm", ago=LATELY)]
        said = ask(rows)
        assert said.p_ready <= Rules().building_at
        assert said.decision is Decision.BUILDING
        assert said.holding_back == ("HANG-1",)
        assert "held back by Hang" in said.why

    def test_the_weakest_come_first_and_no_more_than_four_are_named(self) -> None:
        skills = tuple(Skill(f"S{n}", f"L{n}", 1, name=f"Skill {n}") for n in range(7))
        catalogue = Catalogue(skills)
        results = ("ccacac", "cacacm", "mmammm", "mmmmmm", "macmac", "mmacca", "mcmcmc")
        rows = [
            one
            for number, word in enumerate(results)
            for one in tries("ada", f"S{number}", word, ago=LATELY)
        ]
        told = picture_of(catalogue, [ADA], rows, parameters=surer(catalogue))
        said = readiness(told)[0]
        assert said.decision is Decision.BUILDING
        confidence = [told.confidence[0, catalogue.position[s]] for s in said.holding_back]
        assert len(confidence) == MOST_NAMED + 1
        assert confidence == sorted(confidence)
        assert min(confidence) == told.confidence[0].min()
        assert "and 4 more" in said.why


class TestNeedsChecks:
    def test_a_child_never_checked_needs_checks_whatever_the_prior_says(self) -> None:
        said = ask([])
        assert said.decision is Decision.NEEDS_CHECKS
        assert (
            said.why == "0 of 2 skills of tier 1 secure; too few recent checks at Land still, Hang"
        )
        assert set(said.holding_back) == set(TIER_1)

    def test_checks_at_other_tiers_are_no_checks_of_this_one(self) -> None:
        said = ask(secure_at("ada", *TIER_1), replace(ADA, tier=2))
        assert said.decision is Decision.NEEDS_CHECKS

    def test_a_likely_child_without_the_evidence_needs_checks(self) -> None:
        rows = [one for skill in TIER_1 for one in tries("ada", skill, SECURE, ago=(1,))]
        said = ask(rows)
        assert said.p_ready >= Rules().ready_at
        assert said.decision is Decision.NEEDS_CHECKS
        assert "evidence still short at" in said.why
        assert set(said.would_change) == {
            "Land still: another day",
            "Hang: 1 more clean on another day",
        }

    def test_a_likely_child_with_one_skill_unchecked_needs_that_check(self) -> None:
        said = ask([*secure_at("ada", "LAND-1"), *secure_at("ada", "HANG-2")])
        assert said.p_ready >= Rules().ready_at
        assert said.decision is Decision.NEEDS_CHECKS
        assert said.holding_back == ("HANG-1",)
        assert "too few recent checks at Hang" in said.why

    def test_an_open_answer_for_want_of_checks_needs_checks(self) -> None:
        said = ask([*secure_at("ada", "LAND-1"), *tries("ada", "HANG-1", "c", ago=(1,))])
        assert Rules().building_at < said.p_ready < Rules().ready_at
        assert said.decision is Decision.NEEDS_CHECKS

    def test_skills_each_secure_but_not_all_together_ask_for_a_look_at_the_least_sure(self) -> None:
        skills = tuple(Skill(f"S{n}", f"L{n}", 1, name=f"Skill {n}") for n in range(8))
        catalogue = Catalogue(skills)
        rows = [t for s in skills for t in tries("ada", s.code, "ccccccc", ago=LATELY)]
        rules = Rules(ready_at=0.98)
        said = ask(rows, catalogue=catalogue, rules=rules)
        assert said.decision is Decision.NEEDS_CHECKS
        assert said.reasons[:1] == ("8 of 8 skills of tier 1 secure",)
        assert "not sure enough of all together" in said.reasons[1]
        assert len(said.holding_back) == len(said.would_change) == MOST_NAMED

    def test_old_evidence_needs_checks(self) -> None:
        rows = [one for s in TIER_1 for one in tries("ada", s, SECURE * 2, ago=(70, 60))]
        said = ask(rows)
        assert said.decision is Decision.NEEDS_CHECKS
        assert "too few recent checks" in said.why


class TestEarlierGates:
    ROWS = (*secure_at("ada", "LAND-2", "HANG-1", "HANG-2"),)
    IN_2 = replace(ADA, tier=2)

    def test_a_gate_of_an_earlier_tier_that_slipped_stops_ready_and_is_named(self) -> None:
        slipped = tries("ada", "LAND-1", "mmmmmmmmmmmm", ago=(2, 1))
        rows = [*secure_at("ada", "LAND-2", "HANG-1", "HANG-2", "HANG-2"), *slipped]
        said = ask(rows, self.IN_2, rules=Rules(building_at=0.01, ready_at=0.02))
        assert said.decision is Decision.NEARLY
        assert "safety skill of an earlier tier slipped: Land still" in said.reasons
        assert said.holding_back[0] == "LAND-1"

    def test_a_gate_of_an_earlier_tier_that_nobody_looked_at_again_does_not(self) -> None:
        said = ask(self.ROWS, self.IN_2)
        assert said.decision is Decision.READY

    def test_an_ordinary_skill_of_an_earlier_tier_does_not(self) -> None:
        rows = [*self.ROWS, *secure_at("ada", "HANG-2"), *tries("ada", "HANG-1", "mmm", ago=(1,))]
        assert "slipped" not in ask(rows, self.IN_2).why


class TestTheTop:
    def test_at_the_top_there_is_no_next_tier_and_it_is_said_so(self) -> None:
        said = ask(secure_at("ada", "LAND-2", "HANG-2"), replace(ADA, tier=2))
        assert said.next_tier is None
        assert said.reasons[-1] == "already in the top tier"


@pytest.fixture(scope="module")
def told() -> Picture:
    """A gym that checks everybody every week."""
    gym = simulate(5, Habits(athletes=150, weeks=16, ladders=3, tiers=3, gates=1, seen_weekly=1.0))
    return picture_of_gym(gym, Parameters.before_any_log(gym.catalogue))


class TestEveryAnswer:
    def test_it_has_a_probability_reasons_and_something_that_would_change_it(
        self, told: Picture
    ) -> None:
        for said in readiness(told):
            assert 0.0 <= said.p_ready <= 1.0
            assert all(said.reasons)
            assert said.would_change
            assert said.why == "; ".join(said.reasons)

    def test_every_decision_is_taken(self, told: Picture) -> None:
        assert {one.decision for one in readiness(told)} == set(Decision)

    def test_ready_is_likely_evident_and_without_a_weak_gate(self, told: Picture) -> None:
        said = [one for one in readiness(told) if one.decision is Decision.READY]
        assert said
        skills = told.catalogue.skills
        for one in said:
            row = told.place[one.athlete]
            columns = told.catalogue.of_tier(one.tier)
            assert one.p_ready >= told.rules.ready_at
            assert told.evidence.floor[row, list(columns)].all()
            assert all(told.secure[row, c] for c in columns if skills[c].gate)

    def test_building_is_unlikely_and_names_who_holds_back(self, told: Picture) -> None:
        said = [one for one in readiness(told) if one.decision is Decision.BUILDING]
        assert said
        assert all(one.p_ready <= told.rules.building_at and one.holding_back for one in said)

    def test_what_holds_back_is_of_the_tier_and_the_weakest_first(self, told: Picture) -> None:
        for one in readiness(told):
            row = told.place[one.athlete]
            at = [told.catalogue.position[code] for code in one.holding_back]
            assert np.all(np.diff(told.confidence[row, at]) >= 0)
            assert all(told.catalogue.skills[c].tier <= one.tier for c in at)
