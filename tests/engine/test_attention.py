"""Who went back, who was not checked, and who comes less often."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import fisher_exact

from progress.engine.attention import (
    Attendance,
    attendance,
    fewer_by_luck,
    not_checked,
    went_back,
)
from progress.engine.picture import Picture, picture
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Decision
from tests.engine.small_gyms import (
    TODAY,
    Try,
    landing_and_hanging,
    log_of,
    secure_at,
    surer,
    tries,
)


def on_day(rows: list[Try], day: int, tier: int = 1) -> Picture:
    """What was known at the end of ``day`` of one athlete."""
    catalogue = landing_and_hanging()
    log = log_of(catalogue, ["ada"], rows).before(day + 1.0)
    able = surer(catalogue)
    return picture(catalogue, [Athlete("ada", tier)], log, able, Rules(), day)


class TestWentBack:
    def ready(self) -> list[Try]:
        return secure_at("ada", "LAND-1", "HANG-1")

    def test_misses_take_a_ready_athlete_back_and_name_the_skill(self) -> None:
        lately = tries("ada", "HANG-1", "mmmmmmmm", ago=(0.4,))
        rows = self.ready() + lately
        found = went_back(on_day(rows, TODAY - 1), on_day(rows, TODAY))
        assert [(one.athlete, one.before) for one in found] == [("ada", Decision.READY)]
        assert found[0].now in (Decision.NEARLY, Decision.BUILDING)
        assert found[0].slipped[:1] == ("HANG-1",)
        assert found[0].p_now < found[0].p_before
        assert (found[0].attempts_since, found[0].open_only) == (8, False)

    def test_evidence_that_only_grew_old_is_told_apart(self) -> None:
        rows = self.ready()
        catalogue = landing_and_hanging()
        still = replace(surer(catalogue), drift=1e-6, growth=0.0)
        log = log_of(catalogue, ["ada"], rows)
        both = [
            picture(catalogue, [Athlete("ada", 1)], log, still, Rules(), day)
            for day in (TODAY, TODAY + 60)
        ]
        (found,) = went_back(*both)
        assert (found.before, found.now) == (Decision.READY, Decision.NEEDS_CHECKS)
        assert found.open_only
        assert found.slipped == ()
        assert set(found.gone_stale) == {"LAND-1", "HANG-1"}

    def test_who_stays_or_gets_better_is_not_named(self) -> None:
        rows = self.ready()
        now = on_day(rows, TODAY)
        assert went_back(now, now) == ()
        assert went_back(on_day(rows, TODAY - 20), now) == ()

    def test_who_moved_up_is_asked_another_question(self) -> None:
        rows = self.ready()
        assert went_back(on_day(rows, TODAY), on_day(rows, TODAY, tier=2)) == ()

    def test_two_catalogues_are_refused(self) -> None:
        now = on_day(self.ready(), TODAY)
        skills = tuple(replace(skill, standard=0.9) for skill in now.catalogue.skills)
        other = replace(now, catalogue=replace(now.catalogue, skills=skills))
        with pytest.raises(ValueError, match="catalogues"):
            went_back(now, other)


class TestNotChecked:
    def test_the_never_checked_come_first_then_the_longest_ago(self) -> None:
        catalogue = landing_and_hanging()
        people = [Athlete(code, 1) for code in ("ada", "ben", "cem", "dan")]
        people[1] = replace(people[1], held=True)
        rows = [Try("ada", "HANG-1", ago=28), Try("ben", "HANG-1", ago=50)]
        rows.append(Try("cem", "HANG-1", ago=27))
        log = log_of(catalogue, [person.code for person in people], rows)
        found = not_checked(people, log, TODAY)
        assert [(one.athlete, one.days_ago, one.on_hold) for one in found] == [
            ("dan", None, False),
            ("ben", 50, True),
            ("ada", 28, False),
        ]
        assert found[2].last_day == TODAY - 28

    def test_other_athletes_than_the_logs_are_refused(self) -> None:
        log = log_of(landing_and_hanging(), ["ada"], [])
        with pytest.raises(ValueError, match="order"):
            not_checked([Athlete("ben", 1)], log, TODAY)


class TestAttendance:
    def compare(self, *counts: int) -> Attendance:
        return attendance(["ada"], *(np.array([count]) for count in counts))[0]

    def test_the_lady_tasting_tea(self) -> None:
        """Fisher 1935, The Design of Experiments: three or more of four right, 17 in 70."""
        counts = (np.array([one]) for one in (3, 4, 1, 4))
        assert fewer_by_luck(*counts) == pytest.approx([17 / 70])

    @pytest.mark.parametrize("seed", range(3))
    def test_it_is_the_exact_test_of_scipy(self, seed: int) -> None:
        dice = np.random.default_rng(seed)
        held = dice.integers(0, 15, (2, 40))
        came = dice.integers(0, held + 1)
        ours = fewer_by_luck(came[0], held[0], came[1], held[1])
        for row in range(40):
            (a, b), (c, d) = held[:, row], came[:, row]
            table = [[d, b - d], [c, a - c]]
            theirs = fisher_exact(table, alternative="less").pvalue
            assert ours[row] == pytest.approx(float(theirs), abs=1e-9)

    def test_coming_half_as_often_over_many_weeks_is_a_drop(self) -> None:
        found = self.compare(11, 12, 5, 12)
        assert found.dropped
        assert found.p < 0.05

    @pytest.mark.parametrize("counts", [(2, 2, 1, 2), (5, 12, 11, 12), (0, 0, 0, 6), (6, 6, 0, 0)])
    def test_what_is_no_drop(self, counts: tuple[int, int, int, int]) -> None:
        assert not self.compare(*counts).dropped

    def test_steady_comers_are_seldom_called_out(self) -> None:
        dice = np.random.default_rng(1)
        came = dice.binomial(12, 0.8, (2, 4000))
        full = np.full(4000, 12)
        assert np.mean(fewer_by_luck(came[0], full, came[1], full) < 0.05) < 0.05

    def test_coming_more_often_than_there_were_meetings_is_refused(self) -> None:
        with pytest.raises(ValueError, match="meetings"):
            self.compare(3, 2, 1, 2)
