"""Running the log through the beliefs: time, pauses, and athletes that leave each other alone."""

from dataclasses import replace

import numpy as np
import pytest

from progress.engine import replay as replaying
from progress.engine.beliefs import Beliefs
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.replay import LONG_BREAK, Replayed, hardness, replay, trace
from tests.engine.small_gyms import TODAY, Try, landing_and_hanging, log_of, tries
from tests.simulated_gyms import Habits, SimulatedGym, simulate

CATALOGUE = landing_and_hanging()
BEFORE = Parameters.before_any_log(CATALOGUE)
END = TODAY + 1.0


@pytest.fixture(scope="module")
def gym() -> SimulatedGym:
    return simulate(4, Habits(athletes=40, weeks=12, ladders=3, tiers=3))


def run(gym: SimulatedGym, log: Log | None = None) -> Replayed:
    parameters = Parameters.before_any_log(gym.catalogue)
    return replay(gym.catalogue, gym.tiers, log or gym.log, parameters, gym.on_day + 1.0)


def general(
    *rows: Try, until: float = END, parameters: Parameters = BEFORE, **pauses: object
) -> tuple[float, float]:
    """Mean and variance of Ada's general ability."""
    log = log_of(CATALOGUE, ["ada"], rows)
    told = replay(CATALOGUE, [1], log, parameters, until, **pauses).beliefs  # type: ignore[arg-type]
    return float(told.root_mean[0]), float(told.root_var[0])


class TestTheWholeLog:
    def test_it_is_one_try_after_another(self, gym: SimulatedGym) -> None:
        """All athletes at once give what a plain loop over the rows gives."""
        parameters = Parameters.before_any_log(gym.catalogue)
        whole = run(gym).beliefs
        mean, variance = whole.abilities()
        for row in (0, 7, 39):
            alone = Beliefs.at_start(gym.catalogue, [gym.tiers[row]], parameters)
            mine = gym.log.athlete == row
            last = np.append(gym.log.when[mine][:1], gym.log.when[mine])
            gaps = np.where(np.diff(np.floor(last)) > 0, np.diff(last), 0.0)
            for skill, result, gap in zip(
                gym.log.skill[mine], gym.log.result[mine], gaps, strict=True
            ):
                self.pass_time(alone, float(gap), parameters)
                hard = parameters.difficulty[[skill]]
                alone.observe(
                    np.array([skill]), np.array([result]), hard, parameters.help_gap[[skill]]
                )
            self.pass_time(alone, gym.on_day + 1.0 - float(last[-1]), parameters)
            assert np.allclose(alone.abilities()[0][0], mean[row], atol=1e-9)
            assert np.allclose(alone.abilities()[1][0], variance[row], atol=1e-9)

    @staticmethod
    def pass_time(beliefs: Beliefs, gap: float, parameters: Parameters) -> None:
        days = gap + max(gap - LONG_BREAK, 0.0)
        shares = [np.array([parameters.drift * days * share]) for share in (0.5, 0.25, 0.25)]
        beliefs.drift(*shares, np.array([parameters.growth * min(gap, LONG_BREAK)]))

    def test_chunks_and_threads_change_nothing(
        self, gym: SimulatedGym, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        whole = run(gym)
        monkeypatch.setattr(replaying, "AT_A_TIME", 3)
        parts = run(gym)
        assert np.allclose(whole.log_chance, parts.log_chance, atol=1e-12)
        for ours, theirs in zip(whole.beliefs.abilities(), parts.beliefs.abilities(), strict=True):
            assert np.allclose(ours, theirs, atol=1e-12)

    def test_what_was_said_before_a_try_knows_nothing_of_what_came_after(
        self, gym: SimulatedGym
    ) -> None:
        middle = float(np.median(gym.log.when))
        early = gym.log.before(middle)
        kept = gym.log.when < middle
        assert np.allclose(run(gym, early).log_chance, run(gym).log_chance[kept], atol=1e-12)

    def test_an_athlete_does_not_depend_on_the_others(self, gym: SimulatedGym) -> None:
        """With the parameters fixed, as they are between two calibrations."""
        others = gym.log.athlete != 3
        worse = replace(gym.log, result=np.where(others, 0, gym.log.result))
        for ours, theirs in zip(
            run(gym).beliefs.abilities(), run(gym, worse).beliefs.abilities(), strict=True
        ):
            assert np.array_equal(ours[3], theirs[3])
            assert not np.allclose(ours, theirs)

    def test_an_empty_log_leaves_the_prior_and_the_passing_of_time_out(self) -> None:
        mean, variance = general()
        assert mean == BEFORE.level(1)
        assert variance == pytest.approx(BEFORE.general_sd**2)


class TestWhatATryIsUpAgainst:
    def test_it_adds_difficulty_variant_and_severity(self) -> None:
        rows = [Try("ada", "LAND-2", coach="kim", variant="drop+1"), Try("ada", "LAND-2", coach="")]
        parameters = replace(BEFORE, severity={"kim": 0.3}, variant={"drop+1": 0.5})
        hard = hardness(log_of(CATALOGUE, ["ada"], rows), parameters)
        base = BEFORE.difficulty[CATALOGUE.position["LAND-2"]]
        assert sorted(hard) == pytest.approx([base, base + 0.8])

    def test_a_clean_try_counts_for_more_with_a_strict_coach(self) -> None:
        strict = replace(BEFORE, severity={"kim": 0.8})
        row = Try("ada", "HANG-1", coach="kim")
        assert general(row, parameters=strict)[0] > general(row)[0]


class TestTime:
    ROWS = tuple(tries("ada", "LAND-1", "ccc", ago=(60.0,)))

    def widened(self, days: float, **pauses: object) -> float:
        """Growth of the variance from the day of the tries to ``days`` later."""
        tried = TODAY + 0.75 - 60
        return (
            general(*self.ROWS, until=tried + days, **pauses)[1]
            - general(*self.ROWS, until=tried)[1]
        )

    def test_certainty_fades_evenly_while_training(self) -> None:
        assert self.widened(14) == pytest.approx(2 * self.widened(7), rel=1e-3)

    def test_beyond_a_long_break_it_fades_twice_as_fast(self) -> None:
        a_week = self.widened(7)
        assert self.widened(49) - self.widened(42) == pytest.approx(2 * a_week, rel=1e-3)

    def test_a_hold_makes_it_fade_faster_too(self) -> None:
        start = TODAY - 60.0
        held = self.widened(14, pauses={"ada": [(start + 1, start + 8)]})
        assert held == pytest.approx(self.widened(21), rel=1e-3)

    def test_a_hold_that_lies_between_two_tries_counts_once(self) -> None:
        rows = (*self.ROWS, Try("ada", "LAND-1", ago=50))
        hold = {"ada": [(TODAY - 58.0, TODAY - 54.0)]}
        long_before = {"ada": [(TODAY - 90.0, TODAY - 70.0)]}
        assert general(*rows, pauses=hold)[1] > general(*rows)[1]
        assert general(*rows, pauses=long_before)[1] == pytest.approx(general(*rows)[1])

    def test_holds_of_children_without_a_log_are_passed_over(self) -> None:
        assert general(*self.ROWS, pauses={"nobody": [(0.0, 1e6)]}) == general(*self.ROWS)

    def test_ability_grows_while_training_and_no_further_in_a_long_break(self) -> None:
        tried = TODAY + 0.75 - 60
        days = (0, 14, LONG_BREAK, 50)
        start, after_14, at_break, after = (
            general(*self.ROWS, until=tried + day)[0] for day in days
        )
        assert after_14 == pytest.approx(start + 14 * BEFORE.growth, abs=1e-4)
        assert after == pytest.approx(at_break, abs=1e-4)

    def test_no_chance_jumps_on_the_day_a_break_becomes_long(self) -> None:
        tried = TODAY + 0.75 - 60
        before, after = (
            general(*self.ROWS, until=tried + LONG_BREAK + shift)[0] for shift in (-0.01, 0.01)
        )
        assert after == pytest.approx(before, abs=1e-3)

    def test_within_a_day_nothing_is_learnt_or_lost_by_the_clock(self) -> None:
        an_hour_apart = general(
            Try("ada", "LAND-1", ago=1), Try("ada", "LAND-1", ago=1 - 1 / 24), until=TODAY + 7.0
        )
        at_once = general(
            Try("ada", "LAND-1", ago=1 - 1 / 24),
            Try("ada", "LAND-1", ago=1 - 1 / 24),
            until=TODAY + 7.0,
        )
        assert an_hour_apart == at_once

    def test_a_day_may_be_given_as_a_whole_number(self) -> None:
        assert general(*self.ROWS, until=TODAY) == general(*self.ROWS, until=float(TODAY))


class TestTrace:
    def test_a_trace_ends_where_the_replay_ends(self, gym: SimulatedGym) -> None:
        parameters = Parameters.before_any_log(gym.catalogue)
        whole = run(gym).beliefs
        for row in (0, 5, 21):
            mine = gym.log.of([row])
            told = trace(gym.catalogue, gym.tiers[row], mine, parameters, gym.on_day + 1.0)
            assert told.mean[-1] == pytest.approx(whole.root_mean[row], abs=1e-9)
            assert told.variance[-1] == pytest.approx(whole.root_var[row], abs=1e-9)
            assert told.days[-1] == gym.on_day + 1

    def test_a_trace_has_one_entry_for_each_day_with_a_try(self) -> None:
        rows = [*tries("ada", "LAND-1", "mca", ago=(9.0,)), Try("ada", "HANG-1", ago=2)]
        told = trace(CATALOGUE, 1, log_of(CATALOGUE, ["ada"], rows), BEFORE, END)
        assert told.days.tolist() == [TODAY - 9, TODAY - 2, TODAY + 1]

    def test_a_trace_takes_holds_into_account(self) -> None:
        log = log_of(CATALOGUE, ["ada"], [Try("ada", "LAND-1", ago=9)])
        pauses = {"ada": [(TODAY - 5.0, TODAY + 0.0)]}
        held = trace(CATALOGUE, 1, log, BEFORE, END, pauses)
        whole = replay(CATALOGUE, [1], log, BEFORE, END, pauses).beliefs
        assert held.variance[-1] == pytest.approx(whole.root_var[0])
        assert held.variance[-1] > trace(CATALOGUE, 1, log, BEFORE, END).variance[-1]
