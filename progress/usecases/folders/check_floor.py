"""Whether the rows of floor.csv fit together, and the plan of each week they make."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from progress.usecases.folders.layout import FLOOR
from progress.usecases.folders.plans import (
    LoopPlan,
    SetupPlan,
    StationPlan,
    VariantPlan,
    in_order,
)
from progress.usecases.folders.problems import Known, Problems, shown
from progress.usecases.folders.rows import FloorRow
from progress.usecases.folders.table import Table

ONE_ROW_A_VARIANT = "Give a variant one row in each loop that passes its station."
ONE_STEP_EACH = "Give each variant of a station a step of its own."
SAME_EVERYWHERE = "Write the same in every row of this variant, or give the station its own code."
ALL_OR_FEWER = "Repeat all the station's variants in each of its loops, or give it its own code."
ONE_AREA = "Write one area for the whole loop."
ALL_OR_NO_POSITIONS = "Give every station of the loop a position, or none of them."
ONE_POSITION_EACH = "Give each station of a loop one position of its own."
ADD_THE_SKILL = "Write the code of a skill in skills.csv or one already stored."
# What a variant says of itself wherever its station comes up.
SHARED = (
    "step",
    "skill",
    "difficulty",
    "height_m",
    "spotter",
    "lanes",
    "seconds",
    "change",
    "caution",
)

Weeks = dict[date | None, SetupPlan]


def check_floor(table: Table, known: Known, problems: Problems) -> Weeks:
    """Note rows that contradict each other or name unknown skills; return a plan for each week.

    The plans are only of use where nothing was noted.
    """
    weeks: dict[date | None, list[FloorRow]] = {}
    for row in table.rows:
        weeks.setdefault(row.week, []).append(row)
        if known.strange(row.skill):
            what = f"{shown(row.skill)} is not a skill{known.hint(row.skill)}."
            problems.add(FLOOR.file, row.line, "skill", what, ADD_THE_SKILL)
    return {week: WeekCheck(week, table.whole, problems).plan(rows) for week, rows in weeks.items()}


class WeekCheck:
    """Checks the rows of one week. ``whole``: no row of the file was left out for a mistake."""

    def __init__(self, week: date | None, whole: bool, problems: Problems) -> None:
        self.week = week
        self.whole = whole
        self.problems = problems

    def note(self, row: FloorRow, column: str, what: str, mend: str) -> None:
        """Note a problem at a row."""
        self.problems.add(FLOOR.file, row.line, column, what, mend)

    def plan(self, rows: list[FloorRow]) -> SetupPlan:
        """The week's plan."""
        rows = list(self.once_in_a_loop(rows))
        loops: dict[str, list[FloorRow]] = {}
        stations: dict[str, list[FloorRow]] = {}
        for row in rows:
            loops.setdefault(row.loop, []).append(row)
            stations.setdefault(row.station, []).append(row)
        return SetupPlan(
            self.week,
            tuple(self.loop(code, own) for code, own in loops.items()),
            tuple(self.station(code, own) for code, own in sorted(stations.items())),
        )

    def once_in_a_loop(self, rows: list[FloorRow]) -> Iterator[FloorRow]:
        """Pass each variant once for each loop."""
        lines: dict[tuple[str, str, str], int] = {}
        for row in rows:
            first = lines.setdefault((row.loop, row.station, row.variant), row.line)
            if first == row.line:
                yield row
                continue
            what = f"{shown(row.variant)} is in this loop already, on line {first}."
            self.note(row, "variant", what, ONE_ROW_A_VARIANT)

    def station(self, code: str, rows: list[FloorRow]) -> StationPlan:
        """A station, shared by all loops that name it."""
        merged: dict[str, dict[str, Any]] = {}
        first: dict[tuple[str, str], int] = {}
        for row in rows:
            details = merged.setdefault(row.variant, {})
            for column in SHARED:
                self.agree(row, column, details, first)
        self.check_steps(rows)
        if self.whole:
            self.check_all_repeated(rows)
        return StationPlan(
            code, in_order(variant_plan(variant, own) for variant, own in merged.items())
        )

    def agree(
        self, row: FloorRow, column: str, details: dict[str, Any], first: dict[tuple[str, str], int]
    ) -> None:
        """Take what the row says, unless an earlier row says something else; blanks say nothing."""
        value = getattr(row, column)
        if value is None:
            return
        line = first.setdefault((row.variant, column), row.line)
        if details.setdefault(column, value) != value:
            what = (
                f"{shown(str(value))} here and {shown(str(details[column]))} on line {line}, but"
                f" station {shown(row.station)} is one and the same."
            )
            self.note(row, column, what, SAME_EVERYWHERE)

    def check_steps(self, rows: list[FloorRow]) -> None:
        """Note two variants of a station at one step."""
        at_step: dict[int, FloorRow] = {}
        for row in rows:
            first = at_step.setdefault(row.step, row)
            if first.variant != row.variant:
                what = f"step {row.step} is {shown(first.variant)} already, on line {first.line}."
                self.note(row, "step", what, ONE_STEP_EACH)

    def check_all_repeated(self, rows: list[FloorRow]) -> None:
        """Note a shared station for which no loop lists all variants.

        A loop may name fewer than another. But where each has one that the other lacks, two
        different stations most likely got the same code by mistake.
        """
        in_loop: dict[str, set[str]] = {}
        for row in rows:
            in_loop.setdefault(row.loop, set()).add(row.variant)
        every = {row.variant for row in rows}
        if every in in_loop.values():
            return
        for row in rows:
            if row.loop != rows[0].loop and row.variant not in in_loop[rows[0].loop]:
                what = (
                    f"loop {shown(rows[0].loop)} has no {shown(row.variant)} at station"
                    f" {shown(row.station)} (line {rows[0].line})."
                )
                self.note(row, "variant", what, ALL_OR_FEWER)

    def loop(self, code: str, rows: list[FloorRow]) -> LoopPlan:
        """A loop with its area and its stops in order."""
        areas = [row for row in rows if row.area is not None]
        for row in areas:
            if row.area != areas[0].area:
                what = (
                    f"{shown(str(row.area))} here and {shown(str(areas[0].area))}"
                    f" on line {areas[0].line} for loop {shown(code)}."
                )
                self.note(row, "area", what, ONE_AREA)
        stops = self.stops(rows)
        return LoopPlan(code, areas[0].area if areas else None, tuple(sorted(stops)))

    def stops(self, rows: list[FloorRow]) -> Iterator[tuple[int, str]]:
        """Each station's position: as written, or else in the order of first appearance."""
        stations = list(dict.fromkeys(row.station for row in rows))
        placed = self.positions(rows)
        if placed and self.whole:
            for row in rows:
                if row.station not in placed:
                    what = f"station {shown(row.station)} has no position."
                    self.note(row, "position", what, ALL_OR_NO_POSITIONS)
        for place, station in enumerate(stations, start=1):
            yield placed.get(station, place), station

    def positions(self, rows: list[FloorRow]) -> dict[str, int]:
        """The positions written in the rows of a loop, by station."""
        written = [row for row in rows if row.position is not None]
        of_station: dict[str, FloorRow] = {}
        at_place: dict[int, FloorRow] = {}
        for row in written:
            assert row.position is not None
            first = of_station.setdefault(row.station, row)
            other = at_place.setdefault(row.position, row)
            if first.position != row.position:
                what = f"station {shown(row.station)} is at {first.position} on line {first.line}."
                self.note(row, "position", what, ONE_POSITION_EACH)
            elif other.station != row.station:
                what = f"station {shown(other.station)} is at {row.position} on line {other.line}."
                self.note(row, "position", what, ONE_POSITION_EACH)
        return {station: row.position or 0 for station, row in of_station.items()}


def variant_plan(code: str, details: dict[str, Any]) -> VariantPlan:
    """A variant from what its rows say; what none says has the record's default."""
    return VariantPlan(
        code=code,
        step=details["step"],
        skill=details["skill"],
        difficulty=details.get("difficulty"),
        height_m=details.get("height_m"),
        spotter=details.get("spotter", False),
        lanes=details.get("lanes", 1),
        seconds=details.get("seconds"),
        change=details.get("change", ""),
        caution=details.get("caution", ""),
    )
