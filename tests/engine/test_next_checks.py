"""What a coach should check next: within the budget, and nobody out of sight."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from progress.engine.answers import NextCheck
from progress.engine.next_checks import next_checks
from progress.engine.parameters import Parameters
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, Skill
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
from tests.simulated_gyms import Habits, ladder_catalogue, simulate

CATALOGUE = landing_and_hanging()
ADA, BO = Athlete("ada", 1, age=8.0), Athlete("bo", 1, age=8.0)


def checks(
    rows: Sequence[Try],
    athletes: Sequence[Athlete] = (ADA,),
    *,
    catalogue: Catalogue = CATALOGUE,
    rules: Rules | None = None,
) -> tuple[NextCheck, ...]:
    told = picture_of(catalogue, athletes, rows, parameters=surer(catalogue), rules=rules)
    return next_checks(told, range(len(athletes)))


def skills(said: Sequence[NextCheck]) -> list[str]:
    return [check.skill for check in said]


class TestWhichSkills:
    def test_a_new_child_is_checked_at_skills_of_its_tier_whose_needs_are_held(self) -> None:
        assert set(skills(checks([]))) == {"LAND-1", "HANG-1"}

    def test_what_is_secure_is_not_checked_again(self) -> None:
        assert skills(checks(secure_at("ada", "LAND-1"))) == ["HANG-1"]

    def test_a_skill_whose_needs_are_not_held_is_never_suggested(self) -> None:
        in_2 = replace(ADA, tier=2)
        rows = secure_at("ada", "HANG-1")
        assert skills(checks(rows, [in_2])) == ["LAND-1"]
        with_landing = [*rows, *secure_at("ada", "LAND-1")]
        assert set(skills(checks(with_landing, [in_2]))) == {"LAND-2", "HANG-2"}

    def test_a_gate_of_an_earlier_tier_that_is_not_held_any_more_is_checked(self) -> None:
        in_2 = replace(ADA, tier=2)
        slipped = tries("ada", "LAND-1", SECURE + "m", ago=LATELY)
        assert "LAND-1" in skills(checks([*secure_at("ada", "HANG-1"), *slipped], [in_2]))

    def test_a_skill_of_an_earlier_tier_that_is_needed_and_not_held_is_checked(self) -> None:
        """A child that joins in tier 2: HANG-2 needs HANG-1, of which nothing is on record."""
        in_2 = replace(ADA, tier=2)
        rows = [*secure_at("ada", "LAND-1"), *secure_at("ada", "LAND-2")]
        assert skills(checks(rows, [in_2])) == ["HANG-1"]

    def test_a_skill_that_is_not_required_is_not_suggested(self) -> None:
        extra = Catalogue((*CATALOGUE.skills, Skill("BEAM-1", "balance", 1, required=False)))
        assert "BEAM-1" not in skills(checks([], catalogue=extra))

    def test_nothing_is_suggested_on_a_hold(self) -> None:
        assert checks([], [replace(ADA, held=True)]) == ()
        on_ladder = replace(ADA, held_ladders=frozenset({"landing"}))
        assert skills(checks([], [on_ladder])) == ["HANG-1"]

    def test_a_child_too_young_for_a_skill_is_not_checked_at_it(self) -> None:
        catalogue = Catalogue(
            tuple(
                replace(s, minimum_age=9.0) if s.code == "HANG-1" else s for s in CATALOGUE.skills
            )
        )
        assert skills(checks([], catalogue=catalogue)) == ["LAND-1"]


class TestReasons:
    def test_a_child_never_checked_says_so(self) -> None:
        said = {check.skill: check.why for check in checks([])}
        assert said["LAND-1"] == "never checked; safety skill; no attempt on record"

    def test_a_child_not_seen_lately_says_for_how_long(self) -> None:
        rows = tries("ada", "HANG-1", "mmm", ago=(30,))
        assert checks(rows)[0].why.startswith("not checked for 4 weeks")

    def test_what_a_likely_child_still_lacks_is_told(self) -> None:
        rows = [one for skill in ("LAND-1", "HANG-1") for one in tries("ada", skill, SECURE)]
        said = {check.skill: check.why for check in checks(rows)}
        assert said["LAND-1"] == "safety skill; looks ready; still asks for another day"
        assert said["HANG-1"] == "looks ready; still asks for 1 more clean on another day"

    def test_otherwise_it_could_change_the_answer(self) -> None:
        rows = [*secure_at("ada", "LAND-1"), *tries("ada", "HANG-1", "cmacccacc", ago=LATELY)]
        assert checks(rows)[0].why == "could change the answer about the next tier"


class TestTheBudget:
    def test_a_class_gets_no_more_checks_than_the_rules_say(self) -> None:
        people = [Athlete(f"a{n}", 1) for n in range(20)]
        rows = [Try(one.code, "HANG-1", "miss", ago=2) for one in people]
        assert len(checks(rows, people)) == Rules().checks_per_class
        assert len(checks(rows, people, rules=Rules(checks_per_class=5))) == 5

    def test_an_athlete_gets_no_more_than_the_rules_say(self) -> None:
        catalogue = ladder_catalogue(ladders=6, tiers=1)
        for most in (1, 2, 3):
            said = checks([], [ADA], catalogue=catalogue, rules=Rules(checks_per_athlete=most))
            assert len(said) == most

    def test_nobody_unseen_is_left_out_even_beyond_the_budget(self) -> None:
        people = [Athlete(f"a{n:02d}", 1) for n in range(20)]
        said = checks([], people)
        assert {check.athlete for check in said} == {one.code for one in people}
        assert len(said) == 20

    def test_the_longest_unseen_come_first(self) -> None:
        rows = [
            Try("ada", "HANG-1", "miss", ago=40),
            Try("bo", "HANG-1", "miss", ago=50),
            Try("cy", "HANG-1", "miss", ago=2),
        ]
        said = checks(rows, [ADA, BO, Athlete("cy", 1), Athlete("dee", 1)])
        assert [check.athlete for check in said[:3]] == ["dee", "bo", "ada"]
        assert [check.rank for check in said] == list(range(1, len(said) + 1))

    def test_unseen_from_the_day_the_rules_say(self) -> None:
        for ago, unseen in ((20, False), (21, True)):
            said = checks([Try("ada", "HANG-1", "miss", ago=ago)])
            assert ("not checked for" in said[0].why) is unseen

    def test_nobody_is_checked_where_nobody_is_there(self) -> None:
        assert checks([], []) == ()


class TestGains:
    def test_gains_are_finite_and_fall_after_the_unseen(self) -> None:
        gym = simulate(9, Habits(athletes=60, weeks=14, ladders=4, tiers=3, gates=1))
        told = picture_of_gym(gym, Parameters.before_any_log(gym.catalogue))
        said = next_checks(told, range(60))
        gains = [check.gain for check in said]
        assert np.all(np.isfinite(gains))
        assert min(gains) >= 0
        unseen = sum("checked" in check.why.split(";")[0] for check in said)
        assert gains[unseen:] == sorted(gains[unseen:], reverse=True)
        assert max(Counter(check.athlete for check in said).values()) <= 3

    def test_the_open_skill_gains_more_than_the_settled_one(self) -> None:
        rows = [
            *tries("ada", "LAND-1", "mmmmmmmmmmmm", ago=LATELY),
            *tries("bo", "HANG-1", "cmacccacc", ago=LATELY),
            *secure_at("bo", "LAND-1"),
        ]
        said = {(c.athlete, c.skill): c.gain for c in checks(rows, [ADA, BO])}
        assert said["bo", "HANG-1"] > said["ada", "LAND-1"]

    def test_the_order_of_the_athletes_changes_nothing(self) -> None:
        gym = simulate(9, Habits(athletes=30, weeks=8, ladders=3, tiers=2, gates=1))
        told = picture_of_gym(gym, Parameters.before_any_log(gym.catalogue))
        forwards, backwards = next_checks(told, range(30)), next_checks(told, range(29, -1, -1))
        assert forwards == backwards
