"""What must be mended before a setup can be published: where, what and how."""

from collections.abc import Sequence
from dataclasses import dataclass

from progress.models import Loop, Station


@dataclass(frozen=True)
class Problem:
    """One thing to mend. ``loop`` or ``station`` is the key of what it is about, else None."""

    where: str
    what: str
    mend: str
    loop: int | None = None
    station: int | None = None

    def __str__(self) -> str:
        return f"{self.where}: {self.what} {self.mend}"


def find_problems(rows: Sequence[tuple[Loop, Sequence[Station]]]) -> list[Problem]:
    """Problems of a setup, given as loops with their stations in order.

    Loops need their area and stations their variants loaded. No queries.
    """
    if not rows:
        return [Problem("The setup", "It has no loop.", "Add a loop and put stations on it.")]
    problems = [
        Problem(
            str(loop), "It has no station.", "Add one from the library, or remove it.", loop=loop.pk
        )
        for loop, stations in rows
        if not stations
    ]
    met: dict[int, Loop] = {}
    for loop, stations in rows:
        for station in stations:
            first = met.setdefault(station.pk, loop)
            if first is loop:
                problems += station_problems(station, loop)
            elif first.area_id != loop.area_id:
                what = f"{first} stops here in {first.area}, and {loop} in {loop.area}."
                mend = "Loops share a station in one area only: take it out of one of them."
                problems.append(Problem(str(station), what, mend, loop.pk, station.pk))
    return problems


def station_problems(station: Station, loop: Loop) -> list[Problem]:
    """What is wrong with one station."""
    variants = list(station.variants.all())
    where = f"{station} on {loop}"
    if not variants:
        mend = "Add at least one, with the skill it practises."
        return [Problem(where, "It has no variant.", mend, loop.pk, station.pk)]
    steps = [variant.step for variant in variants]
    twice = sorted({step for step in steps if steps.count(step) > 1})
    return [
        Problem(
            where,
            f"Two variants are on step {step}.",
            "Give one of them another step.",
            loop.pk,
            station.pk,
        )
        for step in twice
    ]
