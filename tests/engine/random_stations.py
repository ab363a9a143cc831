"""Random stations and groups for properties that must hold of every floor."""

from hypothesis import settings
from hypothesis import strategies as some

from progress.engine.safety_facts import GroupFacts, Kind, Mat, StationFacts, VariantFacts

measures = some.none() | some.floats(0, 6).map(lambda value: round(value, 2))
variants = some.builds(
    VariantFacts,
    code=some.just("v"),
    height_m=measures,
    hand_height_m=measures,
    lands_on_feet=some.none() | some.booleans(),
)
stations = some.builds(
    StationFacts,
    code=some.just("s"),
    name=some.just("Station"),
    kind=some.sampled_from(Kind),
    mat=some.sampled_from(Mat),
    mat_rated_m=measures,
    mat_checked_days=some.none() | some.integers(0, 30),
    clear_zone_m=measures,
    spacing_m=measures,
    swing_run_m=measures,
    way_down=some.none() | some.booleans(),
    variants=some.lists(variants, max_size=3).map(tuple),
)
groups = some.builds(
    GroupFacts,
    children=some.integers(0, 30),
    youngest_age=some.none() | some.floats(1, 17),
    adults=some.none() | some.integers(0, 6),
    children_at=some.dictionaries(some.just("s"), some.integers(0, 12)),
)
quietly = settings(deadline=None, derandomize=True, max_examples=200, database=None)
