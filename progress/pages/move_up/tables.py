"""The table of the move-up list."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from progress.engine.answers import Readiness
from progress.models import Athlete, Hold, Skill
from progress.pages.shared.parts import (
    athlete_link,
    day_cell,
    hold_lines,
    readiness_cell,
    skill_list,
)
from progress.pages.shared.tables import RuledTable
from progress.pages.shared.words import standing
from progress.usecases.see_move_up import MoveUpRow


@dataclass(frozen=True)
class Row:
    """One athlete as the table sorts and shows them."""

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    name: str
    tier: int
    standing: tuple[int, float]
    classes: str
    age: float | None
    last_checked: date | None
    days_since: int | None


def move_up_rows(found: Iterable[MoveUpRow], today: date) -> list[Row]:
    """The use case's rows with what sorting needs."""
    return [_row(one, today) for one in found]


def _row(one: MoveUpRow, today: date) -> Row:
    last = one.last_checked
    return Row(
        athlete=one.athlete,
        readiness=one.readiness,
        holds=one.holds,
        name=str(one.athlete),
        tier=one.readiness.tier,
        standing=standing(one.readiness),
        classes=one.classes,
        age=one.age,
        last_checked=last,
        days_since=None if last is None else (today - last).days,
    )


class MoveUpTable(RuledTable):
    """Decision with its reasons, what holds back, class, age, and how fresh the picture is."""

    caption = "The tool suggests. The programme lead decides, child by child."
    nobody = "Nobody has this decision today."

    name = tables.Column(verbose_name="Athlete")
    tier = tables.Column(verbose_name="Tier")
    standing = tables.Column(verbose_name="Next tier")
    why = tables.Column(
        verbose_name="Why", accessor="readiness__why", orderable=False, empty_values=()
    )
    holding_back = tables.Column(
        verbose_name="Holding back",
        accessor="readiness__holding_back",
        orderable=False,
        empty_values=(),
    )
    classes = tables.Column(verbose_name="Class", empty_values=())
    age = tables.Column(verbose_name="Age", empty_values=())
    days_since = tables.Column(verbose_name="Last checked", empty_values=())

    def __init__(self, *args: Any, skills: Mapping[str, Skill], today: date, **kwargs: Any) -> None:
        self.skills, self.today = skills, today
        super().__init__(*args, order_by="standing", **kwargs)

    def render_name(self, record: Row) -> SafeString:
        return athlete_link(record.athlete)

    def render_standing(self, record: Row) -> SafeString:
        return hold_lines(record.holds) + readiness_cell(record.readiness)

    def render_why(self, record: Row) -> SafeString | str:
        reasons = record.readiness.reasons
        return format_html('<span class="small">{}</span>', "; ".join(reasons)) if reasons else "–"

    def render_holding_back(self, record: Row) -> SafeString | str:
        return skill_list(self.skills, record.readiness.holding_back)

    def render_classes(self, record: Row) -> str:
        return record.classes or "–"

    def render_age(self, record: Row) -> str:
        return "–" if record.age is None else str(int(record.age))

    def render_days_since(self, record: Row) -> SafeString | str:
        return day_cell(record.last_checked, self.today)
