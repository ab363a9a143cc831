"""Rules about free space, children's sizes and ages, and how many are at a station."""

from collections.abc import Iterator

from progress.engine.safety_facts import CLUB_CHILDREN_AT_STATION, Kind, Severity, Status
from progress.engine.safety_heights import EN_1176, MAT_FROM_M, SCHOOL_HALLS
from progress.engine.safety_rules import Case, Finding, Rule, Source, less, metres

OVERHEAD_FROM_AGE = 4
SCHOOL_AGE = 6  # playground guidance counts five-year-olds to both groups: the stricter is taken
BEAM_M = (0.305, 0.406)  # before school age, from school age
GRIP_M = (1.52, 2.13)
SWING_RUN_M = 4.5
SPACING_M = (1.83, 2.74)  # low pieces, others
LOW_PIECE_M = 0.762
BLOCKS_FROM_AGE = 8
SWINGING = (Kind.SWING, Kind.ROPE)

ARMY_TABLE = Source("US Army TM 5-803-11, playground table", Status.SECOND_HAND, True)
CPSC = Source("CPSC Publication 325 (seen in a city's copy)", Status.SECOND_HAND, True)
USE_ZONES = Source(
    "CPSC Publication 325 (seen in a copy); Caring for Our Children (read)",
    Status.SECOND_HAND,
    True,
)
CLUB = Source("UK gymnastics guidance as on a club's page", Status.SECOND_HAND)
EN_16899 = Source("EN 16899:2016, scope only", Status.READ)


def clear_zone_needed(height_m: float) -> float:
    """Free landing space for feet at this height, metres, to the centimetre.

    1.5 m up to 1.5 m of fall, above that two thirds of the height + 0.5 m (EN 1176-1 as given by
    sichere-kita.de and sichere-schule.de: a playground figure).
    """
    return round(max(1.5, 2 * height_m / 3 + 0.5), 2)


def _overhead_too_young(case: Case) -> Iterator[Finding]:
    age = case.age
    if case.station.kind is Kind.OVERHEAD and age is not None and age < OVERHEAD_FROM_AGE:
        text = f"Overhead hanging with a child of {int(age)}: playgrounds leave it out under 4."
        yield Finding(text, age, OVERHEAD_FROM_AGE)


def _zone_too_small(case: Case) -> Iterator[Finding]:
    zone, wanted = case.station.clear_zone_m, clear_zone_needed(case.feet_m)
    if zone is not None and not less(case.feet_m, MAT_FROM_M) and less(zone, wanted):
        text = (
            f"Free landing space {metres(zone)}: less than the {metres(wanted)} for feet at "
            f"{metres(case.feet_m)}."
        )
        yield Finding(text, zone, wanted, case.highest)


def _too_near(case: Case) -> Iterator[Finding]:
    spacing = case.station.spacing_m
    wanted = SPACING_M[less(LOW_PIECE_M, case.feet_m)]
    if spacing is not None and case.feet_m > 0 and less(spacing, wanted):
        text = (
            f"Next piece {metres(spacing)} away: less than {metres(wanted)}, for feet at "
            f"{metres(case.feet_m)}. Between two pieces of which one is above 0.76 m it is 2.74 m."
        )
        yield Finding(text, spacing, wanted, case.highest)


def _swing_too_short(case: Case) -> Iterator[Finding]:
    run = case.station.swing_run_m
    if case.station.kind in SWINGING and run is not None and less(run, SWING_RUN_M):
        text = f"Free space {metres(run)} in the way of the swing: less than 4.5 m each way."
        yield Finding(text, run, SWING_RUN_M)


def _for_age(case: Case, figures: tuple[float, float]) -> tuple[float, str]:
    """The figure for the youngest child and whom it is for; the stricter without an age."""
    if case.age is None:
        return figures[0], "children under 6; the youngest child's age is not written down"
    return (figures[0], "children under 6") if case.age < SCHOOL_AGE else (figures[1], "from 6 on")


def _grip_too_high(case: Case) -> Iterator[Finding]:
    if case.station.kind is not Kind.OVERHEAD:
        return
    most, whom = _for_age(case, GRIP_M)
    for variant in case.station.variants:
        grip = variant.hand_height_m
        if grip is not None and less(most, grip):
            text = f"Grip {metres(grip)}: above {metres(most)} ({whom})."
            yield Finding(text, grip, most, (variant.code,))


def _beam_too_high(case: Case) -> Iterator[Finding]:
    most, whom = _for_age(case, BEAM_M)
    if case.station.kind is Kind.BEAM and less(most, case.feet_m):
        text = f"Beam {metres(case.feet_m)}: above {metres(most)} ({whom})."
        yield Finding(text, case.feet_m, most, case.highest)


def _crowded(case: Case) -> Iterator[Finding]:
    most = case.limits.children_at_station
    count = case.group.children_at.get(case.station.code, 0)
    if count > most:
        text = f"{count} children at this station: more than {most}."
        yield Finding(text, count, most, own=most != CLUB_CHILDREN_AT_STATION)


def _blocks_too_young(case: Case) -> Iterator[Finding]:
    age = case.age
    if case.station.kind is Kind.BLOCKS and age is not None and age < BLOCKS_FROM_AGE:
        text = (
            f"Parkour-type blocks with a child of {int(age)}: their standard is written from 8 on."
        )
        yield Finding(text, age, BLOCKS_FROM_AGE)


SPACE_RULES = (
    Rule(
        "overhead-under-4",
        Severity.STOP,
        CPSC,
        "Use a low bar where toes touch the floor.",
        _overhead_too_young,
    ),
    Rule(
        "clear-zone",
        Severity.WARN,
        EN_1176,
        "Move it, or take away what stands in the landing.",
        _zone_too_small,
    ),
    Rule("spacing", Severity.WARN, USE_ZONES, "Move the two pieces apart.", _too_near),
    Rule(
        "swing-run",
        Severity.WARN,
        SCHOOL_HALLS,
        "Free the way of the swing, and mark where the line waits.",
        _swing_too_short,
    ),
    Rule("grip-height", Severity.WARN, ARMY_TABLE, "Lower the grip or the floor.", _grip_too_high),
    Rule(
        "crowded-station",
        Severity.WARN,
        CLUB,
        "Add a station or a lane, or send some children to another loop.",
        _crowded,
    ),
    Rule(
        "beam-height",
        Severity.INFO,
        ARMY_TABLE,
        "Lower the beam, or have an adult near.",
        _beam_too_high,
    ),
    Rule(
        "blocks-under-8",
        Severity.INFO,
        EN_16899,
        "The standard says nothing for younger children: ask the maker.",
        _blocks_too_young,
    ),
)
