"""The simulated gyms of the benchmarks: one that the engine is made for, and others."""

from dataclasses import replace

from tests.simulated_gyms import Habits

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
    "children move up on the way": replace(KEEPS, move_ups=True, growth=0.012),
    "seldom checked, eight ladders": replace(KEEPS, ladders=8, gates=2, seen_weekly=0.5, weeks=30),
}
