"""The class list and the class page: what a coach looks at before and during a class."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django_tables2 import RequestConfig

from progress.models import GymClass, Role, StaffMember
from progress.pages.classes.tables import AthletesTable, athlete_rows, loop_tables
from progress.pages.shared.access import class_or_404, staff_only
from progress.usecases.see_class import see_class
from progress.usecases.see_today import classes_for


@staff_only
def class_list(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Today's classes first, then the rest of the week."""
    cards = classes_for(staff=staff, today=timezone.localdate())
    context = {
        "today": [card for card in cards if card.is_today],
        "others": [card for card in cards if not card.is_today],
        "sees_skills": staff.role != Role.DESK,
    }
    return render(request, "progress/classes/list.html", context)


@staff_only
def class_page(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Who is in the class and, for coaches and the lead, how each one stands tonight."""
    gym_class = class_or_404(code)
    if staff.role == Role.DESK:
        return _names_only(request, gym_class)
    tonight = see_class(gym_class=gym_class, today=timezone.localdate())
    with_why = request.GET.get("why") == "1"
    table = AthletesTable(athlete_rows(tonight), skills=tonight.skills, today=tonight.day)
    RequestConfig(request, paginate=False).configure(table)
    context = {
        "tonight": tonight,
        "table": table,
        "held": [each for each in tonight.athletes if each.holds],
        "loops": loop_tables(tonight, with_why=with_why),
        "with_why": with_why,
        "names": {each.athlete.code: str(each.athlete) for each in tonight.athletes},
    }
    return render(request, "progress/classes/page.html", context)


def _names_only(request: HttpRequest, gym_class: GymClass) -> HttpResponse:
    """The front desk's page: who belongs here, and nothing about skills."""
    athletes = gym_class.athletes_on(timezone.localdate())
    context = {"gym_class": gym_class, "athletes": athletes}
    return render(request, "progress/classes/names.html", context)
