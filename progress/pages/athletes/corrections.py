"""Put a recorded try right: a new row that supersedes it, with who and why."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from progress.models import Athlete, Attempt, GymClass, StaffMember
from progress.pages.athletes.forms import TAKE_BACK, CorrectionForm
from progress.pages.athletes.returns import back_from, sheet_of
from progress.pages.shared.access import athlete_or_404, coach_or_lead
from progress.usecases.record_checks import ChecksRefused, Entry, record_checks


@coach_or_lead
def correct_attempt(
    request: HttpRequest, code: str, uid: str, *, staff: StaffMember
) -> HttpResponse:
    """Show the try with a form; store what it sends as a correction."""
    athlete = athlete_or_404(request, code)
    attempt = get_object_or_404(
        Attempt.objects.select_related("skill", "coach", "meeting__gym_class"),
        uid=uid,
        athlete=athlete,
    )
    needs_reason = timezone.localdate(attempt.at) != timezone.localdate()
    if request.method == "POST":
        form = CorrectionForm(request.POST, needs_reason=needs_reason)
    else:
        form = CorrectionForm(initial={"result": attempt.result}, needs_reason=needs_reason)
    if request.method == "POST" and form.is_valid() and _store(form, attempt, athlete, staff):
        messages.success(request, f"{athlete}, {attempt.skill}: corrected.")
        return redirect(back_from(request, athlete))
    context = {
        "athlete": athlete,
        "attempt": attempt,
        "form": form,
        "gym_class": sheet_of(request),
        "back": back_from(request, athlete),
    }
    return render(
        request, "progress/athletes/correct.html", context, status=422 if form.errors else 200
    )


def _store(form: CorrectionForm, attempt: Attempt, athlete: Athlete, coach: StaffMember) -> bool:
    """Store the correction; what is refused goes into the form."""
    chosen = form.cleaned_data["result"]
    entry = Entry(
        uid=form.cleaned_data["uid"],
        athlete=athlete.code,
        skill=attempt.skill.code,
        result=attempt.result if chosen == TAKE_BACK else chosen,
        note=attempt.note,
        supersedes=attempt.uid,
        taken_back=chosen == TAKE_BACK,
        reason=form.cleaned_data["reason"],
    )
    try:
        record_checks(
            gym_class=_class_of(attempt, athlete), coach=coach, entries=[entry], now=timezone.now()
        )
    except ChecksRefused as refused:
        for problem in refused.found:
            form.add_error(None, f"{problem.what[:1].upper()}{problem.what[1:]}.")
        return False
    return True


def _class_of(attempt: Attempt, athlete: Athlete) -> GymClass | None:
    """The class the try was recorded in; a try from a file may name none, then the athlete's."""
    if attempt.meeting is not None:
        return attempt.meeting.gym_class
    return athlete.classes.first()
