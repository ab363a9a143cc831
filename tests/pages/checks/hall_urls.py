"""The real site, with a bare page in place of the check sheet, to try its queue alone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import include, path
from django.utils.html import format_html

from progress.models import GymClass, StaffMember
from progress.pages.shared.access import coach_or_lead

PAGE = """<!DOCTYPE html><html lang="en"><head><title>Bare sheet</title>
<link rel="icon" href="/static/progress/icon.svg">
<link rel="stylesheet" href="/static/progress/gym.css">
<script type="module" src="/static/bare-sheet.js" data-class="{}" data-coach="{}"></script>
<script type="module" src="/static/progress/sheet-offline.js"
 data-sheet-worker="/sheet-worker.js"></script>
</head><body><h1>{}</h1><ul>{}</ul><p id="news"></p></body></html>"""


@coach_or_lead
def bare_sheet(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Names, because a real sheet has names, and nothing to tap: tests talk to the queue."""
    gym_class = get_object_or_404(GymClass, code=code)
    names = "".join(f"<li>{e.athlete.name}</li>" for e in gym_class.enrolments.all())
    return HttpResponse(format_html(PAGE, code, staff.code, gym_class.name, names))


urlpatterns = [
    path("classes/<str:code>/checks/", bare_sheet, name="check_sheet"),
    path("", include("gymsite.urls")),
]
