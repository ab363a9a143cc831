"""The sheet on paper: print it, and type in what was marked by hand."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.contrib import messages
from django.db.models import prefetch_related_objects
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_safe

from progress.models import GymClass, Skill, StaffMember
from progress.pages.checks.held import held_back
from progress.pages.checks.typed import TypedSheet
from progress.pages.shared.access import class_or_404, coach_or_lead
from progress.usecases.open_sheet import Sheet, open_sheet
from progress.usecases.record_checks import ChecksRefused, record_checks

BOXES = range(3)  # tries there is room for in a printed cell
TYPED_LATER = timedelta(days=13)  # the use case takes two weeks, to the minute


@coach_or_lead
@require_safe
def sheet_print(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Tonight's sheet for one A4 page."""
    gym_class = class_or_404(code)
    sheet = open_sheet(gym_class=gym_class, today=timezone.localdate())
    prefetch_related_objects([column.skill for column in sheet.columns], "look_fors")
    context = {"gym_class": gym_class, "sheet": sheet, "boxes": BOXES}
    return render(request, "progress/checks/print.html", context)


@coach_or_lead
def sheet_typing(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Fields for a paper sheet, a line an athlete; store what is typed, or say what is wrong."""
    gym_class = class_or_404(code)
    sent = request.POST if request.method == "POST" else request.GET
    day = _day(sent.get("day"))
    sheet = open_sheet(gym_class=gym_class, today=day)
    skills = _skills(sent.getlist("skill"), sheet)
    pairs = [
        (row.athlete, skill)
        for row in sheet.rows
        for skill in skills
        if not held_back(row.holds, skill)
    ]
    form = TypedSheet(request.POST if request.method == "POST" else None, pairs=pairs)
    if request.method == "POST" and form.is_valid() and _store(form, gym_class, staff, day):
        stored = len(form.entries(gym_class, day))
        messages.success(request, f"{stored} {'try is' if stored == 1 else 'tries are'} stored.")
        if day == timezone.localdate():
            return redirect("sheet_summary", gym_class.code)
        return redirect("class_page", gym_class.code)
    return _show(request, gym_class, sheet, skills, form)


def _store(form: TypedSheet, gym_class: GymClass, coach: StaffMember, day: date) -> bool:
    try:
        record_checks(
            gym_class=gym_class,
            coach=coach,
            entries=form.entries(gym_class, day),
            now=timezone.now(),
        )
    except ChecksRefused as refused:
        form.add_problems(refused.found)
        return False
    return True


def _show(
    request: HttpRequest,
    gym_class: GymClass,
    sheet: Sheet,
    skills: Sequence[Skill],
    form: TypedSheet,
) -> HttpResponse:
    today = timezone.localdate()
    rows = [
        (
            row.athlete,
            [None if held_back(row.holds, s) else form.cell(row.athlete, s) for s in skills],
        )
        for row in sheet.rows
    ]
    context = {
        "gym_class": gym_class,
        "day": sheet.day,
        "today": today,
        "earliest": today - TYPED_LATER,
        "skills": skills,
        "chosen": {skill.pk for skill in skills},
        "catalogue": [*(column.skill for column in sheet.columns), *sheet.others],
        "rows": rows,
        "form": form,
    }
    status = 422 if form.errors else 200
    return render(request, "progress/checks/typing.html", context, status=status)


def _day(asked: str | None) -> date:
    """The day on the paper; today where none is asked for or it is too long ago."""
    today = timezone.localdate()
    try:
        day = parse_date(asked or "")
    except ValueError:
        day = None
    return day if day is not None and today - TYPED_LATER <= day <= today else today


def _skills(codes: Sequence[str], sheet: Sheet) -> list[Skill]:
    """The skills asked for, or those of the sheet that day."""
    known = [*(column.skill for column in sheet.columns), *sheet.others]
    asked = [skill for skill in known if skill.code in codes]
    return asked or [column.skill for column in sheet.columns]
