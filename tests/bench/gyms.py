"""The gyms of the benchmarks: one that the engine is made for, others, and the made-up gym."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from progress.engine.calibration import VariantPrior
from progress.engine.log import Log
from progress.engine.outcomes import Floats
from progress.engine.predictions import split_day
from progress.engine.replay import Pauses
from progress.engine.terms import Catalogue
from tests.simulated_gyms import Habits, SimulatedGym, simulate

# Small catalogue, everybody checked weekly: most athletes have four checks at every skill. With
# an edge of one logit about a third are ready by the end.
KEEPS = Habits(athletes=300, weeks=20, ladders=4, gates=1, seen_weekly=1.0, edge=1.0)
GYMS = {
    "keeps the assumptions": KEEPS,
    "the same, few are ready": replace(KEEPS, edge=0.2),
    "one clean in ten is luck": replace(KEEPS, luck=0.1),
    "growth in spurts": replace(KEEPS, plateaus=True),
    "a holiday that costs a logit": replace(KEEPS, holiday=1.0, weeks=27),
    "harsh and lenient coaches": replace(KEEPS, severity_sd=1.0),
    "most misses not written down": replace(KEEPS, misses_lost=0.7),
    "only successes written down": replace(KEEPS, misses_lost=0.95),
    "children move up on the way": replace(KEEPS, move_ups=True, growth=0.012),
    "seldom checked, eight ladders": replace(KEEPS, ladders=8, gates=2, seen_weekly=0.5, weeks=30),
}


@dataclass(frozen=True)
class Case:
    """A gym's log cut in two on ``first_day``: learnt from before it, judged from it on.

    ``tiers`` are those of that day. ``true_clean`` is known of simulated gyms alone.
    """

    name: str
    catalogue: Catalogue
    tiers: tuple[int, ...]
    log: Log
    first_day: int
    true_clean: Floats | None = None
    variants: Mapping[str, VariantPrior] | None = None
    pauses: Pauses = field(default_factory=dict)


def case_of(name: str, gym: SimulatedGym) -> Case:
    """A simulated gym, its first 60% of days for learning."""
    day = split_day(gym.log)
    return Case(name, gym.catalogue, gym.tiers_on(day), gym.log, day, gym.true_clean)


def simulated(seed: int) -> Iterator[tuple[Case, SimulatedGym]]:
    """Every simulated gym, one after another."""
    for name, habits in GYMS.items():
        gym = simulate(seed, habits)
        yield case_of(name, gym), gym
