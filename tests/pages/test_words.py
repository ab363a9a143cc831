"""How chances, days and states are said."""

from datetime import date

import pytest

from progress.engine.terms import Decision, Result, SkillState
from progress.pages.shared import shapes, words

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.84, "84%"), (0.004, "under 1%"), (0.999, "over 99%"), (0.995, "over 99%"), (0.99, "99%")],
)
def test_staff_read_whole_percentages_but_never_certainty(chance: float, said: str) -> None:
    assert words.percent(chance) == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.82, "Clean about 8 times in 10"),
        (0.11, "Clean about 1 time in 10"),
        (0.03, "Hardly ever clean yet"),
        (0.97, "Clean nearly every time"),
    ],
)
def test_families_read_tries_out_of_ten(chance: float, said: str) -> None:
    assert words.in_ten(chance) == said


@pytest.mark.parametrize("tenths", range(101))
def test_families_never_read_a_percentage(tenths: int) -> None:
    assert "%" not in words.in_ten(tenths / 100)


def test_likelihood_words_grow_with_the_chance() -> None:
    said = [words.likelihood(chance / 100) for chance in range(101)]

    assert list(dict.fromkeys(said)) == [
        "very unlikely yet",
        "unlikely yet",
        "could go either way",
        "likely",
        "very likely",
    ]


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2026, 3, 2), "today"),
        (date(2026, 3, 1), "yesterday"),
        (date(2026, 2, 20), "10 days ago"),
        (date(2026, 2, 2), "4 weeks ago"),
        (None, "never"),
    ],
)
def test_days_are_counted_as_a_coach_would(day: date | None, said: str) -> None:
    assert words.days_ago(day, TODAY) == said


@pytest.mark.parametrize("step", [-2, -1])
def test_a_step_down_is_easier(step: int) -> None:
    assert words.step_word(step) == "easier"


def test_every_result_state_and_decision_has_a_shape_and_a_word_of_its_own() -> None:
    for kinds, marks in (
        (Result, shapes.RESULTS),
        (SkillState, shapes.STATES),
        (SkillState, shapes.FAMILY_STATES),
        (Decision, shapes.DECISIONS),
    ):
        assert set(marks) == set(kinds)
        assert len({mark.shape for mark in marks.values()}) == len(kinds)
        assert len({mark.word for mark in marks.values()}) == len(kinds)


def test_no_word_promises_safety() -> None:
    said = [
        mark.word.lower() for kind in (shapes.STATES, shapes.DECISIONS) for mark in kind.values()
    ]

    assert not [word for word in said if "safe" in word]
