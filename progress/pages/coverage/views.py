"""A floor against what children need next, and a proposal that a coach may put into a draft."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from progress.engine.station_choice import MOST_CHANGES
from progress.models import Setup, StaffMember
from progress.pages.coverage.tables import ladder_rows, skill_rows, tiers_of
from progress.pages.shared.access import coach_or_lead
from progress.usecases.coverage.put_into_draft import put_into_draft
from progress.usecases.coverage.see_coverage import see_coverage
from progress.usecases.floors.changes import FloorRefused

SHOWN = 8  # skills that are shown before the fold


@dataclass(frozen=True)
class Asked:
    """What the coach asks for; ``classes`` is None where every class is meant."""

    classes: list[str] | None
    changes: int
    fixed: list[int]


@coach_or_lead
def floor_coverage(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Show the comparison; put swaps into a draft where they are sent."""
    setup = get_object_or_404(Setup.objects.plans(), pk=number)
    if request.method == "POST":
        return _put(request, setup, staff)
    asked = _asked(request.GET)
    coverage = see_coverage(
        setup=setup,
        today=timezone.localdate(),
        classes=asked.classes,
        changes=asked.changes,
        fixed=asked.fixed,
    )
    skills = skill_rows(coverage.skills)
    context = {
        "setup": setup,
        "coverage": coverage,
        "asked": asked,
        "how_many": range(1, MOST_CHANGES + 1),
        "skills": skills[:SHOWN],
        "more_skills": skills[SHOWN:],
        "tiers": tiers_of(coverage),
        "ladders": ladder_rows(coverage),
        "query": request.GET.urlencode(),
    }
    return render(request, "progress/coverage/page.html", context)


def _put(request: HttpRequest, setup: Setup, staff: StaffMember) -> HttpResponse:
    swaps = [_whole_numbers(swap) for swap in request.POST.getlist("swap")]
    try:
        if any(len(swap) != 3 for swap in swaps):
            raise FloorRefused("That was no swap this page offers. Look at the coverage again.")
        done = put_into_draft(
            setup=setup, swaps=[(out, into, area) for out, into, area in swaps], by=staff
        )
    except FloorRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, f"{done.says} Look it over: it is your floor.")
    return redirect(request.get_full_path())


def _asked(sent: QueryDict) -> Asked:
    changes = (_whole_numbers(sent.get("changes", "1")) or [1])[0]
    fixed = [number for text in sent.getlist("stay") for number in _whole_numbers(text)]
    classes = sent.getlist("class") if "asked" in sent else None
    return Asked(classes, min(max(changes, 1), MOST_CHANGES), fixed)


def _whole_numbers(text: str) -> list[int]:
    """The numbers of ``12-34-5``; empty where anything else stands there."""
    parts = text.split("-")
    good = all(part.isascii() and part.isdigit() and len(part) < 10 for part in parts)
    return [int(part) for part in parts] if good else []
