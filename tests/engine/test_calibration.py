"""Learning a gym's parameters from its log."""

from dataclasses import fields, replace

import numpy as np
import pytest

from progress.engine.calibration import (
    BY_STEP_SD,
    FEWEST_ATTEMPTS,
    SET_BY_HAND_SD,
    VariantPrior,
    calibrate,
    cut_spells,
    stations_of,
    thin,
    variant_priors,
)
from progress.engine.log import Log, gather
from progress.engine.parameters import DIFFICULTY_SD, STEP_GAP, Parameters
from progress.engine.replay import replay
from progress.engine.terms import Loop, Station, Variant
from tests.engine.conftest import Learnt
from tests.engine.small_gyms import Try, landing_and_hanging, log_of, tries
from tests.simulated_gyms import TIER_GAP, Habits, SimulatedGym, simulate

SMALL = Habits(athletes=40, weeks=10, ladders=3, tiers=2)


def same(first: Parameters, second: Parameters) -> bool:
    pairs = [(getattr(first, f.name), getattr(second, f.name)) for f in fields(Parameters)]
    return all(np.array_equal(a, b) if isinstance(a, np.ndarray) else a == b for a, b in pairs)


class TestRecovery:
    """Simulated gyms that behave as the engine assumes."""

    def test_difficulties_are_found_as_closely_as_the_engine_says(
        self, learnt_gyms: tuple[Learnt, ...]
    ) -> None:
        """Against each other: a shift of all is a shift of ability and cannot be told from it."""
        away = []
        for gym, learnt in learnt_gyms:
            error = learnt.difficulty - gym.difficulty
            away.append((error - error.mean()) / learnt.difficulty_sd)
            assert np.corrcoef(learnt.difficulty, gym.difficulty)[0, 1] > 0.98
            assert np.std(error) < 0.3
        print(f"difficulties: errors in sds have a spread of {np.std(away):.2f}")
        assert 0.7 < np.std(away) < 1.3

    def test_severities_are_found(self, learnt_gyms: tuple[Learnt, ...]) -> None:
        for gym, learnt in learnt_gyms:
            coaches = sorted(gym.severity)
            true = np.array([gym.severity[coach] for coach in coaches])
            found = np.array([learnt.severity[coach] for coach in coaches])
            assert np.abs((found - found.mean()) - (true - true.mean())).max() < 0.2

    def test_help_gaps_are_found(self, learnt_gyms: tuple[Learnt, ...]) -> None:
        for gym, learnt in learnt_gyms:
            assert np.abs(np.log(learnt.help_gap / gym.help_gap)).mean() < 0.15

    def test_spreads_growth_and_drift_are_of_the_right_size(
        self, learnt_gyms: tuple[Learnt, ...]
    ) -> None:
        true = Habits()
        for _, learnt in learnt_gyms:
            assert learnt.general_sd == pytest.approx(true.general_sd, rel=0.25)
            assert learnt.ladder_sd == pytest.approx(true.ladder_sd, rel=0.35)
            assert learnt.skill_sd == pytest.approx(true.skill_sd, rel=0.35)
            assert true.drift / 2 < learnt.drift < 2 * true.drift
            assert learnt.growth == pytest.approx(true.growth, abs=0.004)

    def test_it_predicts_as_well_as_the_true_parameters_do(
        self, learnt_gyms: tuple[Learnt, ...]
    ) -> None:
        """Mean log probability of each attempt just before it, against two yardsticks."""
        for gym, learnt in learnt_gyms:
            start, true = Parameters.before_any_log(gym.catalogue), true_parameters(gym)
            told = {
                name: replay(gym.catalogue, gym.tiers, gym.log, parameters, gym.on_day + 1.0)
                for name, parameters in (("start", start), ("learnt", learnt), ("true", true))
            }
            mean = {name: float(run.log_chance.mean()) for name, run in told.items()}
            print("log probability an attempt", {name: round(v, 4) for name, v in mean.items()})
            assert mean["learnt"] > mean["start"]
            assert mean["learnt"] > mean["true"] - 0.003


def true_parameters(gym: SimulatedGym) -> Parameters:
    """What the simulated gym runs on, as far as the engine has a place for it."""
    habits, start = Habits(), Parameters.before_any_log(gym.catalogue)
    return replace(
        start,
        tier_level={tier: (tier - 1) * TIER_GAP + 0.2 for tier in gym.catalogue.tiers},
        difficulty=gym.difficulty,
        difficulty_sd=np.zeros(len(gym.difficulty)),
        help_gap=gym.help_gap,
        severity=gym.severity,
        drift=habits.drift,
        growth=habits.growth,
    )


class TestFewAttempts:
    def test_a_log_of_too_few_attempts_returns_the_starting_values(self) -> None:
        catalogue = landing_and_hanging()
        offsets = {"drop+1": VariantPrior(0.7, 0.2)}
        rows = tries("ada", "LAND-1", "m" * (FEWEST_ATTEMPTS - 1))
        learnt = calibrate(catalogue, [1], log_of(catalogue, ["ada"], rows), offsets)
        assert same(learnt, Parameters.before_any_log(catalogue, {"drop+1": 0.7}))

    def test_one_more_attempt_is_learnt_from(self) -> None:
        catalogue = landing_and_hanging()
        rows = tries("ada", "LAND-1", "m" * FEWEST_ATTEMPTS)
        learnt = calibrate(catalogue, [1], log_of(catalogue, ["ada"], rows))
        assert not same(learnt, Parameters.before_any_log(catalogue))

    def test_a_skill_tried_seldom_stays_near_its_prior_and_in_doubt(self) -> None:
        """However clear the few tries look."""
        gym = simulate(8, SMALL)
        column = gym.catalogue.position["L2-2"]
        at_it = np.flatnonzero(gym.log.skill == column)
        dropped = np.isin(np.arange(len(gym.log)), at_it[3:])
        log = gym.log.rows(~dropped)
        log = replace(log, result=np.where(log.skill == column, 0, log.result))
        learnt = calibrate(gym.catalogue, gym.tiers, log)
        start = Parameters.before_any_log(gym.catalogue)
        away = abs(learnt.difficulty[column] - start.difficulty[column])
        assert away < 1.25 * DIFFICULTY_SD
        assert learnt.difficulty_sd[column] > 0.6 * DIFFICULTY_SD
        often = np.delete(learnt.difficulty_sd, column)
        assert learnt.difficulty_sd[column] > 1.1 * often.max()

    def test_a_coach_with_few_attempts_is_taken_to_be_average(self) -> None:
        gym = simulate(9, SMALL)
        names = (*gym.log.coaches, "new")
        coach = gym.log.coach.copy()
        coach[:3] = len(names) - 1
        log = replace(gym.log, coaches=names, coach=coach)
        assert abs(calibrate(gym.catalogue, gym.tiers, log).severity["new"]) < 0.2


class TestStability:
    def test_the_answer_does_not_depend_on_the_order_of_the_rows(self) -> None:
        gym = simulate(10, SMALL)
        rows = rows_of(gym)
        order = np.random.default_rng(1).permutation(len(rows))
        shuffled = log_of_rows(gym, [rows[at] for at in order])
        first = calibrate(gym.catalogue, gym.tiers, gym.log)
        assert same(first, calibrate(gym.catalogue, gym.tiers, shuffled))

    def test_a_long_log_is_thinned_by_whole_athletes(self) -> None:
        log = simulate(11, SMALL).log
        part = thin(log, len(log) // 3)
        kept = np.unique(part.athlete)
        assert len(part) == pytest.approx(len(log) / 3, rel=0.15)
        assert len(part) == np.isin(log.athlete, kept).sum()
        assert np.ptp(kept) > 0.8 * len(log.athletes)

    def test_spells_are_cut_at_six_weeks_from_an_athletes_first_attempt(self) -> None:
        catalogue = landing_and_hanging()
        days = (100.0, 80.0, 59.0, 58.5, 3.0)
        rows = [Try("ada", "LAND-1", ago=ago) for ago in days]
        spells = cut_spells(catalogue, [1], log_of(catalogue, ["ada"], rows))
        assert spells.spell.tolist() == [0, 0, 0, 1, 2]


def rows_of(gym: SimulatedGym) -> list[tuple[int, int, float, int, int, int]]:
    log = gym.log
    columns = (log.athlete, log.skill, log.when, log.result, log.coach, log.variant)
    return list(zip(*(column.tolist() for column in columns), strict=True))


def log_of_rows(gym: SimulatedGym, rows: list[tuple[int, int, float, int, int, int]]) -> Log:
    """Gather rows again from codes, as they would come from records."""
    from_codes = [
        Try(gym.log.athletes[a], gym.catalogue.skills[s].code, ("miss", "assisted", "clean")[r])
        for a, s, _, r, _, _ in rows
    ]
    columns = list(zip(*(one.row for one in from_codes), strict=True))
    columns[2] = tuple(row[2] for row in rows)
    columns[4] = tuple(gym.log.coaches[row[4]] for row in rows)
    return gather(gym.catalogue, list(gym.log.athletes), columns)


class TestVariantPriors:
    def test_a_difficulty_set_by_hand_is_trusted_closely(self) -> None:
        station = Station("beam", (Variant("beam+1", "BAL-1", step=1, difficulty=0.4),))
        assert variant_priors([station]) == {"beam+1": VariantPrior(0.4, SET_BY_HAND_SD)}

    def test_steps_of_one_skill_are_a_step_gap_apart_around_the_base(self) -> None:
        steps = tuple(Variant(f"beam{step:+d}", "BAL-1", step=step) for step in (-1, 0, 2))
        priors = variant_priors([Station("beam", steps)])
        offsets = [priors[variant.code].offset for variant in steps]
        assert offsets == pytest.approx([-STEP_GAP, 0.0, 2 * STEP_GAP])
        assert {prior.sd for prior in priors.values()} == {BY_STEP_SD}

    def test_a_variant_that_is_its_skill_alone_has_no_offset(self) -> None:
        """Each step practises its own skill, so the skills carry the difficulty."""
        steps = (
            Variant("bars-1", "HANG-1", step=-1),
            Variant("bars0", "HANG-2", step=0),
            Variant("bars+1", "HANG-3", step=1),
            Variant("bars+2", "HANG-3", step=2),
        )
        priors = variant_priors([Station("bars", steps)])
        offsets = [priors[v.code].offset for v in steps]
        assert offsets == pytest.approx([0.0, 0.0, 0.0, STEP_GAP])

    def test_what_the_log_says_of_a_variant_moves_its_offset(self) -> None:
        gym = simulate(12, SMALL)
        hard = np.arange(len(gym.log)) % 3 == 0
        log = replace(
            gym.log,
            variants=("steep",),
            variant=np.where(hard, 0, -1),
            result=np.where(hard, np.maximum(gym.log.result - 1, 0), gym.log.result),
        )
        learnt = calibrate(gym.catalogue, gym.tiers, log, {"steep": VariantPrior(0.0, 0.5)})
        assert learnt.variant["steep"] > 0.5

    def test_a_station_of_two_loops_counts_once(self) -> None:
        beam, bars = Station("beam", ()), Station("bars", ())
        loops = [Loop("first", (beam, bars)), Loop("second", (bars,))]
        assert stations_of(loops) == (bars, beam)
