"""Which rules would ask less of safety skills."""

from dataclasses import replace
from typing import Any

import pytest

from progress.engine.rules import HeightRule, Rules
from progress.usecases.weaker_rules import weaker_guards


def other(**values: Any) -> Rules:
    return replace(Rules(), version=2, **values)


class TestGuards:
    """Which rules ask less of safety skills."""

    @pytest.mark.parametrize(
        ("values", "weaker"),
        [
            ({"gate_clean_in_a_row": 4}, ("gate_clean_in_a_row",)),
            ({"gate_days": 1, "gate_coaches": 1}, ("gate_days", "gate_coaches")),
            ({"secure_confidence": 0.6}, ("secure_confidence",)),
            ({"nearly_confidence": 0.2}, ("nearly_confidence",)),
            ({"fresh_days": 70}, ("fresh_days",)),
            ({"height_rules": ()}, ("height_rules",)),
            ({"height_rules": (HeightRule(0.6, ("LAND-2", "DOWN-1")),)}, ("height_rules",)),
            ({"clean_attempts": 1, "ready_at": 0.5, "checks_per_class": 1}, ()),
        ],
    )
    def test_less_asked_is_named(self, values: Any, weaker: tuple[str, ...]) -> None:
        assert weaker_guards(Rules(), other(**values)) == weaker
        assert weaker_guards(other(**values), Rules()) == ()

    def test_a_height_put_higher_is_weaker_and_a_further_one_is_not(self) -> None:
        before = (HeightRule(0.6, ("LAND-2",)),)
        higher, more = (HeightRule(0.8, ("LAND-2",)),), (*before, HeightRule(1.0, ("LAND-3",)))

        assert weaker_guards(other(height_rules=before), other(height_rules=higher))
        assert not weaker_guards(other(height_rules=before), other(height_rules=more))
