"""What a coach changes on the sheet beside results: who is here, and which skills are on it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from progress.models import Skill, StaffMember
from progress.pages.checks.views import sheet_address
from progress.pages.shared.access import class_or_404, coach_or_lead
from progress.usecases.choose_sheet_skill import choose_sheet_skill
from progress.usecases.mark_register import RegisterRefused, mark_register


@coach_or_lead
@require_POST
def sheet_register(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Mark athletes as here or away: one for each ``here`` and ``away`` sent.

    The sheet's script asks for JSON and gets ``{"stored": true}`` or, with 409, ``problem``.
    """
    gym_class = class_or_404(code)
    marks = dict.fromkeys(request.POST.getlist("here"), True)
    marks |= dict.fromkeys(request.POST.getlist("away"), False)
    try:
        mark_register(gym_class=gym_class, day=timezone.localdate(), present=marks, coach=staff)
    except RegisterRefused as refused:
        if request.accepts("text/html"):
            messages.error(request, str(refused))
            return redirect(sheet_address(gym_class, request.POST))
        return JsonResponse({"stored": False, "problem": str(refused)}, status=409)
    if request.accepts("text/html"):
        return redirect(sheet_address(gym_class, request.POST) + "#register")
    return JsonResponse({"stored": True})


@coach_or_lead
@require_POST
def sheet_skills(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Put a skill on the sheet (``add``) or take one off (``drop``), by code."""
    gym_class = class_or_404(code)
    adding = "add" in request.POST
    skill = get_object_or_404(Skill, code=request.POST.get("add") or request.POST.get("drop"))
    choose_sheet_skill(
        gym_class=gym_class, today=timezone.localdate(), skill=skill, shown=adding, coach=staff
    )
    if adding:
        return redirect(sheet_address(gym_class, {"skill": skill.code}))
    return redirect(sheet_address(gym_class, {}))
