"""The check sheet of a class: open it, save it without JavaScript, and look at what it changed."""

from collections.abc import Mapping
from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from progress.models import GymClass, Hold, HoldReason, Skill, StaffMember
from progress.pages.checks.drawing import (
    data_for_script,
    draw_sheet,
    skill_in_view,
)
from progress.pages.checks.forms import CheckSheet, sent_marks
from progress.pages.checks.held import held_back
from progress.pages.checks.symbols import symbols
from progress.pages.shared.access import class_or_404, coach_or_lead
from progress.usecases.choose_sheet_skill import choose_sheet_skill
from progress.usecases.open_sheet import open_sheet
from progress.usecases.record_checks import ChecksRefused, record_checks
from progress.usecases.sum_up_meeting import sum_up_meeting

NOTHING_MARKED = "Nothing is marked yet. Mark at least one check, then save."
OFF_THE_SHEET = (
    "Some marks were for somebody who is no longer in this class, or for a skill that is no longer "
    "in the catalogue. They are not below. Save again to store the rest."
)
ON_HOLD = (
    "{athlete} is on hold for {skill}, so that mark is not stored. Ask the lead. "
    "Save again to store the rest."
)


@coach_or_lead
def check_sheet(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Show tonight's sheet, one skill at a time or all at once; store what its form sends."""
    gym_class = class_or_404(code)
    if request.method == "POST":
        return _store(request, gym_class, staff)
    return _show(request, gym_class, CheckSheet(), staff)


@coach_or_lead
@require_safe
def sheet_summary(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """What today's checks of this class changed."""
    gym_class = class_or_404(code)
    today = timezone.localdate()
    summary = sum_up_meeting(gym_class=gym_class, today=today)
    context = {"gym_class": gym_class, "today": today, "summary": summary}
    return render(request, "progress/checks/summary.html", context)


def _store(request: HttpRequest, gym_class: GymClass, coach: StaffMember) -> HttpResponse:
    """Store the form; on any problem show it again with everything that was marked."""
    finishing = "finish" in request.POST
    form = _sent_form(request, gym_class, timezone.localdate())
    if form.is_valid():
        entries = form.entries()
        try:
            if not entries and not finishing:
                form.add_error(None, NOTHING_MARKED)
            else:
                record_checks(gym_class=gym_class, coach=coach, entries=entries, now=timezone.now())
        except ChecksRefused as refused:
            form.add_problems(refused.found)
    if form.errors:
        _keep_on_sheet(gym_class, form, coach)
        return _show(request, gym_class, form, coach)
    if entries:
        many = "check is" if len(entries) == 1 else "checks are"
        messages.success(request, f"{len(entries)} {many} stored for {gym_class}.")
    if finishing:
        return redirect("sheet_summary", gym_class.code)
    return redirect(sheet_address(gym_class, request.GET))


def _sent_form(request: HttpRequest, gym_class: GymClass, today: date) -> CheckSheet:
    """The form for the marks that came, whatever the engine would put on the sheet by now."""
    athletes = {athlete.pk: athlete for athlete in gym_class.athletes_on(today)}
    skills = {skill.pk: skill for skill in Skill.objects.select_related("ladder")}
    holds: dict[int, list[Hold]] = {}
    for hold in Hold.objects.on(today).filter(athlete__in=athletes).prefetch_related("ladders"):
        holds.setdefault(hold.athlete_id, []).append(hold)
    pairs, refused = [], []
    for athlete_key, skill_key in sent_marks(request.POST):
        athlete, skill = athletes.get(athlete_key), skills.get(skill_key)
        if athlete is None or skill is None:
            refused.append(OFF_THE_SHEET)
        elif held_back(holds.get(athlete.pk, []), skill):
            refused.append(ON_HOLD.format(athlete=athlete, skill=skill))
        else:
            pairs.append((athlete, skill))
    return CheckSheet(request.POST, pairs=pairs, refused=list(dict.fromkeys(refused)))


def _keep_on_sheet(gym_class: GymClass, form: CheckSheet, coach: StaffMember) -> None:
    """Keep the skills that were marked on the sheet, so that no mark loses its cell."""
    today = timezone.localdate()
    shown = {column.skill for column in open_sheet(gym_class=gym_class, today=today).columns}
    for skill in {skill for _, skill in form.pairs} - shown:
        choose_sheet_skill(gym_class=gym_class, today=today, skill=skill, shown=True, coach=coach)


def _show(
    request: HttpRequest, gym_class: GymClass, form: CheckSheet, coach: StaffMember
) -> HttpResponse:
    sheet = open_sheet(gym_class=gym_class, today=timezone.localdate())
    by_athlete = request.GET.get("by") == "athlete"
    chosen = None if by_athlete else skill_in_view(sheet, request.GET.get("skill"))
    context = {
        "gym_class": gym_class,
        "sheet": sheet,
        "drawn": draw_sheet(sheet, form, chosen),
        "by_athlete": by_athlete,
        "form": form,
        "data": data_for_script(sheet, coach),
        "hold_reasons": HoldReason.choices,
        "symbols": symbols(),
    }
    status = 422 if form.errors else 200
    return render(request, "progress/checks/sheet.html", context, status=status)


def sheet_address(gym_class: GymClass, view: Mapping[str, str]) -> str:
    """The sheet in the same view: the ``skill`` chosen, or all skills ``by`` athlete."""
    query = urlencode({name: view[name] for name in ("skill", "by") if view.get(name)})
    return reverse("check_sheet", args=[gym_class.code]) + (f"?{query}" if query else "")
