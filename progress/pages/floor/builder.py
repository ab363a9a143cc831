"""One setup: the builder of a draft, and a page to read where it stands or stood."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from progress.models import Setup, StaffMember
from progress.pages.floor.rows import area_rows, draw_setup, stop_row
from progress.pages.floor.telling import (
    KEPT,
    kept_undo,
    make_change,
    page_of,
    say_done,
    setup_or_404,
    whole,
)
from progress.pages.floor.weeks import sent_week
from progress.pages.shared.access import coach_or_lead
from progress.usecases.floors.changes import Done, FloorRefused, week_words
from progress.usecases.floors.name_setup import name_setup, throw_away
from progress.usecases.floors.publish_setup import (
    change_from_today,
    publish_setup,
    take_back_setup,
)
from progress.usecases.floors.see_setup import see_setup
from progress.usecases.floors.undo_change import undo_change
from progress.usecases.floors.weeks import free_weeks, next_free


@coach_or_lead
def floor_setup(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """The loops with their stations; buttons to change them where that is allowed."""
    setup = setup_or_404(number)
    today = timezone.localdate()
    seen = see_setup(setup=setup, today=today)
    picture = draw_setup(seen)
    free = free_weeks(today=today)
    context = {
        "seen": seen,
        "setup": setup,
        "picture": picture,
        "areas": area_rows(seen, picture),
        "aside": [stop_row(stop) for stop in seen.aside],
        "free": free,
        "next_week": next_free(free, today=today),
        "undo": kept_undo(request, setup),
    }
    return render(request, "progress/floor/setup.html", context)


@coach_or_lead
@require_POST
def floor_publish(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Publish a draft, take a setup back, or start a change of one that was used: ``do``."""
    setup = setup_or_404(number)
    today = timezone.localdate()
    do = request.POST.get("do")
    if do == "change":
        return _change(request, setup, today, staff)
    if do == "take-back":
        return make_change(
            request, setup, lambda: take_back_setup(setup=setup, today=today, by=staff)
        )
    return make_change(
        request,
        setup,
        lambda: publish_setup(setup=setup, today=today, now=timezone.now(), by=staff),
    )


def _change(request: HttpRequest, setup: Setup, today: date, staff: StaffMember) -> HttpResponse:
    try:
        draft = change_from_today(setup=setup, today=today, by=staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
        return redirect(page_of(setup))
    week = week_words(draft.planned_for) if draft.planned_for else "this week"
    messages.success(
        request, f"This draft takes {week} once you publish it. Until then the old one stands."
    )
    return redirect(page_of(draft))


@coach_or_lead
@require_POST
def floor_name(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Name a draft and say for which week it is."""
    setup = setup_or_404(number)

    def change() -> Done:
        return name_setup(
            setup=setup,
            name=request.POST.get("name", ""),
            week=sent_week(request) if request.POST.get("week") else None,
            today=timezone.localdate(),
            by=staff,
        )

    return make_change(request, setup, change, "name-and-week")


@coach_or_lead
def floor_throw_away(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Ask once, then delete a draft."""
    setup = setup_or_404(number)
    if request.method != "POST":
        return render(request, "progress/floor/throw_away.html", {"setup": setup})
    try:
        done = throw_away(setup=setup, by=staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
        return redirect(page_of(setup))
    messages.success(request, done.says)
    request.session.pop(KEPT, None)
    return redirect("floor_weeks")


@coach_or_lead
@require_POST
def floor_undo(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Take back the last change this coach made, in a setup or in the library."""
    kept = request.session.get(KEPT)
    setup = Setup.objects.filter(pk=kept["setup"]).first() if kept else None
    if kept is None or setup is None or setup.pk != whole(request, "setup"):
        messages.error(request, "There is nothing to undo any more.")
        return redirect(reverse("floor_weeks"))
    try:
        done = undo_change(setup=setup, undo=kept["undo"], by=staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
        request.session.pop(KEPT, None)
    else:
        say_done(request, setup, done)
    loops = kept["undo"].get("was", {}) if kept["undo"]["kind"] == "stops" else {}
    return redirect(page_of(setup, f"loop-{next(iter(loops))}" if loops else ""))
