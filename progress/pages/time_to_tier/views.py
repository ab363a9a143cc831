"""How long from joining to each tier: for the lead, about the programme and no single child."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from progress.models import StaffMember
from progress.pages.shared.access import lead_only
from progress.pages.time_to_tier.charts import times_figure
from progress.pages.time_to_tier.tables import TimesTable
from progress.pages.time_to_tier.words import anybody, compared, rows_of, summary
from progress.usecases.see_time_to_tier import FEWEST, TierTimes, see_time_to_tier


@dataclass(frozen=True)
class Section:
    """One tier on the page; ``figure`` is None where there is nothing to draw."""

    tier: TierTimes
    summary: str
    compared: str
    figure: dict[str, Any] | None
    table: TimesTable

    @property
    def chart(self) -> str:
        """The id under which the page holds the figure."""
        return f"times-{self.tier.number}"


@lead_only
@require_safe
def time_to_tier(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """A picture, sentences and a table for each tier above the first."""
    found = see_time_to_tier(today=timezone.localdate())
    sections = [
        Section(
            tier=tier,
            summary=summary(tier),
            compared=compared(tier) if tier.everybody.children >= FEWEST else "",
            figure=times_figure(tier),
            table=TimesTable(rows_of(tier)),
        )
        for tier in found.tiers
    ]
    context = {"found": found, "sections": sections, "anybody": anybody(found), "fewest": FEWEST}
    return render(request, "progress/time_to_tier/page.html", context)
