"""Holds: a coach places one in two taps, only the lead lifts it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from progress.models import Hold, HoldReason, StaffMember
from progress.pages.athletes.forms import HoldForm
from progress.pages.athletes.returns import back_from, sheet_of
from progress.pages.shared.access import athlete_or_404, coach_or_lead, lead_only
from progress.pages.shared.words import day_in_words
from progress.usecases.place_hold import HoldRefused, lift_hold, place_hold


@coach_or_lead
def athlete_hold(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Show the reasons as buttons; the one tapped places the hold from today."""
    athlete = athlete_or_404(request, code)
    form = HoldForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            hold = place_hold(
                athlete=athlete, coach=staff, today=timezone.localdate(), **form.cleaned_data
            )
        except HoldRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, _placed(hold))
            return redirect(back_from(request, athlete))
    context = {
        "athlete": athlete,
        "form": form,
        "reasons": HoldReason.choices,
        "gym_class": sheet_of(request),
        "back": back_from(request, athlete),
    }
    return render(
        request, "progress/athletes/hold.html", context, status=422 if form.errors else 200
    )


def _placed(hold: Hold) -> str:
    again = f" Ask again on {day_in_words(hold.review)}." if hold.review else ""
    return f"{hold.athlete} is on hold from {day_in_words(hold.starts)}.{again} The lead lifts it."


@lead_only
@require_POST
def end_hold(request: HttpRequest, code: str, number: int, *, staff: StaffMember) -> HttpResponse:
    """Lift a hold from today."""
    athlete = athlete_or_404(request, code)
    hold = get_object_or_404(Hold, pk=number, athlete=athlete)
    try:
        lift_hold(hold=hold, lead=staff, today=timezone.localdate())
    except HoldRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, f"The hold is lifted. {athlete} eases back, a step easier.")
    return redirect("athlete_page", athlete.code)
