"""The card of a made-up gym is the engine's own, and nothing later leaks into what was said."""

from datetime import date, timedelta

import numpy as np
import pytest

from progress.engine import predictions
from progress.engine.calibration import calibrate
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.report_card import report_card
from progress.models import Athlete, Attempt, Skill, StaffMember
from progress.usecases.engine_inputs import read_log
from progress.usecases.judge_card import Trust
from progress.usecases.see_report_card import (
    Judged,
    first_judged_day,
    judge_engine,
    see_report_card,
)
from tests import makers

DAY = timedelta(days=1)


@pytest.fixture
def filled(
    small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember, today: date
) -> list[Athlete]:
    """Twelve children, each tried weekly for twenty weeks at two or three skills."""
    dice = np.random.default_rng(11)
    skills = list(small_catalogue.values())
    children = [makers.make_athlete(f"kid-{number:02d}") for number in range(12)]
    rows = []
    for week in range(20, 0, -1):
        for child, able in zip(children, np.linspace(0.2, 0.9, 12), strict=True):
            for number in dice.integers(0, 5, 3):
                result = "clean" if dice.random() < able else "miss"
                rows.append(
                    Attempt(
                        uid=makers.next_code("attempt"),
                        athlete=child,
                        skill=skills[number],
                        result=result,
                        at=makers.moment(today - week * 7 * DAY, minute=int(dice.integers(60))),
                        coach=(coach, lead)[week % 2],
                    )
                )
    Attempt.objects.bulk_create(rows)
    return children


@pytest.fixture
def learnt(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Log, Parameters, tuple[int, ...]]]:
    """What the engine learnt from, what it learnt, and the tiers it was told."""
    seen: list[tuple[Log, Parameters, tuple[int, ...]]] = []

    def watched(catalogue: object, tiers: object, log: Log, variants: object = None) -> Parameters:
        found = calibrate(catalogue, tiers, log, variants)  # type: ignore[arg-type]
        seen.append((log, found, tuple(tiers)))  # type: ignore[arg-type]
        return found

    monkeypatch.setattr(predictions, "calibrate", watched)
    return seen


def values_of(parameters: Parameters) -> str:
    return repr(sorted(parameters.as_json().items()))


class TestAgainstTheEngine:
    def test_it_is_the_engines_card_on_the_same_log(
        self, filled: list[Athlete], today: date
    ) -> None:
        catalogue = Skill.objects.as_catalogue()
        log = read_log(catalogue, filled, today)
        first = predictions.split_day(log)
        said = predictions.said_before(catalogue, [1] * 12, log, first)
        straight = report_card(catalogue, [1] * 12, log, said, first)

        judged = judge_engine(today)

        assert judged.card is not None
        assert judged.card.overall == straight.overall
        assert judged.card.against == straight.against
        assert judged.first_day == date.fromordinal(first)
        assert (judged.learnt_from, judged.judged) == (12 * 36, 8 * 36)
        assert (judged.children, judged.of_children, judged.more_needed) == (12, 12, 0)

    def test_attempts_of_a_judged_day_change_nothing_that_was_learnt(
        self,
        filled: list[Athlete],
        learnt: list[tuple[Log, Parameters, tuple[int, ...]]],
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        today: date,
    ) -> None:
        first = judge_engine(today).first_day
        assert first is not None
        for child in filled:
            makers.make_attempts(
                child, small_catalogue["LAND-1"], ["clean"] * 5, days=[first], coaches=(coach,)
            )
        again = judge_engine(today)
        assert again.first_day == first
        assert again.judged == 8 * 36 + 60
        (before, _), (after, _) = [(values_of(one[1]), one[0]) for one in learnt]
        assert before == after

    def test_attempts_before_it_do(
        self,
        filled: list[Athlete],
        learnt: list[tuple[Log, Parameters, tuple[int, ...]]],
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        today: date,
    ) -> None:
        judge_engine(today)
        early = today - 19 * 7 * DAY
        for child in filled:
            makers.make_attempts(
                child, small_catalogue["LAND-1"], ["miss"] * 9, days=[early], coaches=(coach,)
            )
        judge_engine(today)
        assert values_of(learnt[0][1]) != values_of(learnt[1][1])

    def test_the_tiers_are_those_in_which_the_first_judged_day_began(
        self,
        filled: list[Athlete],
        learnt: list[tuple[Log, Parameters, tuple[int, ...]]],
        lead: StaffMember,
        today: date,
    ) -> None:
        first = judge_engine(today).first_day
        assert first is not None
        for child, day in ((filled[0], first), (filled[1], first - DAY)):
            makers.make_sign_off(child, lead, decided_at=makers.moment(day))
            Athlete.objects.filter(pk=child.pk).update(tier=2)
        judge_engine(today)
        assert learnt[1][2][:3] == (1, 2, 1)

    def test_attempts_after_the_day_asked_do_not_count(
        self, filled: list[Athlete], today: date
    ) -> None:
        last = today - 7 * DAY
        assert judge_engine(last - DAY).judged + judge_engine(last - DAY).learnt_from == 19 * 36


class TestVeryLongLogs:
    def test_the_last_attempts_are_judged(self, filled: list[Athlete], today: date) -> None:
        judged = judge_engine(today, most_judged=100)
        assert judged.judged == 72  # two whole days of 36
        assert judged.learnt_from == 18 * 36

    def test_the_last_day_is_judged_however_full(self, filled: list[Athlete], today: date) -> None:
        log = read_log(Skill.objects.as_catalogue(), filled, today)
        assert first_judged_day(log, 5) == log.day.max()

    def test_children_are_drawn_by_lot_and_always_the_same(
        self, filled: list[Athlete], today: date
    ) -> None:
        once, again = (judge_engine(today, most_read=400) for _ in range(2))
        assert (once.children, once.of_children) == (6, 12)
        assert once.learnt_from + once.judged == 360
        assert once.card == again.card


class TestTooLittle:
    def test_an_empty_gym_says_how_much_it_takes(self, db: None, today: date) -> None:
        seen = see_report_card(today=today)
        assert seen.verdict.trust is Trust.TOO_LITTLE
        assert (seen.judged.card, seen.judged.more_needed) == (None, 500)

    def test_a_few_attempts_are_not_judged(self, ada: Athlete, today: date) -> None:
        judged = judge_engine(today)
        assert judged.card is None
        assert judged.learnt_from + judged.judged == 16
        assert judged.more_needed > 200


def test_it_is_worked_out_once_a_day(
    filled: list[Athlete], today: date, django_assert_max_num_queries: object
) -> None:
    seen = see_report_card(today=today)
    assert seen.judged.until == today - DAY
    assert seen.verdict.trust is not Trust.TOO_LITTLE
    assert seen.ladders == {"landing": "Landing", "hanging": "Hanging"}
    with django_assert_max_num_queries(9):  # type: ignore[operator]
        kept: Judged = see_report_card(today=today).judged
    assert kept == seen.judged
