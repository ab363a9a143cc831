"""States, what counts as held, and the words about the evidence."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from progress.engine.picture import STATES, Picture
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, Skill, SkillState
from tests.engine.small_gyms import (
    KIM,
    LATELY,
    LEE,
    SECURE,
    TODAY,
    Try,
    landing_and_hanging,
    picture_of,
    secure_at,
    surer,
    tries,
)

CATALOGUE = landing_and_hanging()
PARAMETERS = surer(CATALOGUE)
BO = [Try("bo", "HANG-2", coach=KIM), Try("bo", "HANG-2", coach=LEE)]


def ada(
    rows: Sequence[Try], tier: int = 1, rules: Rules | None = None, catalogue: Catalogue = CATALOGUE
) -> Picture:
    """The picture of Ada in row 0; Bo sees to it that there are two coaches."""
    people = [Athlete("ada", tier), Athlete("bo", 2)]
    return picture_of(catalogue, people, [*rows, *BO], rules=rules, parameters=surer(catalogue))


def state(told: Picture, skill: str) -> SkillState:
    return told.estimate(0, told.catalogue.position[skill]).state


def held(told: Picture, skill: str) -> bool:
    return bool(told.held[0, told.catalogue.position[skill]])


class TestStates:
    def test_many_clean_tries_on_days_with_coaches_are_secure(self) -> None:
        told = ada(secure_at("ada", "LAND-1", "HANG-1"))
        assert state(told, "LAND-1") == state(told, "HANG-1") == SkillState.SECURE

    def test_a_skill_never_tried_is_unchecked_however_likely_it_looks(self) -> None:
        told = ada(secure_at("ada", "LAND-1", "LAND-2", "HANG-2"))
        assert told.confidence[0, CATALOGUE.position["HANG-1"]] > Rules().secure_confidence
        assert state(told, "HANG-1") == SkillState.UNCHECKED

    def test_a_likely_skill_without_the_evidence_is_nearly_there(self) -> None:
        told = ada(tries("ada", "LAND-1", SECURE, ago=(1,)))
        assert told.confidence[0, CATALOGUE.position["LAND-1"]] > Rules().secure_confidence
        assert state(told, "LAND-1") == SkillState.NEARLY

    def test_evidence_without_enough_confidence_is_not_secure(self) -> None:
        rows = tries("ada", "HANG-1", "cmmmmmmc", ago=(9, 1))
        assert ada(rows).evidence.floor[0, CATALOGUE.position["HANG-1"]]
        assert state(ada(rows), "HANG-1") == SkillState.BUILDING

    def test_a_skill_nobody_looked_at_for_eight_weeks_is_stale(self) -> None:
        told = ada(tries("ada", "HANG-1", SECURE, ago=(80, 70)))
        assert state(told, "HANG-1") == SkillState.STALE

    def test_a_skill_seen_through_one_that_needs_it_stays_secure(self) -> None:
        old = tries("ada", "HANG-1", SECURE, ago=(80, 70))
        told = ada([*old, *tries("ada", "HANG-2", "cccc", ago=(8, 1))])
        assert state(told, "HANG-1") == SkillState.SECURE


class TestNumbers:
    def test_the_chance_lies_in_its_interval_and_the_interval_in_zero_and_one(self) -> None:
        told = ada(tries("ada", "HANG-1", "mcamccc", ago=LATELY))
        low, high = told.interval
        assert np.all((low > 0) & (low < told.chance) & (told.chance < high) & (high < 1))

    def test_doubt_about_a_difficulty_widens_the_interval(self) -> None:
        before = surer(CATALOGUE)
        doubtful = replace(before, difficulty_sd=np.full(4, 0.8))
        widths = [
            np.ptp(picture_of(CATALOGUE, ["ada"], [], parameters=p).interval, axis=0)
            for p in (before, doubtful)
        ]
        assert np.all(widths[1] > widths[0])

    def test_an_estimate_says_what_the_arrays_say(self) -> None:
        told = ada(tries("ada", "HANG-1", "mcamccc", ago=LATELY))
        column = CATALOGUE.position["HANG-1"]
        said = told.estimate(0, column)
        assert (said.athlete, said.skill, said.attempts, said.days) == ("ada", "HANG-1", 7, 2)
        assert said.last == TODAY - 1
        assert said.chance == told.chance[0, column]
        assert said.low < said.chance < said.high
        assert told.estimate(0, CATALOGUE.position["LAND-2"]).last is None

    def test_a_higher_standard_asks_for_more(self) -> None:
        rows = tries("ada", "HANG-1", "cccccc", ago=LATELY)
        strict = replace(CATALOGUE.skill("HANG-1"), standard=0.95)
        skills = tuple(strict if s.code == "HANG-1" else s for s in CATALOGUE.skills)
        column = CATALOGUE.position["HANG-1"]
        there = ada(rows, catalogue=Catalogue(skills)).confidence[0, column]
        assert there < ada(rows).confidence[0, column]

    def test_p_ready_is_that_of_the_required_skills_of_the_own_tier(self) -> None:
        told = ada(secure_at("ada", "LAND-1", "HANG-1"))
        single = told.confidence[0, [CATALOGUE.position[c] for c in ("LAND-1", "HANG-1")]]
        assert np.prod(single) <= told.p_ready[0] <= single.min() + 1e-6


class TestHeld:
    """Whether a skill counts as held where another skill, a variant or a height asks for it."""

    def test_a_secure_skill_is_held(self) -> None:
        assert held(ada(secure_at("ada", "LAND-1")), "LAND-1")

    def test_a_skill_of_the_own_tier_is_held_only_when_secure(self) -> None:
        assert not held(ada(tries("ada", "HANG-1", "c", ago=(1,))), "HANG-1")

    def test_of_an_earlier_tier_one_clean_try_and_a_likely_standard_are_enough(self) -> None:
        assert held(ada(tries("ada", "HANG-1", "c", ago=(1,)), tier=2), "HANG-1")

    def test_of_an_earlier_tier_the_skill_may_have_been_seen_long_ago(self) -> None:
        assert held(ada(tries("ada", "HANG-1", "cccc", ago=(300, 290)), tier=2), "HANG-1")

    def test_a_tier_on_record_alone_holds_nothing(self) -> None:
        told = ada([], tier=2)
        assert told.confidence[0, CATALOGUE.position["HANG-1"]] > 0.5
        assert not told.held[0].any()

    def test_what_the_log_speaks_against_is_not_held_on_a_tier(self) -> None:
        told = ada(tries("ada", "HANG-1", "cmmmmmmm", ago=LATELY), tier=2)
        assert not held(told, "HANG-1")

    def test_a_gate_of_an_earlier_tier_must_be_fresh(self) -> None:
        assert held(ada(tries("ada", "LAND-1", SECURE, ago=(40, 30)), tier=2), "LAND-1")
        assert not held(ada(tries("ada", "LAND-1", SECURE, ago=(80, 70)), tier=2), "LAND-1")

    def test_a_gate_whose_last_try_was_missed_is_not_held_on_a_tier(self) -> None:
        told = ada(tries("ada", "LAND-1", SECURE + "m", ago=LATELY), tier=2)
        assert told.confidence[0, CATALOGUE.position["LAND-1"]] > Rules().secure_confidence
        assert not held(told, "LAND-1")

    def test_a_gate_of_an_earlier_tier_must_be_as_sure_as_secure(self) -> None:
        told = ada(tries("ada", "LAND-1", "mmaacc", ago=LATELY), tier=2)
        confidence = told.confidence[0, CATALOGUE.position["LAND-1"]]
        assert confidence < Rules().secure_confidence
        assert not held(told, "LAND-1")

    def test_a_gate_may_be_shown_through_the_skill_above_it(self) -> None:
        told = ada(tries("ada", "LAND-2", "cc", ago=LATELY), tier=2)
        assert held(told, "LAND-1")

    def test_an_estimate_says_whether_it_is_held(self) -> None:
        told = ada(secure_at("ada", "LAND-1"))
        assert told.estimate(0, CATALOGUE.position["LAND-1"]).held
        assert not told.estimate(0, CATALOGUE.position["HANG-2"]).held


class TestWhy:
    def why(self, skill: str, *rows: Try) -> str:
        told = ada(rows)
        return told.why(0, CATALOGUE.position[skill])

    def test_nothing_on_record_is_said_so(self) -> None:
        assert self.why("HANG-1") == "No attempt on record."

    def test_counts_are_told_and_nothing_more_where_the_floor_is_met(self) -> None:
        rows = tries("ada", "HANG-1", "mcc" + "ccc", ago=LATELY)
        assert self.why("HANG-1", *rows) == "5 of 6 clean on 2 days."

    def test_what_is_old_says_how_old(self) -> None:
        rows = tries("ada", "HANG-1", "cc", ago=(70,))
        assert self.why("HANG-1", *rows) == "2 of 2 clean on 1 day, the last 70 days ago."

    @pytest.mark.parametrize(
        ("skill", "results", "ago", "missing"),
        [
            ("HANG-1", "mm", (1,), "2 more clean"),
            ("HANG-1", "mc", (1,), "1 more clean on another day"),
            ("HANG-1", "cccc", (1,), "1 more clean on another day"),
            ("LAND-1", "ccc", (8, 1), "2 more clean in a row"),
            ("LAND-1", "ccccc", (1,), "another day"),
            ("LAND-1", "ccc", (1,), "2 more clean in a row with another day"),
        ],
    )
    def test_what_is_still_asked_for_is_named(
        self, skill: str, results: str, ago: tuple[float, ...], missing: str
    ) -> None:
        rows = tries("ada", skill, results, ago=ago)
        assert self.why(skill, *rows).endswith(f"; still asks for {missing}.")

    def test_another_coach_is_asked_for_by_name_of_the_job(self) -> None:
        alone = tries("ada", "LAND-1", "ccccc", ago=LATELY, coaches=(KIM,))
        assert self.why("LAND-1", *alone).endswith("; still asks for another coach.")
        short = tries("ada", "LAND-1", "ccc", ago=(1,), coaches=(KIM,))
        expected = "2 more clean in a row with another day and another coach"
        assert self.why("LAND-1", *short).endswith(f"; still asks for {expected}.")

    def test_a_gate_with_nothing_of_its_floor_yet_is_told_whole(self) -> None:
        rows = tries("ada", "LAND-1", "ccccm", ago=LATELY)
        expected = "5 clean in a row on 2 days with 2 coaches"
        assert self.why("LAND-1", *rows).endswith(f"; still asks for {expected}.")


def test_every_state_has_a_place_and_every_athlete_a_state() -> None:
    told = ada(tries("ada", "HANG-1", "mc"))
    assert set(STATES) == set(SkillState)
    assert told.state.shape == (2, 4)


def test_a_chain_of_needs_is_held_only_where_each_link_was_seen() -> None:
    chain = Catalogue(
        tuple(Skill(f"X-{n}", "x", n, needs=(f"X-{n - 1}",) if n > 1 else ()) for n in range(1, 4))
    )
    people = [Athlete("ada", 3)]
    told = picture_of(chain, people, tries("ada", "X-2", "cc", ago=LATELY), parameters=surer(chain))
    assert told.held[0].tolist() == [True, True, False]
