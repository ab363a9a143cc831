"""The engine's report card: whether its numbers can be trusted in this gym."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from progress.engine.report_card import Marks, ReportCard
from progress.models import StaffMember
from progress.pages.report_card.charts import reliability_figure
from progress.pages.report_card.tables import curve_table, part_table, yardstick_table
from progress.pages.report_card.words import points, told
from progress.pages.shared.access import lead_only
from progress.usecases.judge_card import Trust
from progress.usecases.see_report_card import CardSeen, see_report_card


@lead_only
def report_card(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The verdict first, then the curve, the yardsticks and the parts; or how much is missing."""
    seen = see_report_card(today=timezone.localdate())
    context: dict[str, Any] = {
        "seen": seen,
        "judged": seen.judged,
        "told": told(seen.judged, seen.verdict),
        "warned": seen.verdict.trust is Trust.DO_NOT,
    }
    if seen.judged.card is not None and seen.verdict.trust is not Trust.TOO_LITTLE:
        context |= _numbers(seen, seen.judged.card)
    return render(request, "progress/report_card/page.html", context)


def _numbers(seen: CardSeen, card: ReportCard) -> dict[str, Any]:
    return {
        "card": card,
        "marks": card.overall,
        "gaps": _gaps(card.overall),
        "figure": reliability_figure(card.overall.curve),
        "curve": curve_table(card.overall.curve),
        "yardsticks": yardstick_table(card),
        "ladders": part_table(
            seen.verdict.ladders, seen.ladders, "Ladder", "In the order of the catalogue."
        ),
        "tiers": part_table(
            seen.verdict.tiers, seen.tiers, "Tier", "By the tier of the skill, not of the child."
        ),
        "too_few": [_name(key, seen) for key in card.too_few],
    }


def _name(key: str | int, seen: CardSeen) -> str:
    """The name of a ladder (by code) or a tier (by number)."""
    found = seen.tiers.get(key) if isinstance(key, int) else seen.ladders.get(key)
    return found or str(key)


def _gaps(marks: Marks) -> dict[str, str]:
    """The calibration error and what luck makes of it, in points."""
    found = marks.calibration
    return {} if found is None else {name: points(value) for name, value in vars(found).items()}
