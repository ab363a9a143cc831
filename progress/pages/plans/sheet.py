"""The plan on one A4 sheet: athletes down, every loop's stations across, in a word a cell."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from progress.models import Loop, Skill, Station, Variant
from progress.pages.plans.sections import stations_in_order
from progress.pages.shared.words import step_word
from progress.usecases.see_class import AthleteTonight, ClassTonight

MOST_CHECKS = 2
CLOSE_FROM, CLOSER_FROM = 17, 25  # rows from which the sheet is set smaller
CLOSEST_FROM = 12  # stations above which it is set smallest


@dataclass(frozen=True)
class SheetStation:
    """A column: its number on the sheet, and what each word means there."""

    loop: Loop
    number: int
    station: Station
    meanings: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SheetCell:
    """A word; ``adult``: an adult stands there; ``by_hand``: chosen by a coach."""

    word: str
    adult: bool = False
    by_hand: bool = False


@dataclass(frozen=True)
class SheetRow:
    """One athlete. ``instead``: said in place of all cells where the athlete starts nowhere."""

    name: str
    starts_on: str
    cells: tuple[SheetCell, ...]
    checks: str
    instead: str = ""


@dataclass(frozen=True)
class PlanSheet:
    """``size`` is how close it is set: empty, ``close``, ``closer`` or ``closest``."""

    loops: tuple[tuple[str, Loop, int], ...]
    stations: tuple[SheetStation, ...]
    rows: tuple[SheetRow, ...]
    size: str


def sheet_of(tonight: ClassTonight) -> PlanSheet:
    """The sheet of a class, with the loops lettered in the order of the floor."""
    letters = {loop.code: chr(ord("A") + n) for n, loop in enumerate(tonight.loops)}
    stations = tuple(
        SheetStation(loop, number, station, _meanings(station))
        for loop in tonight.loops
        for number, station in enumerate(stations_in_order(loop), start=1)
    )
    names = short_names([str(each.athlete) for each in tonight.athletes])
    by_hand = {
        (choice.athlete_id, choice.station.code)
        for choice in tonight.setting.choices
        if choice.station is not None
    }
    rows = tuple(
        _row(each, name, stations, letters, by_hand, tonight.skills)
        for each, name in zip(tonight.athletes, names, strict=True)
    )
    counts = Counter(one.loop.code for one in stations)
    loops = tuple((letters[loop.code], loop, counts[loop.code]) for loop in tonight.loops)
    close = len(rows) >= CLOSE_FROM or len(stations) > 8
    size = "closer" if len(rows) >= CLOSER_FROM else "close" if close else ""
    if len(stations) > CLOSEST_FROM:
        size = "closest"
    return PlanSheet(loops, stations, rows, size)


def is_held(each: AthleteTonight) -> bool:
    """Whether a hold stops everything, not only some ladders."""
    return any(not hold.ladders.all() for hold in each.holds)


def short_names(names: Sequence[str]) -> list[str]:
    """First names; with as many letters of the last name as tell two of a name apart."""
    found = []
    for name in names:
        first, _, last = name.partition(" ")
        others = [one.partition(" ")[2] for one in names if one.partition(" ")[0] == first]
        if len(others) == 1 or not last:
            found.append(first)
            continue
        length = next(
            (n for n in range(1, len(last)) if sum(o[:n] == last[:n] for o in others) == 1),
            len(last),
        )
        found.append(f"{first} {last[:length]}")
    return found


def _row(
    each: AthleteTonight,
    name: str,
    stations: Sequence[SheetStation],
    letters: Mapping[str, str],
    by_hand: set[tuple[int, str]],
    skills: Mapping[str, Skill],
) -> SheetRow:
    if not each.starts_on:
        away = "away" if each.away else "hold: ask the lead" if is_held(each) else "no loop"
        return SheetRow(name, "", (), "", away)
    cells = tuple(_cell(each, one, by_hand) for one in stations)
    checks = ", ".join(
        str(skills.get(check.skill, check.skill)) for check in each.checks[:MOST_CHECKS]
    )
    return SheetRow(name, letters[each.starts_on], cells, checks)


def _cell(each: AthleteTonight, one: SheetStation, by_hand: set[tuple[int, str]]) -> SheetCell:
    told = {plan.station: plan for plan in each.suggestions.get(one.loop.code, ())}
    plan = told.get(one.station.code)
    chosen = (each.athlete.pk, one.station.code) in by_hand
    if plan is None or plan.variant is None:
        held = plan is not None and "on hold" in plan.why
        return SheetCell("hold" if held else "–", by_hand=chosen)
    variant = next(v for v in one.station.variants.all() if v.code == plan.variant)
    return SheetCell(word_on_sheet(variant, one.station), variant.spotter, chosen)


def word_on_sheet(variant: Variant, station: Station) -> str:
    """The step's word, numbered from the base where a station has several on that side."""
    same = [v for v in station.variants.all() if v.step * variant.step > 0]
    word = step_word(variant.step)
    return f"{word} {abs(variant.step)}" if len(same) > 1 else word


def _meanings(station: Station) -> tuple[tuple[str, str], ...]:
    ordered = sorted(station.variants.all(), key=lambda variant: variant.step)
    return tuple((word_on_sheet(variant, station), str(variant)) for variant in ordered)
