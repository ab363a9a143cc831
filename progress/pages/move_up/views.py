"""The board: who may be ready to move up, who is held back, whom to look at again."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig

from progress.engine.terms import Decision
from progress.models import StaffMember
from progress.pages.move_up.exports import FORMATS, BoardExport, ExportTable, export_rows
from progress.pages.move_up.filters import BoardFilter, chosen_saying
from progress.pages.move_up.tables import BoardTable
from progress.pages.shared.access import lead_only
from progress.usecases.see_board import (
    ORDER,
    TOP,
    UNKNOWN,
    Board,
    Rows,
    all_with_classes_and_holds,
    counts_by_saying,
    see_board,
    with_classes_and_holds,
)
from progress.usecases.standings.keep_up import bring_up_to_date

ROWS_A_PAGE = 50
WORDS = {UNKNOWN: "Not worked out yet", TOP: "Highest tier"}


@dataclass(frozen=True)
class Link:
    """One of the links above the table: everybody, or those of whom one thing is said.

    ``decision`` has a shape to draw; the rest have ``word`` alone.
    """

    saying: str | None
    decision: Decision | None
    word: str
    athletes: int
    chosen: bool


class CountedPaginator(Paginator):
    """Pages of rows that were counted already."""

    count = 0

    def __init__(self, *args: Any, rows_in_all: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.count = rows_in_all


@lead_only
@never_cache
@require_safe
def move_up_list(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The board, a page of it, or with ``_export`` all rows that were asked for as a file."""
    board = see_board(today=timezone.localdate())
    wanted, saying = BoardFilter(request.GET, board=board), chosen_saying(request.GET)
    rows: Rows = wanted.qs
    shown = rows if saying is None else rows.filter(says=saying)
    if request.GET.get("_export") in FORMATS:
        return _file(request, board, shown)
    counts = counts_by_saying(rows)
    in_all = sum(counts.values())
    found = in_all if saying is None else counts[saying]
    table = _sorted(request, board, with_classes_and_holds(shown, board.today))
    _turn_to_page(request, table, found)
    context = {
        "board": board,
        "filter": wanted,
        "saying": saying,
        "narrowed": bool(wanted.in_force) or saying is not None,
        "table": table,
        "found": found,
        "links": _links(counts, in_all, saying),
        "anybody": bool(in_all) or bool(wanted.in_force),
        "sort": request.GET.get("sort", ""),
    }
    return render(request, "progress/move_up/list.html", context)


@lead_only
@require_POST
def board_refresh(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Work out every answer that waits, then show the board as it was asked for."""
    done = bring_up_to_date(today=timezone.localdate())
    answers = "1 answer" if done.worked_out == 1 else f"{done.worked_out:,} answers"
    messages.success(request, f"{answers} worked out from attempts up to now.")
    asked = QueryDict(request.POST.get("asked", "")).urlencode()
    return redirect(reverse("move_up_list") + (f"?{asked}" if asked else ""))


def _sorted(request: HttpRequest, board: Board, rows: Rows) -> BoardTable:
    table = BoardTable(rows, board=board, choosing=_can_sign_off())
    # The page is turned by ourselves: the address must not say how many rows a page has.
    RequestConfig(request, paginate=False).configure(table)
    return table


def _turn_to_page(request: HttpRequest, table: BoardTable, found: int) -> None:
    """The page asked for; the first or the last where there is no such page."""
    table.paginate(paginator_class=CountedPaginator, per_page=ROWS_A_PAGE, rows_in_all=found)
    table.page = table.paginator.get_page(request.GET.get("page"))


def _file(request: HttpRequest, board: Board, shown: Rows) -> HttpResponse:
    ordered: Rows = _sorted(request, board, shown).data.data
    athletes = all_with_classes_and_holds(ordered, board.today)
    export = BoardExport(request.GET["_export"], ExportTable(export_rows(athletes, board)))
    response: HttpResponse = export.response(f"board-{board.today.isoformat()}.{export.format}")
    return response


def _links(counts: dict[str, int], in_all: int, chosen: str | None) -> list[Link]:
    """Everybody, each decision, and what else is said of anybody."""
    links = [Link(None, None, "Everybody", in_all, chosen is None)]
    links += [Link(one.value, one, "", counts[one.value], chosen == one.value) for one in ORDER]
    return links + [
        Link(one, None, word, counts[one], chosen == one)
        for one, word in WORDS.items()
        if counts[one] or chosen == one
    ]


def _can_sign_off() -> bool:
    """Whether this site has the page to sign off on."""
    try:
        return bool(reverse("sign_off"))
    except NoReverseMatch:
        return False
