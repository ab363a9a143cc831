"""How alike coaches mark: for the lead alone."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from progress.models import ResultChoice, StaffMember
from progress.pages.coaches.tables import CoachesTable
from progress.pages.coaches.words import pair_sentence, read_agreement, too_few
from progress.pages.shared.access import lead_only
from progress.usecases.compare_double_checks import FEWEST_PAIRS
from progress.usecases.see_coaches import PairSeen, see_coaches

# Two coaches and the same five children: common practice, no source.
CHILDREN_TOGETHER = 5


@dataclass(frozen=True)
class PairRow:
    """Two coaches with what to say of them."""

    pair: PairSeen
    sentence: str


@lead_only
@require_safe
def coaches(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Coaches against each other, who might check together, and how far double checks agree."""
    found = see_coaches(today=timezone.localdate())
    words = [str(choice.label) for choice in ResultChoice]
    context = {
        "found": found,
        "table": CoachesTable(found.coaches),
        "pairs": [PairRow(pair, pair_sentence(pair)) for pair in found.pairs],
        "read": read_agreement(found.agreement),
        "too_few": too_few(found.agreement),
        "results": words,
        "counts": list(zip(words, found.agreement.table, strict=False)),
        "fewest": FEWEST_PAIRS,
        "children": CHILDREN_TOGETHER,
    }
    return render(request, "progress/coaches/page.html", context)
