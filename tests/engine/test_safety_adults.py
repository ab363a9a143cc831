"""How many adults a group needs, and the prompt where there are fewer."""

import pytest

from progress.engine.safety import adults_needed, prompts
from progress.engine.safety_facts import (
    CPSU_RATIOS,
    AgeRatio,
    GroupFacts,
    SafetyLimits,
    Severity,
    Status,
)


class TestAdults:
    """NSPCC CPSU rows, read: 0-2 1:3, 2-3 1:4, 4-8 1:6, 9-12 1:8, 13-18 1:10, always 2 adults.

    The formula max(2, children / ratio rounded up) is a proposal of this project.
    """

    @pytest.mark.parametrize(
        ("children", "youngest", "adults"),
        [
            (14, 5, 3),
            (6, 5, 2),
            (12, 8.99, 2),
            (13, 8.99, 3),
            (16, 9, 2),
            (17, 12.9, 3),
            (20, 13, 2),
            (21, 17, 3),
            (9, 2.5, 3),
            (12, 3.5, 3),
            (1, 16, 2),
            (11, 25, 2),
            (0, 5, 0),
        ],
    )
    def test_as_many_as_the_youngest_band_asks_for(
        self, children: int, youngest: float, adults: int
    ) -> None:
        assert adults_needed(children, youngest) == adults

    def test_one_too_few_is_a_stop_with_both_numbers_and_the_source(self) -> None:
        (prompt,) = prompts([], GroupFacts(14, 5, 2))
        assert (prompt.severity, prompt.rule) == (Severity.STOP, "too-few-adults")
        assert (prompt.found, prompt.compared) == (2, 3)
        assert "NSPCC" in prompt.source
        assert (prompt.status, prompt.analogy, prompt.station) == (Status.READ, False, None)
        assert prompts([], GroupFacts(14, 5, 3)) == ()

    def test_a_programmes_own_ratios_are_used_and_named_as_such(self) -> None:
        own = SafetyLimits(ratios=(AgeRatio(6, 4), AgeRatio(18, 8)))
        assert adults_needed(14, 5, own) == 4
        (prompt,) = prompts([], GroupFacts(14, 5, 3), own)
        assert prompt.status is Status.OWN
        assert "NSPCC" not in prompt.source

    def test_without_an_age_at_least_the_most_lenient_row_is_asked_for(self) -> None:
        found = {prompt.rule: prompt for prompt in prompts([], GroupFacts(25, None, 2))}
        assert found["too-few-adults"].compared == 3
        assert "unknown age" in found["too-few-adults"].text
        assert "the youngest child's age" in found["missing-facts"].text

    def test_ratios_must_go_from_the_youngest_up(self) -> None:
        for wrong in (CPSU_RATIOS[::-1], (), (CPSU_RATIOS[0], CPSU_RATIOS[0])):
            with pytest.raises(ValueError, match="youngest band"):
                SafetyLimits(ratios=wrong)
        with pytest.raises(ValueError, match="at least 1"):
            AgeRatio(5, 0)
