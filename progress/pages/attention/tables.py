"""The four lists as tables: who, and what the evidence says."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils.html import format_html_join
from django.utils.safestring import SafeString, mark_safe
from django_tables2 import RequestConfig

from progress.models import Athlete
from progress.pages.attention import words
from progress.pages.shared.tables import RuledTable
from progress.usecases.see_attention import Attention

ROWS_A_PAGE = 25


@dataclass(frozen=True)
class Row:
    """An athlete with the sentences of one list."""

    athlete: Athlete
    held: bool
    says: tuple[str, ...]


class AttentionTable(RuledTable):
    """Names with their evidence, in the order given: nobody is ranked."""

    name = tables.Column(verbose_name="Athlete", accessor="athlete", orderable=False)
    says = tables.Column(verbose_name="What the records say", orderable=False)

    def render_name(self, record: Row) -> SafeString:
        return mark_safe(render_to_string("progress/attention/who.html", {"row": record}))

    def render_says(self, record: Row) -> SafeString:
        return format_html_join("", "<p>{}</p>", ((one,) for one in record.says))


def no_gain_table(seen: Attention, request: HttpRequest) -> RuledTable:
    """Those without a gain."""
    rows = [
        Row(one.athlete, one.held, tuple(words.no_gain_sentence(part) for part in one.parts))
        for one in seen.no_gain
    ]
    return _table(rows, "gain", "By name. Over all first, then by ladder.", request)


def unchecked_table(seen: Attention, request: HttpRequest, *, held: bool) -> RuledTable:
    """Those not checked, never first; those on hold, or the others."""
    found = seen.unchecked_held if held else seen.unchecked
    rows = [Row(one.athlete, held, (words.not_checked_sentence(one),)) for one in found]
    caption = "Never checked first, then the longest ago."
    return _table(rows, "unchecked-held" if held else "unchecked", caption, request)


def back_tables(seen: Attention, request: HttpRequest) -> dict[str, RuledTable]:
    """Those who went back: slipped, only gone stale, and on hold by now."""
    kinds = {"slipped": seen.slipped, "stale": seen.gone_stale, "held": seen.back_held}
    return {
        kind: _table(
            [
                Row(one.athlete, kind == "held", tuple(words.went_back_sentences(one)))
                for one in found
            ],
            kind,
            "By name.",
            request,
        )
        for kind, found in kinds.items()
    }


def comes_less_table(seen: Attention, request: HttpRequest) -> RuledTable:
    """Those who came less often."""
    rows = [
        Row(one.athlete, one.held, (words.comes_less_sentence(one),)) for one in seen.comes_less
    ]
    return _table(rows, "less", "By name.", request)


def _table(rows: Sequence[Row], prefix: str, caption: str, request: HttpRequest) -> RuledTable:
    make: Callable[..., Any] = AttentionTable
    table: RuledTable = make(rows, prefix=f"{prefix}-", caption=caption, orderable=False)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    return table
