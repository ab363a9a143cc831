"""The tables of the class page: one of athletes, one for each loop."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from progress.engine.answers import Readiness, Suggestion
from progress.models import Athlete, Hold, Loop, Skill, Variant
from progress.pages.shared import words
from progress.pages.shared.parts import (
    athlete_link,
    day_cell,
    hold_lines,
    readiness_cell,
    skill_list,
)
from progress.pages.shared.tables import RuledTable
from progress.usecases.see_class import AthleteTonight, ClassTonight


@dataclass(frozen=True)
class AthleteRow:
    """One athlete as the table sorts and shows them."""

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    name: str
    standing: tuple[int, float]
    holding_back: tuple[str, ...]
    checks: tuple[str, ...]
    starts_on: str | None
    last_seen: date | None


def athlete_rows(tonight: ClassTonight) -> list[AthleteRow]:
    """One row an athlete, in the order of the use case."""
    loops = {loop.code: str(loop) for loop in tonight.loops}
    return [_athlete_row(each, loops) for each in tonight.athletes]


def _athlete_row(each: AthleteTonight, loops: Mapping[str, str]) -> AthleteRow:
    return AthleteRow(
        athlete=each.athlete,
        readiness=each.readiness,
        holds=each.holds,
        name=str(each.athlete),
        standing=words.standing(each.readiness),
        holding_back=each.readiness.holding_back,
        checks=tuple(check.skill for check in each.checks),
        starts_on=loops.get(each.starts_on or ""),
        last_seen=each.last_seen,
    )


class AthletesTable(RuledTable):
    """Readiness, what holds each athlete back, what to check next, and who has not been seen."""

    caption = "Readiness for the next tier: the tool’s suggestion, not a decision."

    name = tables.Column(verbose_name="Athlete")
    standing = tables.Column(verbose_name="Next tier")
    holding_back = tables.Column(verbose_name="Holding back", orderable=False, empty_values=())
    checks = tables.Column(verbose_name="Check next", orderable=False, empty_values=())
    starts_on = tables.Column(verbose_name="Starts on", default="–")
    last_seen = tables.Column(verbose_name="Last checked", empty_values=())

    def __init__(self, *args: Any, skills: Mapping[str, Skill], today: date, **kwargs: Any) -> None:
        self.skills, self.today = skills, today
        super().__init__(*args, **kwargs)

    def render_name(self, record: AthleteRow) -> SafeString:
        return athlete_link(record.athlete)

    def render_standing(self, record: AthleteRow) -> SafeString:
        return hold_lines(record.holds) + readiness_cell(record.readiness)

    def render_holding_back(self, record: AthleteRow) -> SafeString | str:
        return skill_list(self.skills, record.holding_back)

    def render_checks(self, record: AthleteRow) -> SafeString | str:
        return skill_list(self.skills, record.checks)

    def render_last_seen(self, record: AthleteRow) -> SafeString | str:
        return day_cell(record.last_seen, self.today)


@dataclass(frozen=True)
class LoopTable:
    """A loop with its table, ready to draw."""

    loop: Loop
    table: RuledTable


class VariantColumn(tables.Column):
    """One station: the variant suggested for each athlete."""

    def __init__(self, variants: Mapping[str, Variant], with_why: bool, **kwargs: Any) -> None:
        super().__init__(orderable=False, empty_values=(), **kwargs)
        self.variants, self.with_why = variants, with_why

    def render(self, value: Suggestion | None) -> SafeString | str:
        if value is None:
            return "–"
        if value.variant is None:
            return format_html('<span class="variant">Nothing fits today</span>{}', _why(value))
        variant = self.variants.get(value.variant)
        chance = "" if value.chance is None else f", {words.percent(value.chance)}"
        return format_html(
            '<span class="variant">{}</span><span class="small number">{}{}</span>{}{}',
            str(variant) if variant else value.variant,
            words.step_word(variant.step) if variant else "",
            chance,
            _spotter(variant),
            _why(value) if self.with_why else "",
        )


def _why(suggestion: Suggestion) -> SafeString:
    return format_html('<p class="small">{}</p>', suggestion.why)


def _spotter(variant: Variant | None) -> SafeString | str:
    if variant is None or not variant.spotter:
        return ""
    return format_html('<br><span class="small">{}</span>', "adult stands here")


class _FloorTable(RuledTable):
    even = True
    name = tables.Column(verbose_name="Athlete", orderable=False)

    def render_name(self, record: dict[str, Any]) -> SafeString:
        return format_html('<span class="name">{}</span>', record["name"])


def loop_tables(tonight: ClassTonight, *, with_why: bool) -> list[LoopTable]:
    """One table a loop: athletes down, stations across in the order they are met."""
    return [_loop_table(tonight, loop, with_why) for loop in tonight.loops]


def _loop_table(tonight: ClassTonight, loop: Loop, with_why: bool) -> LoopTable:
    stations = [stop.station for stop in sorted(loop.stops.all(), key=lambda s: s.position)]
    columns = [
        (
            f"station{number}",
            VariantColumn(
                {variant.code: variant for variant in station.variants.all()},
                with_why,
                verbose_name=f"{number}. {station}",
            ),
        )
        for number, station in enumerate(stations, start=1)
    ]
    rows = []
    for each in tonight.athletes:
        here = {one.station: one for one in each.suggestions.get(loop.code, ())}
        cells = {
            f"station{number}": here.get(station.code)
            for number, station in enumerate(stations, start=1)
        }
        rows.append({"name": str(each.athlete), **cells})
    table = _FloorTable(
        rows,
        extra_columns=columns,
        orderable=False,
        caption=f"{loop}: the variant suggested for each athlete at each station.",
    )
    return LoopTable(loop, table)
