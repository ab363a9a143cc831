"""The table of the board."""

from typing import Any

import django_tables2 as tables
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from progress.engine.answers import Readiness
from progress.models import Athlete, Tier
from progress.pages.shared.parts import day_cell, hold_lines, readiness_cell, skill_list
from progress.pages.shared.tables import RuledTable
from progress.pages.shared.words import day_in_words
from progress.usecases.see_board import (
    TOP,
    Board,
    Rows,
    by_class,
    by_field,
    by_last_check,
    by_name,
    by_readiness,
    class_names,
    holds_in_force,
    is_old,
    readiness_of,
)

# Reasons that another cell of the row says already.
SAID_ELSEWHERE = ("held back by", "on hold", "a ladder is on hold", "already in the top tier")


def why_of(answer: Readiness) -> str:
    """The engine's reasons, short of what stands beside them."""
    said = [one for one in answer.reasons if not one.startswith(SAID_ELSEWHERE)]
    return "; ".join(said)


def tier_words(tier: Tier) -> str:
    """The tier's number and name; the name alone where it has the number in it."""
    return tier.name if str(tier.number) in tier.name else f"{tier.number} {tier.name}"


class BoardTable(RuledTable):
    """Who, the decision, what holds back and why, where they train, how fresh the picture is.

    ``choosing``: whether rows have boxes to choose them for sign-off.
    """

    caption = "The tool suggests. The programme lead decides, child by child."

    name = tables.Column(verbose_name="Athlete", empty_values=())
    readiness = tables.Column(verbose_name="Next tier", accessor="says", empty_values=())
    why = tables.Column(verbose_name="Why", accessor="says", orderable=False, empty_values=())
    tier = tables.Column(verbose_name="Tier", accessor="tier_id")
    classes = tables.Column(verbose_name="Class", accessor="says", empty_values=())
    age = tables.Column(verbose_name="Age", accessor="birth_date", empty_values=())
    days_since = tables.Column(verbose_name="Last checked", accessor="says", empty_values=())

    def __init__(self, *args: Any, board: Board, choosing: bool = False, **kwargs: Any) -> None:
        self.board, self.choosing = board, choosing
        super().__init__(*args, order_by="readiness", **kwargs)

    def order_name(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_name(athletes, backwards), True

    def order_readiness(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_readiness(athletes, backwards), True

    def order_tier(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_field(athletes, "tier", backwards), True

    def order_classes(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_class(athletes, backwards, self.board.today), True

    def order_age(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_field(athletes, "birth_date", backwards, low_first=False), True

    def order_days_since(self, athletes: Rows, backwards: bool) -> tuple[Rows, bool]:
        return by_last_check(athletes, backwards), True

    def render_name(self, record: Any) -> SafeString:
        context = {"athlete": record, "url": _evidence(record)}
        context |= {"choosing": self.choosing and record.says != TOP}
        return mark_safe(render_to_string("progress/move_up/name.html", context))

    def render_readiness(self, record: Athlete) -> SafeString:
        holds, answer = hold_lines(holds_in_force(record)), readiness_of(record)
        if answer is None:
            return holds + mark_safe('<span class="soft">Not worked out yet</span>')
        cell = holds + readiness_cell(answer)
        if answer.next_tier is None or not is_old(record, self.board.today):
            return cell
        return cell + _as_of(record)

    def render_why(self, record: Athlete) -> SafeString | str:
        answer = readiness_of(record)
        if answer is None or answer.next_tier is None:
            return "–"
        context: dict[str, Any] = {"why": why_of(answer), "held_back": bool(answer.holding_back)}
        context["names"] = skill_list(self.board.skills, answer.holding_back)
        return mark_safe(render_to_string("progress/move_up/why.html", context))

    def render_tier(self, record: Athlete) -> SafeString:
        return format_html('<span class="board-tier">{}</span>', tier_words(record.tier))

    def render_classes(self, record: Athlete) -> str:
        return class_names(record) or "–"

    def render_age(self, record: Athlete) -> str:
        age = record.age_on(self.board.today)
        return "–" if age is None else str(int(age))

    def render_days_since(self, record: Any) -> SafeString | str:
        stored = getattr(record, "standing", None)
        if stored is None or stored.on_day is None:
            return "–"
        return day_cell(stored.last_checked, self.board.today)


def _evidence(athlete: Athlete) -> str:
    """The page of what the answer rests on; the athlete's own where a site has no such page."""
    try:
        return reverse("evidence", args=[athlete.code])
    except NoReverseMatch:
        return reverse("athlete_page", args=[athlete.code])


def _as_of(record: Any) -> SafeString:
    """The day an old answer is from."""
    day = day_in_words(record.standing.on_day)
    return format_html('<br><span class="small soft">As of {}</span>', day)
