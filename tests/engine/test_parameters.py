"""What the engine assumes before there is a log, and how parameters are kept."""

import json
from dataclasses import fields, replace

import numpy as np

from progress.engine.parameters import Parameters
from tests.engine.small_gyms import landing_and_hanging
from tests.simulated_gyms import ladder_catalogue


def test_parameters_come_back_from_json_as_they_were() -> None:
    before = replace(
        Parameters.before_any_log(landing_and_hanging(), {"beam+1": 0.7}),
        severity={"kim": -0.2},
        drift=1 / 3,
    )
    read = Parameters.from_json(json.loads(json.dumps(before.as_json())))
    for field in fields(Parameters):
        kept, came = getattr(before, field.name), getattr(read, field.name)
        assert np.array_equal(kept, came) if isinstance(kept, np.ndarray) else kept == came


def test_a_tier_up_starts_harder_and_its_athletes_abler() -> None:
    before = Parameters.before_any_log(ladder_catalogue(ladders=1, tiers=3))
    assert np.all(np.diff(before.difficulty) > 0)
    assert before.level(1) < before.level(2) < before.level(3)


def test_an_athlete_in_a_tier_without_skills_still_has_a_level_on_the_line() -> None:
    before = Parameters.before_any_log(ladder_catalogue(ladders=1, tiers=2))
    assert np.isclose(before.level(4) - before.level(2), 2 * (before.level(2) - before.level(1)))
