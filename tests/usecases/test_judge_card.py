"""What a card comes down to, for good engines, bad ones, and those nobody can tell."""

import numpy as np
import pytest

from progress.engine.predictions import Predictions
from progress.engine.report_card import Against, Marks, ReportCard, marks
from progress.usecases.judge_card import (
    LEAST_JUDGED,
    LEAST_LEARNT,
    OFF_BY,
    YARDSTICKS,
    Fit,
    Trust,
    fit_of,
    judge_card,
    more_needed,
)

BETTER, CLOSE, WORSE = (0.02, 0.05), (-0.01, 0.02), (-0.05, -0.02)


def marks_of(attempts: int = 2000, said: float = 0.0, seed: int = 5) -> Marks:
    """Of an engine that says ``said`` more than is true."""
    dice = np.random.default_rng(seed)
    true = dice.uniform(0.3, 0.85, attempts)
    clean = (dice.random(attempts) < true).astype(np.int64)
    who = np.arange(attempts) % 40
    chance = np.clip(true + said, 0.01, 0.99)
    return marks(Predictions(np.arange(attempts), chance, clean, who, who))


def card_of(overall: Marks | None = None, **bounds: tuple[float, float]) -> ReportCard:
    against = {}
    for name in YARDSTICKS:
        low, high = bounds.get(name, BETTER)
        against[name] = Against(0.5, 0.2, (low + high) / 2, low, high)
    whole = overall or marks_of()
    return ReportCard(1, whole, {"landing": whole}, {1: whole}, ("hanging",), against)


class TestTrust:
    def test_chances_that_hold_and_beat_every_plainer_way_may_be_relied_on(self) -> None:
        verdict = judge_card(card_of())
        assert (verdict.trust, verdict.fit) == (Trust.RELY, Fit.AS_SAID)
        assert (verdict.worst, verdict.says_too_much) == (None, None)

    def test_chances_that_are_off_may_not_however_much_they_beat(self) -> None:
        verdict = judge_card(card_of(marks_of(said=0.14)))
        assert (verdict.trust, verdict.fit) == (Trust.DO_NOT, Fit.OFF)
        assert verdict.says_too_much is True
        assert verdict.worst is not None
        assert verdict.worst.said - verdict.worst.seen > 0.08

    def test_it_says_when_it_says_too_little(self) -> None:
        assert judge_card(card_of(marks_of(said=-0.14))).says_too_much is False

    @pytest.mark.parametrize("name", YARDSTICKS)
    def test_one_plainer_way_that_is_surely_better_is_enough_against_it(self, name: str) -> None:
        verdict = judge_card(card_of(**{name: WORSE}))
        assert verdict.trust is Trust.DO_NOT
        assert verdict.beaten_by == (name,)

    @pytest.mark.parametrize("name", YARDSTICKS)
    def test_what_is_too_close_to_say_asks_for_care(self, name: str) -> None:
        verdict = judge_card(card_of(**{name: CLOSE}))
        assert verdict.trust is Trust.CARE
        assert verdict.too_close_to == (name,)

    def test_with_one_child_alone_nothing_is_sure(self) -> None:
        card = card_of()
        alone = {name: Against(0.5, 0.2, 0.1, None, None) for name in YARDSTICKS}
        only = ReportCard(1, card.overall, {}, {}, (), alone)
        assert judge_card(only).trust is Trust.CARE

    @pytest.mark.parametrize(
        ("attempts", "enough"), [(LEAST_JUDGED - 1, False), (LEAST_JUDGED, True)]
    )
    def test_a_card_of_few_attempts_says_nothing(self, attempts: int, enough: bool) -> None:
        verdict = judge_card(card_of(marks_of(attempts)))
        assert (verdict.trust is not Trust.TOO_LITTLE) is enough
        assert judge_card(None).trust is Trust.TOO_LITTLE


class TestFit:
    def test_a_small_gap_that_is_no_luck_is_a_little_off(self) -> None:
        found = marks_of(20_000, said=0.03)
        assert fit_of(found) is Fit.A_LITTLE_OFF
        assert judge_card(card_of(found)).worst is not None

    def test_a_gap_that_luck_explains_is_none(self) -> None:
        few = marks_of(60, seed=6)
        assert few.calibration is not None
        assert few.calibration.error > OFF_BY
        assert fit_of(few) is Fit.AS_SAID

    def test_among_many_parts_it_takes_more_to_call_one_off(self) -> None:
        found = next(
            one
            for one in (marks_of(150, said=0.06, seed=seed) for seed in range(200))
            if one.calibration is not None and 0.01 < one.calibration.p < 0.05
        )
        assert fit_of(found) is not Fit.AS_SAID
        assert fit_of(found, of_many=5) is Fit.AS_SAID

    def test_however_many_parts_a_bad_one_is_called_off(self) -> None:
        assert fit_of(marks_of(said=0.14), of_many=400) is Fit.OFF


class TestTheUsualLine:
    def test_it_is_the_one_nearest_to_eighty_percent(self) -> None:
        usual = judge_card(card_of()).usual
        assert usual is not None
        assert 0.7 < usual.said < 0.9

    def test_a_line_of_few_tries_is_passed_over(self) -> None:
        dice = np.random.default_rng(2)
        chance = np.r_[dice.uniform(0.41, 0.49, 400), [0.81] * 5]
        clean = (dice.random(405) < chance).astype(np.int64)
        who = np.arange(405) % 20
        usual = judge_card(card_of(marks(Predictions(who, chance, clean, who, who)))).usual
        assert usual is not None
        assert usual.attempts == 400


class TestHowMuchMore:
    def test_enough_is_enough(self) -> None:
        assert more_needed(learnt=LEAST_LEARNT, judged=LEAST_JUDGED) == 0

    def test_of_nothing_it_takes_the_least_at_the_usual_share(self) -> None:
        assert more_needed(learnt=0, judged=0) == LEAST_JUDGED / 0.4

    def test_what_is_there_counts(self) -> None:
        """Half of them judged: twice 200 are needed, and 100 are there."""
        assert more_needed(learnt=50, judged=50) == 300

    def test_it_never_says_none_while_something_is_missing(self) -> None:
        assert more_needed(learnt=LEAST_LEARNT - 1, judged=5000) >= 1
        assert more_needed(learnt=5000, judged=LEAST_JUDGED - 1) >= 1
