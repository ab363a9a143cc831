"""The evidence floors a coach can recite. The numbers are common practice, no source."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from progress.engine.evidence import Evidence, gather_evidence, in_order_of_need
from progress.engine.rules import Rules
from progress.engine.terms import Catalogue, Skill
from tests.engine.small_gyms import (
    KIM,
    LEE,
    TODAY,
    Try,
    landing_and_hanging,
    log_of,
    tries,
)

CATALOGUE = landing_and_hanging()
GATE, PLAIN = "LAND-1", "HANG-1"
BOTH_KNOWN = [Try("bo", PLAIN, coach=KIM), Try("bo", PLAIN, coach=LEE)]


def evidence(rows: Sequence[Try], rules: Rules | None = None) -> Evidence:
    """Of Ada (row 0) and Bo (row 1)."""
    log = log_of(CATALOGUE, ["ada", "bo"], rows)
    return gather_evidence(CATALOGUE, log, rules or Rules(), TODAY)


def enough(skill: str, *rows: Try, rules: Rules | None = None) -> bool:
    """Whether Ada's floor at ``skill`` is met by these tries, in a gym with two coaches."""
    told = evidence([*rows, *BOTH_KNOWN], rules)
    return bool(told.floor[0, CATALOGUE.position[skill]])


class TestGates:
    """Five of the last five clean, on two days, by two coaches."""

    def test_five_in_a_row_on_two_days_by_two_coaches_are_enough(self) -> None:
        assert enough(GATE, *tries("ada", GATE, "ccccc", ago=(8, 1)))

    def test_four_in_a_row_are_not(self) -> None:
        assert not enough(GATE, *tries("ada", GATE, "cccc", ago=(8, 1)))

    @pytest.mark.parametrize("results", ["ccccccccm", "cccccccca", "ccccmcccc", "mmmmmacccc"])
    def test_the_last_five_must_all_be_clean(self, results: str) -> None:
        assert not enough(GATE, *tries("ada", GATE, results, ago=(8, 1)))

    def test_what_came_before_the_last_five_does_not_matter(self) -> None:
        assert enough(GATE, *tries("ada", GATE, "mmammmccccc", ago=(9, 8, 1)))

    def test_one_day_is_not_enough(self) -> None:
        assert not enough(GATE, *tries("ada", GATE, "ccccccccc", ago=(1,)))

    def test_days_count_over_the_whole_unbroken_run(self) -> None:
        """So that more clean tries on one day never undo a gate."""
        rows = [*tries("ada", GATE, "cc", ago=(8,)), *tries("ada", GATE, "ccccc", ago=(1,))]
        assert enough(GATE, *rows)
        broken = [*tries("ada", GATE, "ccm", ago=(8,)), *tries("ada", GATE, "ccccc", ago=(1,))]
        assert not enough(GATE, *broken)

    def test_coaches_count_over_the_whole_unbroken_run(self) -> None:
        rows = tries("ada", GATE, "cc", ago=(8,), coaches=(LEE,))
        more = tries("ada", GATE, "ccccc", ago=(1,), coaches=(KIM,))
        assert enough(GATE, *rows, *more)

    def test_one_coach_is_not_enough_where_the_gym_has_two(self) -> None:
        rows = tries("ada", GATE, "ccccc", ago=(8, 1), coaches=(KIM,))
        assert not enough(GATE, *rows)

    def test_one_coach_is_enough_where_the_gym_has_one(self) -> None:
        told = evidence(tries("ada", GATE, "ccccc", ago=(8, 1), coaches=(KIM,)))
        assert told.coaches_needed == 1
        assert told.floor[0, CATALOGUE.position[GATE]]

    def test_a_coach_counts_who_recorded_none_of_the_athletes_asked_about(self) -> None:
        """Whoever else is on the page, the gym has two coaches."""
        log = log_of(CATALOGUE, ["ada"], tries("ada", GATE, "ccccc", ago=(8, 1), coaches=(KIM,)))
        told = gather_evidence(CATALOGUE, replace(log, coaches=(KIM, LEE)), Rules(), TODAY)
        assert told.coaches_needed == 2
        assert not told.floor[0, CATALOGUE.position[GATE]]

    def test_tries_by_nobody_known_do_not_make_two_coaches(self) -> None:
        assert not enough(GATE, *tries("ada", GATE, "ccccc", ago=(8, 1), coaches=("",)))
        assert not enough(GATE, *tries("ada", GATE, "ccccc", ago=(8, 1), coaches=(KIM, "")))

    @pytest.mark.parametrize(("oldest", "met"), [(56, True), (57, False)])
    def test_all_five_must_be_fresh(self, oldest: int, met: bool) -> None:
        """Nothing older than 8 weeks counts; what is 8 weeks old to the day still does."""
        rows = [Try("ada", GATE, ago=oldest, coach=LEE), *tries("ada", GATE, "cccc", ago=(1,))]
        assert enough(GATE, *rows) is met

    def test_a_clean_try_at_a_skill_that_needs_it_does_not_count_for_the_five(self) -> None:
        rows = [*tries("ada", GATE, "cccc", ago=(8, 1)), *tries("ada", "LAND-2", "ccc", ago=(1,))]
        assert not enough(GATE, *rows)

    def test_a_lead_may_ask_for_other_numbers(self) -> None:
        rows = tries("ada", GATE, "ccc", ago=(1,), coaches=(KIM,))
        assert enough(GATE, *rows, rules=Rules(gate_clean_in_a_row=3, gate_days=1, gate_coaches=1))
        assert not enough(GATE, *rows, rules=Rules(gate_clean_in_a_row=3, gate_days=1))


class TestOtherSkills:
    """Two clean on two days."""

    def test_two_clean_on_two_days_are_enough_whoever_saw_them(self) -> None:
        assert enough(PLAIN, *tries("ada", PLAIN, "cc", ago=(8, 1), coaches=(KIM,)))

    def test_misses_between_do_not_undo_them(self) -> None:
        assert enough(PLAIN, *tries("ada", PLAIN, "cmmam" + "mamcm", ago=(8, 1)))

    def test_one_day_is_not_enough(self) -> None:
        assert not enough(PLAIN, *tries("ada", PLAIN, "cccccc", ago=(1,)))

    def test_help_is_not_clean(self) -> None:
        assert not enough(PLAIN, *tries("ada", PLAIN, "caaaaa", ago=(8, 1)))

    @pytest.mark.parametrize(("last", "met"), [(56, True), (57, False)])
    def test_one_of_them_must_be_fresh(self, last: int, met: bool) -> None:
        assert enough(PLAIN, Try("ada", PLAIN, ago=200), Try("ada", PLAIN, ago=last)) is met

    def test_a_fresh_miss_is_not_a_fresh_look(self) -> None:
        rows = [Try("ada", PLAIN, ago=200), Try("ada", PLAIN, ago=100), Try("ada", PLAIN, "miss")]
        assert not enough(PLAIN, *rows)

    def test_a_clean_try_at_a_skill_that_needs_it_refreshes_it(self) -> None:
        """HANG-2 needs HANG-1: nobody travels along the bar who cannot hang."""
        old = [Try("ada", PLAIN, ago=200), Try("ada", PLAIN, ago=100)]
        assert not enough(PLAIN, *old)
        assert enough(PLAIN, *old, Try("ada", "HANG-2", ago=3))
        assert not enough(PLAIN, *old, Try("ada", "HANG-2", "assisted", ago=3))
        assert not enough(PLAIN, *old, Try("bo", "HANG-2", ago=3))

    def test_it_refreshes_but_does_not_stand_for_clean_tries(self) -> None:
        assert not enough(PLAIN, *tries("ada", "HANG-2", "cccc", ago=(8, 1)))


class TestCounts:
    ROWS = (
        *tries("ada", PLAIN, "mac", ago=(70,)),
        *tries("ada", PLAIN, "ccmcc", ago=(9, 2)),
        Try("bo", GATE, ago=4),
    )

    def test_attempts_days_and_clean_ones_are_counted_over_the_whole_log(self) -> None:
        told, at = evidence(self.ROWS), CATALOGUE.position[PLAIN]
        assert (told.attempts[0, at], told.days[0, at]) == (8, 3)
        assert (told.clean[0, at], told.clean_days[0, at]) == (5, 3)
        assert told.recent[0, at] == 5
        assert told.last[0, at] == TODAY - 2
        assert told.last_result[0, at] == 2

    def test_the_run_is_of_the_latest_clean_tries(self) -> None:
        told, at = evidence(self.ROWS), CATALOGUE.position[PLAIN]
        assert (told.run[0, at], told.run_days[0, at], told.run_coaches[0, at]) == (2, 1, 2)

    def test_what_was_never_tried_has_no_last_day_and_no_run(self) -> None:
        told = evidence(self.ROWS)
        at = CATALOGUE.position["LAND-2"]
        assert (told.last[0, at], told.shown[0, at], told.last_result[0, at]) == (-1, -1, -1)
        assert (told.attempts[0, at], told.run[0, at]) == (0, 0)
        assert told.last[1, CATALOGUE.position[PLAIN]] == -1

    def test_an_empty_log_has_no_evidence(self) -> None:
        told = evidence([])
        assert not told.floor.any()
        assert np.all(told.last == -1)


def test_a_clean_try_is_a_fresh_look_at_everything_below_however_far() -> None:
    chain = Catalogue(
        (
            Skill("D", "x", 4, needs=("C",)),
            Skill("A", "x", 1),
            Skill("C", "x", 3, needs=("B", "E")),
            Skill("B", "x", 2, needs=("A",)),
            Skill("E", "y", 1),
            Skill("F", "y", 2, needs=("E",)),
        )
    )
    log = log_of(chain, ["ada"], [Try("ada", "D", ago=3), Try("ada", "A", ago=9)])
    told = gather_evidence(chain, log, Rules(), TODAY)
    shown = dict(zip([s.code for s in chain.skills], told.shown[0].tolist(), strict=True))
    assert shown == dict.fromkeys("ABCDE", TODAY - 3) | {"F": -1}
    order = [chain.skills[column].code for column in in_order_of_need(chain)]
    assert order.index("A") < order.index("B") < order.index("C") < order.index("D")
