"""The lead's first list: who may be ready to move up, who is close, whom to look at again."""

from collections import Counter
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django_tables2 import RequestConfig

from progress.engine.terms import Decision
from progress.models import Skill, StaffMember
from progress.pages.move_up.tables import MoveUpTable, move_up_rows
from progress.pages.shared.access import lead_only
from progress.usecases.see_move_up import ORDER, see_move_up

ROWS_A_PAGE = 60


@dataclass(frozen=True)
class Filter:
    """One link of the filter; ``decision`` is None for everybody."""

    decision: Decision | None
    athletes: int
    chosen: bool


@lead_only
def move_up_list(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Everybody, or only those with one decision; sortable by each column."""
    today = timezone.localdate()
    everybody = move_up_rows(see_move_up(today=today), today)
    chosen = _chosen(request)
    can_move = [row for row in everybody if row.readiness.next_tier is not None]
    chosen_rows = [row for row in can_move if row.readiness.decision is chosen]
    rows = everybody if chosen is None else chosen_rows
    table = MoveUpTable(rows, skills=Skill.objects.in_bulk(field_name="code"), today=today)
    RequestConfig(request, paginate={"per_page": ROWS_A_PAGE}).configure(table)
    counts = Counter(row.readiness.decision for row in can_move)
    filters = [Filter(None, len(everybody), chosen is None)]
    filters += [Filter(each, counts[each], chosen is each) for each in ORDER]
    context = {"table": table, "filters": filters, "anybody": bool(everybody)}
    return render(request, "progress/move_up/list.html", context)


def _chosen(request: HttpRequest) -> Decision | None:
    """The decision asked for; anything unknown means everybody."""
    try:
        return Decision(request.GET.get("decision", ""))
    except ValueError:
        return None
