"""Each figure behind a prompt: its source, how well it is known, a floor within and one beyond.

Values are those of the sources named in the table; where a standard is named, only what others
print of it was read. "second-hand" figures were seen in copies.
"""

from dataclasses import dataclass, replace

from progress.engine.safety import prompts
from progress.engine.safety_facts import (
    GroupFacts,
    Kind,
    Mat,
    Prompt,
    Severity,
    StationFacts,
    Status,
    VariantFacts,
)

STOP, WARN, INFO = Severity
READ, SECOND_HAND = Status.READ, Status.SECOND_HAND
TENS = GroupFacts(children=8, youngest_age=10, adults=2)
FULL = StationFacts(
    code="s",
    name="Station",
    mat=Mat.FIRM,
    mat_rated_m=5.0,
    mat_checked_days=0,
    clear_zone_m=9.0,
    spacing_m=9.0,
    swing_run_m=9.0,
    way_down=True,
    loops=("red",),
)


def station(feet: float | None = 0.0, grip: float | None = 1.0, **facts: object) -> StationFacts:
    """A station about which everything is written down, changed as named."""
    variant = VariantFacts("v", "Base", feet, grip, lands_on_feet=False)
    return replace(FULL, **{"variants": (variant,), **facts})  # type: ignore[arg-type]


def aged(years: float | None, **facts: object) -> GroupFacts:
    return replace(TENS, youngest_age=years, **facts)  # type: ignore[arg-type]


def rules(facts: StationFacts, group: GroupFacts = TENS) -> dict[str, Prompt]:
    return {prompt.rule: prompt for prompt in prompts([facts], group)}


@dataclass(frozen=True)
class Figure:
    """``within`` gives no prompt of the rule, ``beyond`` does."""

    rule: str
    severity: Severity
    source: str
    status: Status
    analogy: bool
    within: StationFacts
    beyond: StationFacts
    group: GroupFacts = TENS


CLIMB, OVERHEAD, BEAM = Kind.CLIMB, Kind.OVERHEAD, Kind.BEAM
FIGURES = [
    # Free height of fall at most 3.0 m (EN 1176-1 via sichere-kita.de).
    Figure("feet-above-3", STOP, "EN 1176-1", READ, True, station(3.0), station(3.01)),
    # Falls from above 1.5 m: 4.1 times the injuries (Chalmers 1996).
    Figure("feet-above-1.5", WARN, "Chalmers 1996", READ, True, station(1.5), station(1.501)),
    # Falls from above 1.0 m: odds ratio 2.96 of an arm fracture (Sherker 2005).
    Figure("feet-above-1", INFO, "Sherker 2005", READ, True, station(1.0), station(1.001)),
    # Protection against falls from 0.6 m on (sichere-kita.de 03/2023).
    Figure(
        "no-mat",
        STOP,
        "sichere-kita.de",
        READ,
        False,
        station(0.599, mat=Mat.NONE),
        station(0.6, mat=Mat.NONE),
    ),
    # "Master access before egress": CPSC 325 5.2 (bjspark copy).
    Figure(
        "no-way-down",
        STOP,
        "CPSC Publication 325",
        SECOND_HAND,
        True,
        station(0.3, kind=CLIMB),
        station(0.3, kind=CLIMB, way_down=False),
    ),
    # Bouldering in schools: feet at most 2.0 m (sichere-schule.de).
    Figure(
        "climb-above-2",
        WARN,
        "sichere-schule.de",
        READ,
        False,
        station(2.0, kind=CLIMB),
        station(2.01, kind=CLIMB),
    ),
    # The maker's rating: a comparison this project proposes.
    Figure(
        "mat-rated-lower",
        WARN,
        "maker",
        Status.PROPOSAL,
        False,
        station(1.2, mat_rated_m=1.2),
        station(1.21, mat_rated_m=1.2),
    ),
    # Gym mat of 6 to 8 cm up to 1.0 m, ages 3 to 6, without a word of the maker (sichere-kita.de).
    Figure(
        "firm-mat-unrated",
        WARN,
        "sichere-kita.de",
        READ,
        False,
        station(1.0, mat_rated_m=None),
        station(1.01, mat_rated_m=None),
        aged(6.9),
    ),
    # Deep soft mat up to 2.0 m, and not for landing on the feet (sichere-kita.de).
    Figure(
        "deep-soft-above-2",
        WARN,
        "sichere-kita.de",
        READ,
        False,
        station(2.0, mat=Mat.DEEP_SOFT),
        station(2.01, mat=Mat.DEEP_SOFT),
    ),
    Figure(
        "deep-soft-on-feet",
        WARN,
        "sichere-kita.de",
        READ,
        False,
        station(mat=Mat.DEEP_SOFT),
        station(mat=Mat.DEEP_SOFT, variants=(VariantFacts("v", "", 0.0, 1.0, True),)),
    ),
    # Under 4: no overhead pieces (CPSC 325 in a city's copy).
    Figure(
        "overhead-under-4",
        STOP,
        "CPSC Publication 325",
        SECOND_HAND,
        True,
        station(),
        station(kind=OVERHEAD),
        aged(3.9, adults=3),
    ),
    # Clear landing zone 2/3 x 2.5 + 0.5 = 2.17 m (sichere-kita.de, sichere-schule.de).
    Figure(
        "clear-zone",
        WARN,
        "EN 1176-1",
        READ,
        True,
        station(2.5, clear_zone_m=2.17),
        station(2.5, clear_zone_m=2.16),
    ),
    # 6 ft between low pieces, 9 ft from 30 in of height (CPSC 325; Caring for Our Children).
    Figure(
        "spacing",
        WARN,
        "CPSC Publication 325",
        SECOND_HAND,
        True,
        station(0.762, spacing_m=1.83),
        station(0.763, spacing_m=2.73),
    ),
    # 4.5 m free each way for ropes (sichere-schule.de).
    Figure(
        "swing-run",
        WARN,
        "sichere-schule.de",
        READ,
        False,
        station(kind=Kind.ROPE, swing_run_m=4.5),
        station(kind=Kind.ROPE, swing_run_m=4.49),
    ),
    # Overhead ladder at most 60 in at 4-5 years, 84 in from school age (TM 5-803-11).
    Figure(
        "grip-height",
        WARN,
        "TM 5-803-11",
        SECOND_HAND,
        True,
        station(grip=1.52, kind=OVERHEAD),
        station(grip=1.53, kind=OVERHEAD),
        aged(5.9),
    ),
    Figure(
        "grip-height",
        WARN,
        "TM 5-803-11",
        SECOND_HAND,
        True,
        station(grip=2.13, kind=OVERHEAD),
        station(grip=2.14, kind=OVERHEAD),
        aged(6),
    ),
    # Beam at most 12 in before school age, 16 in from then on (TM 5-803-11).
    Figure(
        "beam-height",
        INFO,
        "TM 5-803-11",
        SECOND_HAND,
        True,
        station(0.305, kind=BEAM),
        station(0.31, kind=BEAM),
        aged(5.9),
    ),
    Figure(
        "beam-height",
        INFO,
        "TM 5-803-11",
        SECOND_HAND,
        True,
        station(0.406, kind=BEAM),
        station(0.41, kind=BEAM),
        aged(6),
    ),
    # Parkour equipment standard: from 8 years (EN 16899:2016, scope read).
    Figure(
        "blocks-under-8",
        INFO,
        "EN 16899",
        READ,
        False,
        station(),
        station(kind=Kind.BLOCKS),
        aged(7.9),
    ),
    # A week between looks at a mat: proposal of this project.
    Figure(
        "mat-check-old",
        INFO,
        "no source",
        Status.PROPOSAL,
        False,
        station(mat_checked_days=7),
        station(mat_checked_days=8),
    ),
]
