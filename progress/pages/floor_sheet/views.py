"""The floor on one A4 sheet, for the wall and for the day's floor check."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from progress.engine.safety import ANALOGY, CLOSING
from progress.models import Setup, StaffMember
from progress.pages.floor_sheet.contents import TICKS, caution_lines, draw, loop_lines
from progress.pages.floor_sheet.fit import fit
from progress.pages.shared.access import coach_or_lead
from progress.usecases.see_floor_sheet import see_floor_sheet


@coach_or_lead
@require_safe
def floor_sheet(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Picture, stations, cautions and the floor check; everything on screen, what fits on paper."""
    setup = get_object_or_404(Setup.objects.plans(), pk=number)
    sheet = see_floor_sheet(setup=setup, today=timezone.localdate())
    picture = draw(sheet)
    loops = loop_lines(sheet.loops, [one.letter for one in picture.loops])
    cautions = caution_lines(sheet.cautions, sheet.loops)
    context = {
        "setup": setup,
        "sheet": sheet,
        "picture": picture,
        "loops": loops,
        "cautions": cautions,
        "paper": fit(str(setup), picture, loops, cautions),
        "ticks": TICKS,
        "closing": CLOSING,
        "analogy": ANALOGY if any(one.analogy for one in cautions) else "",
    }
    return render(request, "progress/floor_sheet/page.html", context)
