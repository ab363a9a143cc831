"""Tonight's class as text: the three answers, readable in a terminal 100 columns wide."""

from collections.abc import Iterator
from textwrap import wrap

from progress.engine.answers import Suggestion
from progress.engine.terms import Decision
from progress.models import Loop
from progress.usecases.see_class import AthleteTonight, ClassTonight

WORDS = {
    Decision.READY: "looks ready",
    Decision.NEARLY: "nearly",
    Decision.NEEDS_CHECKS: "needs checks",
    Decision.BUILDING: "building",
}
STEPS = {-1: "easier", 0: "base", 1: "harder"}
NAME, WHY, STATION = 24, 46, 17
LOOP_WIDTH, NARROWEST = 74, 13  # what a loop's stations have together, and each needs
CAUTION = (
    "These are suggestions. A qualified person on the floor decides; the equipment maker's "
    "instructions and local rules come first."
)


def class_as_text(tonight: ClassTonight) -> str:
    """The class page for a terminal."""
    floor = tonight.setup or "no floor published for this week"
    head = [
        f"{tonight.gym_class}, {tonight.day:%A %d %B %Y}: {len(tonight.athletes)} athletes",
        f"Floor: {floor}",
    ]
    parts = [head, list(_readiness(tonight)), list(_loops(tonight)), list(_checks(tonight))]
    return "\n\n".join("\n".join(part) for part in [*parts, wrap(CAUTION, 98)])


def _readiness(tonight: ClassTonight) -> Iterator[str]:
    yield "WHO IS READY FOR THE NEXT TIER"
    yield f"{'Athlete':{NAME}} Tier  {'Suggestion':12} All held  Why"
    order = list(WORDS)
    rows = sorted(
        tonight.athletes,
        key=lambda a: (order.index(a.readiness.decision), -a.readiness.p_ready),
    )
    for row in rows:
        said = row.readiness
        why = wrap(said.why, WHY) or [""]
        name = _cut(str(row.athlete), NAME)
        word = WORDS[said.decision]
        yield f"{name:{NAME}} {said.tier:^4}  {word:12} {said.p_ready:8.0%}  {why[0]}"
        for line in why[1:]:
            yield " " * (NAME + 30) + line


def _loops(tonight: ClassTonight) -> Iterator[str]:
    yield "WHICH VARIANT OF EACH STATION (chance of a clean try; * starts on this loop)"
    for loop in tonight.loops:
        stations = [stop.station for stop in loop.stops.all()]
        yield ""
        yield f"Loop {loop.name} ({loop.area.name})"
        wide = _width(len(stations))
        names = "".join(f"{_cut(str(s), wide - 1):{wide}}" for s in stations)
        yield f"  {'Athlete':{NAME}}{names}".rstrip()
        for row in tonight.athletes:
            yield _loop_row(row, loop)


def _loop_row(row: AthleteTonight, loop: Loop) -> str:
    mark = "*" if row.starts_on == loop.code else " "
    head = f"{mark} {_cut(str(row.athlete), NAME - 1):{NAME}}"
    if row.holds and all(s.variant is None for s in row.suggestions[loop.code]):
        return f"{head}on hold: ask the lead"
    cells = [_cell(s, loop) for s in row.suggestions[loop.code]]
    return (head + "".join(f"{cell:{_width(len(cells))}}" for cell in cells)).rstrip()


def _width(stations: int) -> int:
    """Columns for each station of a loop: narrower where there are many, never too narrow."""
    return max(NARROWEST, min(STATION, LOOP_WIDTH // max(stations, 1)))


def _cell(said: Suggestion, loop: Loop) -> str:
    """The variant's step in a word with its chance; a dash where nothing fits today."""
    if said.variant is None or said.chance is None:
        return "- with coach"
    steps = {
        variant.code: variant.step
        for stop in loop.stops.all()
        for variant in stop.station.variants.all()
    }
    step = steps[said.variant]
    return f"{STEPS.get(step, f'step {step:+d}')} {said.chance:.0%}"


def _checks(tonight: ClassTonight) -> Iterator[str]:
    yield "WHAT TO CHECK TONIGHT"
    if not tonight.checks:
        yield "Nothing would change an answer tonight."
    names = {row.athlete.code: str(row.athlete) for row in tonight.athletes}
    for check in tonight.checks:
        skill = _cut(str(tonight.skills[check.skill]), 32)
        why = _fold(check.why, 38, " " * (NAME + 38))
        yield f"{check.rank:3}. {_cut(names[check.athlete], NAME - 1):{NAME}}{skill:33}{why}"


def _fold(text: str, width: int, indent: str) -> str:
    return ("\n" + indent).join(wrap(text, width))


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"
