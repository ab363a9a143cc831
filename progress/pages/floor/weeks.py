"""The weeks: what stands, what is planned, what was; and starting a week from any of them."""

from datetime import date

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_POST

from progress.models import StaffMember
from progress.pages.floor.telling import page_of, setup_or_404, whole
from progress.pages.shared.access import coach_or_lead
from progress.usecases.floors.changes import FloorRefused, week_words
from progress.usecases.floors.copy_setup import copy_setup
from progress.usecases.floors.see_weeks import cards_of, past_setups, see_weeks
from progress.usecases.floors.weeks import next_free

PAST_A_PAGE = 8


@coach_or_lead
def floor_weeks(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """This week's floor, the drafts, weeks to come, and the past page by page."""
    today = timezone.localdate()
    weeks = see_weeks(today=today)
    past = Paginator(past_setups(today=today), PAST_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "weeks": weeks,
        "next_week": next_free(list(weeks.free), today=today),
        "past": past,
        "past_cards": cards_of(past.object_list, here=None, today=today),
    }
    return render(request, "progress/floor/weeks.html", context)


@coach_or_lead
@require_POST
def floor_copy(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Start a week: with a copy of the setup ``source``, or with an empty floor."""
    source = setup_or_404(whole(request, "source")) if request.POST.get("source") else None
    try:
        week = sent_week(request)
        draft = copy_setup(source=source, week=week, today=timezone.localdate(), by=staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
        return redirect("floor_weeks")
    what = f"A copy of {source}" if source else "An empty floor"
    messages.success(request, f"{what} is your draft for {week_words(week)}. Change what you like.")
    return redirect(page_of(draft))


def sent_week(request: HttpRequest) -> date:
    """The week of the button, or of the list where that was chosen; FloorRefused for no day."""
    listed = request.POST.get("do") == "listed"
    text = request.POST.get("listed" if listed else "week", "")
    try:
        week = parse_date(text)
    except ValueError:
        week = None
    if week is None:
        raise FloorRefused("No week was chosen. Choose one from the list.")
    return week
