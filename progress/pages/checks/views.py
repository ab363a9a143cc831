"""The check sheet of a class: record a few checks straight after it, with one hand."""

from collections.abc import Iterable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from progress.models import GymClass, Hold, Skill, StaffMember
from progress.pages.checks.forms import CheckSheet
from progress.pages.shared.access import class_or_404, coach_or_lead
from progress.usecases.record_checks import ChecksRefused, record_checks
from progress.usecases.see_class import ClassTonight, see_class

MOST_SKILLS = 6
SUGGESTED_SKILLS = 3


@coach_or_lead
def check_sheet(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Show the sheet for the chosen skills, or the suggested ones; store what is sent."""
    gym_class = class_or_404(code)
    if request.method == "POST":
        return _store(request, gym_class, staff)
    tonight = see_class(gym_class=gym_class, today=timezone.localdate())
    chosen = _in_catalogue_order(request.GET.getlist("skill")[:MOST_SKILLS])
    skills = chosen or _in_catalogue_order(_suggested(tonight))
    sheet = CheckSheet(athletes=[each.athlete for each in tonight.athletes], skills=skills)
    return _show(request, gym_class, sheet, suggested=_suggested(tonight, most=MOST_SKILLS))


def _store(request: HttpRequest, gym_class: GymClass, coach: StaffMember) -> HttpResponse:
    """Store the sheet; on any problem show it again with everything that was entered."""
    skills = _in_catalogue_order(request.POST.getlist("skill")[:MOST_SKILLS])
    athletes = gym_class.athletes_on(timezone.localdate())
    sheet = CheckSheet(request.POST, athletes=athletes, skills=skills)
    if not sheet.is_valid():
        return _show(request, gym_class, sheet)
    entries = sheet.entries()
    if not entries:
        sheet.add_error(None, "Nothing is marked yet. Mark at least one check, then save.")
        return _show(request, gym_class, sheet)
    try:
        record_checks(gym_class=gym_class, coach=coach, entries=entries, now=timezone.now())
    except ChecksRefused as refused:
        for problem in refused.problems:
            sheet.add_error(None, problem)
        return _show(request, gym_class, sheet)
    many = "check is" if len(entries) == 1 else "checks are"
    messages.success(request, f"{len(entries)} {many} stored for {gym_class}.")
    query = urlencode({"skill": [skill.code for skill in skills]}, doseq=True)
    return redirect(f"{reverse('check_sheet', args=[gym_class.code])}?{query}")


def _show(
    request: HttpRequest,
    gym_class: GymClass,
    sheet: CheckSheet,
    *,
    suggested: Iterable[str] = (),
) -> HttpResponse:
    today = timezone.localdate()
    holds = Hold.objects.on(today).filter(athlete__in=sheet.athletes).prefetch_related("ladders")
    context = {
        "gym_class": gym_class,
        "today": today,
        "holds": _by_athlete(holds),
        "sheet": sheet,
        "catalogue": Skill.objects.select_related("ladder"),
        "chosen": {skill.code for skill in sheet.skills},
        "suggested": set(suggested),
        "most": MOST_SKILLS,
    }
    status = 422 if sheet.errors else 200
    return render(request, "progress/checks/sheet.html", context, status=status)


def _by_athlete(holds: Iterable[Hold]) -> dict[int, list[Hold]]:
    found: dict[int, list[Hold]] = {}
    for hold in holds:
        found.setdefault(hold.athlete_id, []).append(hold)
    return found


def _suggested(tonight: ClassTonight, most: int = SUGGESTED_SKILLS) -> list[str]:
    """The skills that tonight's checks ask for most urgently, each once."""
    return list(dict.fromkeys(check.skill for check in tonight.checks))[:most]


def _in_catalogue_order(codes: Iterable[str]) -> list[Skill]:
    found = Skill.objects.filter(code__in=list(codes)).select_related("ladder")
    return list(found.prefetch_related("look_fors"))
