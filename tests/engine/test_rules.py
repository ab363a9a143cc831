"""The rules a lead may tune."""

import json

import pytest

from progress.engine.rules import HeightRule, Rules


def test_rules_come_back_from_json_as_they_were() -> None:
    rules = Rules(version=4, ready_at=0.7, height_rules=(HeightRule(0.4, ("LAND-1",)),))
    assert Rules.from_json(json.loads(json.dumps(rules.as_json()))) == rules


def test_a_rule_added_later_takes_its_default_and_one_dropped_is_passed_over() -> None:
    read = Rules.from_json({"version": 2, "ready_at": 0.7, "a_rule_of_old": 3})
    assert read == Rules(version=2, ready_at=0.7)


@pytest.mark.parametrize(
    "change",
    [
        {"ready_at": 1.0},
        {"building_at": 0.0},
        {"building_at": 0.7},
        {"nearly_confidence": 0.9},
        {"target_low": 0.95},
        {"target_centre": 0.91},
        {"gate_clean_in_a_row": 0},
        {"checks_per_class": 0},
        {"fresh_days": -1},
    ],
)
def test_rules_that_contradict_themselves_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="must"):
        Rules(**change)


def test_falls_from_above_a_metre_ask_for_more_than_falls_from_above_60_cm() -> None:
    """1.0 m: Sherker 2005; the skills asked for are the project's own proposal."""
    low, high = Rules().height_rules
    assert (low.above_m, set(low.needs)) == (0.6, {"LAND-2", "DOWN-1"})
    assert (high.above_m, set(high.needs)) == (1.0, {"LAND-2", "DOWN-1", "LAND-3", "FALL-2"})
