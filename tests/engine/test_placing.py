"""Skills in the wrong tier are found, the others left alone; and what moving them changes."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.special import ndtr

from progress.engine.calibration import calibrate
from progress.engine.log import gather
from progress.engine.outcomes import ASSISTED, CLEAN, MISS
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture, picture
from progress.engine.placing import (
    Placed,
    decisions_changed,
    placing,
    retiered,
    tier_below,
)
from progress.engine.readiness import readiness
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, Decision, Skill
from tests.engine.small_gyms import landing_and_hanging, log_of, picture_of, secure_at, surer
from tests.simulated_gyms import Habits, SimulatedGym, simulate

OFTEN = Habits(athletes=150, weeks=20, ladders=5, seen_weekly=0.8, difficulty_sd=0.2)


@dataclass(frozen=True)
class Misplaced:
    """A simulated gym whose catalogue has one skill a tier too low and one too high."""

    catalogue: Catalogue
    placed: dict[str, Placed]


@pytest.fixture(scope="module")
def gym() -> SimulatedGym:
    return simulate(2, OFTEN)


@pytest.fixture(scope="module")
def misplaced(gym: SimulatedGym) -> Misplaced:
    wrong = retiered(gym.catalogue, {"L2-3": 1, "L3-1": 3})
    learnt = calibrate(wrong, gym.tiers, gym.log)
    return Misplaced(wrong, {one.skill: one for one in placing(wrong, gym.log, learnt)})


class TestSimulatedGym:
    def test_a_skill_put_too_low_points_up(self, misplaced: Misplaced) -> None:
        found = misplaced.placed["L2-3"]
        assert (found.tier, found.points_to, found.enough) == (1, 2, True)
        assert found.p_harder is not None
        assert found.p_harder > 0.99

    def test_a_skill_put_too_high_points_down(self, misplaced: Misplaced) -> None:
        found = misplaced.placed["L3-1"]
        assert (found.tier, found.points_to) == (3, 2)
        assert found.p_easier is not None
        assert found.p_easier > 0.99

    def test_no_other_skill_is_called_misplaced(self, misplaced: Misplaced) -> None:
        others = {code for code, one in misplaced.placed.items() if one.points_to is not None}
        assert others == {"L2-3", "L3-1"}

    def test_intervals_hold_most_true_difficulties(
        self, gym: SimulatedGym, misplaced: Misplaced
    ) -> None:
        held = [
            one.low <= true <= one.high
            for one, true in zip(misplaced.placed.values(), gym.difficulty, strict=True)
        ]
        assert np.mean(held) >= 0.7

    def test_counts_are_those_of_the_log(self, gym: SimulatedGym, misplaced: Misplaced) -> None:
        column = misplaced.catalogue.position["L0-1"]
        mine = gym.log.skill == column
        found = misplaced.placed["L0-1"]
        assert found.attempts == mine.sum()
        assert found.athletes == len(set(gym.log.athlete[mine].tolist()))


def known(difficulty: list[float], sd: list[float]) -> tuple[Catalogue, Parameters]:
    catalogue = landing_and_hanging()
    before = surer(catalogue)
    return catalogue, replace(before, difficulty=np.array(difficulty), difficulty_sd=np.array(sd))


class TestSmallCatalogue:
    def test_the_probability_is_that_of_two_normals(self) -> None:
        """One skill above, so the median is that skill."""
        skills = (Skill("A", "one", 1), Skill("B", "one", 2))
        catalogue = Catalogue(skills)
        before = replace(
            Parameters.before_any_log(catalogue),
            difficulty=np.array([0.5, 1.0]),
            difficulty_sd=np.array([0.3, 0.4]),
        )
        low, high = placing(catalogue, log_of(catalogue, ["ada"], []), before)
        assert low.p_harder == pytest.approx(ndtr(-0.5 / 0.5), abs=0.03)
        assert high.p_easier == low.p_harder
        assert (low.p_easier, high.p_harder) == (None, None)

    def test_without_evidence_nothing_points_anywhere(self) -> None:
        catalogue, before = known([5.0, 1.0, 0.0, 1.0], [0.1] * 4)
        found = placing(catalogue, log_of(catalogue, ["ada"], []), before)[0]
        assert found.p_harder == 1.0
        assert (found.enough, found.points_to) == (False, None)

    def test_the_seed_settles_the_draws(self) -> None:
        catalogue, before = known([0.9, 1.0, 0.0, 1.0], [0.3] * 4)
        log = log_of(catalogue, ["ada"], [])
        assert placing(catalogue, log, before) == placing(catalogue, log, before)
        assert placing(catalogue, log, before) != placing(catalogue, log, before, seed=2)

    def test_tiers_need_not_follow_without_a_gap(self) -> None:
        catalogue = Catalogue((Skill("A", "one", 1), Skill("B", "one", 5)))
        assert (tier_below(catalogue, 5), tier_below(catalogue, 1)) == (1, None)


class TestChangingTiers:
    def told(self) -> Picture:
        rows = secure_at("ada", "LAND-1") + secure_at("ben", "LAND-1", "HANG-1")
        catalogue = landing_and_hanging()
        return picture_of(catalogue, ["ada", "ben"], rows, parameters=surer(catalogue))

    def test_only_those_whose_decision_changes_are_named(self) -> None:
        told = self.told()
        changes = decisions_changed(told, retiered(told.catalogue, {"HANG-1": 2}))
        assert [(one.athlete, one.after) for one in changes] == [("ada", Decision.READY)]
        assert changes[0].before is not Decision.READY
        assert changes[0].p_after > changes[0].p_before

    def test_it_is_what_a_new_picture_would_say(self) -> None:
        told = self.told()
        other = retiered(told.catalogue, {"HANG-1": 2})
        rows = secure_at("ada", "LAND-1") + secure_at("ben", "LAND-1", "HANG-1")
        log = log_of(other, ["ada", "ben"], rows)
        people = [Athlete("ada", 1), Athlete("ben", 1)]
        anew = readiness(picture(other, people, log, told.parameters, Rules(), told.on_day))
        quick = readiness(replace(told, catalogue=other))
        assert [(one.decision, one.p_ready) for one in quick] == [
            (one.decision, one.p_ready) for one in anew
        ]

    def test_the_same_catalogue_changes_nobody(self) -> None:
        told = self.told()
        assert decisions_changed(told, told.catalogue) == ()

    def test_a_gate_more_is_another_question(self) -> None:
        told = self.told()
        skills = tuple(replace(skill, gate=True) for skill in told.catalogue.skills)
        with pytest.raises(ValueError, match="only tiers"):
            decisions_changed(told, Catalogue(skills))

    def test_an_unknown_skill_cannot_be_moved(self) -> None:
        with pytest.raises(KeyError):
            retiered(landing_and_hanging(), {"NONE": 2})


def test_columns_stay_where_they_are_when_tiers_change() -> None:
    catalogue = landing_and_hanging()
    assert retiered(catalogue, {"HANG-1": 2}).position == catalogue.position
    levels = (MISS, ASSISTED, CLEAN)
    columns = (["ada"] * 3, ["HANG-1"] * 3, [1.0, 2.0, 3.0], levels, [""] * 3, [""] * 3)
    moved = gather(retiered(catalogue, {"HANG-1": 2}), ["ada"], columns)
    assert np.array_equal(moved.skill, gather(catalogue, ["ada"], columns).skill)
