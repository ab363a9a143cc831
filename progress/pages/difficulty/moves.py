"""Move skills between tiers: what would change first, saving only after that."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from progress.models import Skill, StaffMember, Tier
from progress.pages.difficulty.forms import Asked, MoveForm, asked_for
from progress.pages.difficulty.tables import ChildTable, HistoryTable, child_rows
from progress.pages.difficulty.words import touched, wanted_words
from progress.pages.shared.access import lead_only
from progress.usecases.change_skills import SkillsRefused
from progress.usecases.retier import (
    CatalogueMoved,
    Preview,
    save_changes,
    skill_history,
    what_would_change,
)

CHILDREN_A_PAGE, CHANGES_A_PAGE = 60, 30


@lead_only
def retier(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Show what a move would change; store it where it is sent with a sentence why."""
    if request.method == "POST":
        return _save(request, staff)
    return _show(request, asked_for(request.GET))


def _save(request: HttpRequest, lead: StaffMember) -> HttpResponse:
    asked, form = asked_for(request.POST), MoveForm(request.POST)
    if asked.problems or not asked.changes or not form.is_valid():
        return _show(request, asked, form, status=422)
    try:
        stored = save_changes(
            changes=asked.changes, lead=lead, now=timezone.now(), **form.cleaned_data
        )
    except CatalogueMoved as moved:
        messages.error(request, str(moved))
        return _show(request, asked, form, status=409)
    except SkillsRefused as refused:
        for name, problem in refused.problems.items():
            form.add_error(name if name in form.fields else None, problem)
        return _show(request, asked, form, status=422)
    names = ", ".join(sorted({str(change.skill) for change in stored}))
    messages.success(
        request,
        f"Saved: {names}. What the tool says of each child is worked out again from now on.",
    )
    return redirect("retier")


def _show(
    request: HttpRequest, asked: Asked, form: MoveForm | None = None, status: int = 200
) -> HttpResponse:
    problems, preview = list(asked.problems), None
    if asked.changes and not problems:
        try:
            preview = what_would_change(changes=asked.changes, today=timezone.localdate())
        except SkillsRefused as refused:
            problems += refused.problems.values()
    history = HistoryTable(skill_history())
    RequestConfig(request, paginate={"per_page": CHANGES_A_PAGE}).configure(history)
    skills = list(Skill.objects.select_related("ladder"))
    context: dict[str, Any] = {
        "asked": asked,
        "problems": problems,
        "skills": skills,
        "tiers": list(Tier.objects.all()),
        "history": history,
    }
    if preview:
        context |= _of_preview(request, preview, form)
    elif form and form.errors:
        context["problems"] = problems or ["Choose a skill and a tier first."]
    return render(request, "progress/difficulty/move.html", context, status=status)


def _of_preview(request: HttpRequest, preview: Preview, form: MoveForm | None) -> dict[str, Any]:
    """What the page says of the preview; the form always names the catalogue shown."""
    children = ChildTable(child_rows(preview.changes))
    RequestConfig(request, paginate={"per_page": CHILDREN_A_PAGE}).configure(children)
    return {
        "preview": preview,
        "attempts": f"{preview.attempts:,}",
        "wanted": [wanted_words(one) for one in preview.wanted],
        "touched": touched(preview),
        "children": children,
        "form": form or MoveForm(),
        "may_save": not preview.broken.asking_nothing,
    }
