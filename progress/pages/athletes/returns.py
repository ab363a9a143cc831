"""Where a coach goes back to after a note, a hold or a correction."""

from django.http import HttpRequest
from django.urls import reverse

from progress.models import Athlete, GymClass


def sheet_of(request: HttpRequest) -> GymClass | None:
    """The class whose sheet the coach came from, named by ``sheet``; None for the athlete page."""
    code = request.POST.get("sheet") or request.GET.get("sheet")
    return GymClass.objects.filter(code=code).first() if code else None


def back_from(request: HttpRequest, athlete: Athlete) -> str:
    """The address of the sheet they came from, or of the athlete page."""
    gym_class = sheet_of(request)
    if gym_class is not None:
        return reverse("check_sheet", args=[gym_class.code])
    return reverse("athlete_page", args=[athlete.code])
