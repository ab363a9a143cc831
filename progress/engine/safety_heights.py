"""Rules about heights, mats and the way down."""

from collections.abc import Iterator
from math import inf

from progress.engine.safety_facts import Kind, Mat, Severity, Status
from progress.engine.safety_rules import Case, Finding, Rule, Source, feet_between, less, metres

MOST_FALL_M = 3.0
MANY_INJURIES_M = 1.5
MORE_FRACTURES_M = 1.0
MAT_FROM_M = 0.6
CLIMB_FEET_M = 2.0
FIRM_MAT_M = 1.0
FIRM_MAT_UNDER_AGE = 7
DEEP_SOFT_M = 2.0
GO_UP = (Kind.CLIMB, Kind.ROPE)

EN_1176 = Source("EN 1176-1 as given by sichere-kita.de (standard not read)", Status.READ, True)
CHALMERS = Source("Chalmers 1996 (abstract read)", Status.READ, True)
SHERKER = Source("Sherker 2005 (abstract read)", Status.READ, True)
NURSERY_HALLS = Source("sichere-kita.de 2023, German accident insurers, nurseries", Status.READ)
SCHOOL_HALLS = Source("sichere-schule.de, German accident insurers, schools", Status.READ)
MAKER = Source("the mat's maker; no published table of thickness is used", Status.PROPOSAL)
CPSC_DOWN = Source("CPSC Publication 325, section 5.2 (seen in a copy)", Status.SECOND_HAND, True)
OURS = Source("no source", Status.PROPOSAL)


def needs_way_down(case: Case) -> bool:
    """Whether children get up here: by climbing, or to where a mat is asked for."""
    return case.station.kind in GO_UP or not less(case.feet_m, MAT_FROM_M)


def _above_most(case: Case) -> Iterator[Finding]:
    for variant, height in feet_between(case, MOST_FALL_M, inf):
        text = f"Feet {metres(height)}: above 3.0 m, the most a playground may let a child fall."
        yield Finding(text, height, MOST_FALL_M, (variant.code,))


def _many_injuries(case: Case) -> Iterator[Finding]:
    for variant, height in feet_between(case, MANY_INJURIES_M, MOST_FALL_M):
        text = (
            f"Feet {metres(height)}: above 1.5 m falls had about four times the injuries of "
            "lower ones."
        )
        yield Finding(text, height, MANY_INJURIES_M, (variant.code,))


def _more_fractures(case: Case) -> Iterator[Finding]:
    for variant, height in feet_between(case, MORE_FRACTURES_M, MANY_INJURIES_M):
        text = (
            f"Feet {metres(height)}: falls from above 1.0 m had about three times the odds of a "
            "broken arm."
        )
        yield Finding(text, height, MORE_FRACTURES_M, (variant.code,))


def _no_mat(case: Case) -> Iterator[Finding]:
    if case.station.mat in (Mat.NONE, Mat.UNKNOWN) and not less(case.feet_m, MAT_FROM_M):
        said = "no mat" if case.station.mat is Mat.NONE else "no mat written down"
        text = f"Feet {metres(case.feet_m)} and {said}: from 0.6 m a fall is to be padded."
        yield Finding(text, case.feet_m, MAT_FROM_M, case.highest)


def _no_way_down(case: Case) -> Iterator[Finding]:
    if case.station.way_down is False and needs_way_down(case):
        text = (
            "There is a way up and no way down: children can climb up before they can climb down."
        )
        yield Finding(text, variants=case.highest)


def _climb_too_high(case: Case) -> Iterator[Finding]:
    if case.station.kind is Kind.CLIMB and less(CLIMB_FEET_M, case.feet_m):
        text = f"Climbing without a rope, feet {metres(case.feet_m)}: above 2.0 m."
        yield Finding(text, case.feet_m, CLIMB_FEET_M, case.highest)


def _mat_rated_lower(case: Case) -> Iterator[Finding]:
    rated, mat = case.station.mat_rated_m, case.station.mat
    if rated is not None and mat is not Mat.NONE and less(rated, case.feet_m):
        text = f"Feet {metres(case.feet_m)}: above the {metres(rated)} the maker rates the mat for."
        yield Finding(text, case.feet_m, rated, case.highest)


def _firm_mat_unrated(case: Case) -> Iterator[Finding]:
    young = case.age is None or case.age < FIRM_MAT_UNDER_AGE
    unrated = case.station.mat is Mat.FIRM and case.station.mat_rated_m is None
    if unrated and young and less(FIRM_MAT_M, case.feet_m):
        text = (
            f"Feet {metres(case.feet_m)} over a firm mat without a rated height: a 6 to 8 cm gym "
            "mat is taken for falls up to 1.0 m at ages 3 to 6 if the maker says nothing else."
        )
        yield Finding(text, case.feet_m, FIRM_MAT_M, case.highest)


def _deep_soft_too_low(case: Case) -> Iterator[Finding]:
    if case.station.mat is Mat.DEEP_SOFT and less(DEEP_SOFT_M, case.feet_m):
        text = f"Feet {metres(case.feet_m)} over a deep soft mat: those are taken up to 2.0 m."
        yield Finding(text, case.feet_m, DEEP_SOFT_M, case.highest)


def _deep_soft_on_feet(case: Case) -> Iterator[Finding]:
    landing = tuple(v.code for v in case.station.variants if v.lands_on_feet)
    if case.station.mat is Mat.DEEP_SOFT and landing:
        text = "A deep soft mat under a landing on the feet: it can trap the foot like a vice."
        yield Finding(text, variants=landing)


def _mat_check_old(case: Case) -> Iterator[Finding]:
    days, most = case.station.mat_checked_days, case.limits.mat_check_days
    if days is not None and case.station.mat is not Mat.NONE and days > most:
        text = f"The mat was last looked over {days} days ago: more than {most}."
        yield Finding(text, days, most)


HEIGHT_RULES = (
    Rule(
        "feet-above-3",
        Severity.STOP,
        EN_1176,
        "Lower it, or the lead writes down why not.",
        _above_most,
    ),
    Rule(
        "no-mat",
        Severity.STOP,
        NURSERY_HALLS,
        "Put down a mat rated for the height and write it down, or lower the station.",
        _no_mat,
    ),
    Rule(
        "no-way-down",
        Severity.STOP,
        CPSC_DOWN,
        "Build an easier way down, and teach it before the way up.",
        _no_way_down,
    ),
    Rule(
        "feet-above-1.5",
        Severity.WARN,
        CHALMERS,
        "Is the height needed for the skill? Lower it, or put an adult and a rated mat there.",
        _many_injuries,
    ),
    Rule(
        "climb-above-2",
        Severity.WARN,
        SCHOOL_HALLS,
        "Mark a line that feet stay below, or lower the top hold.",
        _climb_too_high,
    ),
    Rule(
        "mat-rated-lower",
        Severity.WARN,
        MAKER,
        "Use a mat its maker rates for the height, or lower the station.",
        _mat_rated_lower,
    ),
    Rule(
        "firm-mat-unrated",
        Severity.WARN,
        NURSERY_HALLS,
        "Ask the maker what the mat is rated for, and write it down.",
        _firm_mat_unrated,
    ),
    Rule(
        "deep-soft-above-2",
        Severity.WARN,
        NURSERY_HALLS,
        "Ask the maker what the mat is rated for, or lower the station.",
        _deep_soft_too_low,
    ),
    Rule(
        "deep-soft-on-feet",
        Severity.WARN,
        NURSERY_HALLS,
        "Use a firm mat for landings on the feet; keep the soft one for landing with the body.",
        _deep_soft_on_feet,
    ),
    Rule(
        "feet-above-1",
        Severity.INFO,
        SHERKER,
        "Have landings been taught? Look at the mat and who stands there.",
        _more_fractures,
    ),
    Rule(
        "mat-check-old",
        Severity.INFO,
        OURS,
        "Look it over: flush, fixed, whole, covering where a child may fall.",
        _mat_check_old,
    ),
)
