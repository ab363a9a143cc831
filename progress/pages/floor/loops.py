"""The builder's buttons: loops, and stations along them. Each press is one change."""

from collections.abc import Callable

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from progress.models import Loop, Setup, StaffMember
from progress.pages.floor.rows import station_row
from progress.pages.floor.telling import (
    make_change,
    page_of,
    say_done,
    setup_or_404,
    whole,
)
from progress.pages.shared.access import coach_or_lead
from progress.usecases.floors.add_station import add_from_library, add_new_station
from progress.usecases.floors.change_loops import add_loop, change_loop, remove_loop
from progress.usecases.floors.change_stops import (
    move_stop,
    move_to_loop,
    share_station,
    swap_stop,
    take_out,
)
from progress.usecases.floors.changes import Done, FloorRefused
from progress.usecases.floors.see_library import (
    library_skills,
    library_stations,
    standing_stations,
)

STATIONS_A_PAGE = 30


@coach_or_lead
@require_POST
def floor_loops(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Add a loop."""
    setup = setup_or_404(number)
    try:
        loop = add_loop(
            setup=setup,
            name=request.POST.get("name", ""),
            area=whole(request, "area"),
            by=staff,
        )
    except FloorRefused as refused:
        messages.error(request, str(refused))
        return redirect(page_of(setup, "new-loop"))
    say_done(request, setup, Done(f"{loop} is added. Put stations on it."))
    return redirect(page_of(setup, f"loop-{loop.pk}"))


@coach_or_lead
@require_POST
def floor_loop(request: HttpRequest, number: int, loop: int, *, staff: StaffMember) -> HttpResponse:
    """Rename a loop or remove it: ``do``."""
    setup = setup_or_404(number)
    if request.POST.get("do") == "remove":
        return make_change(
            request, setup, lambda: remove_loop(setup=setup, loop=loop, by=staff), "loops"
        )
    return make_change(
        request,
        setup,
        lambda: change_loop(
            setup=setup,
            loop=loop,
            name=request.POST.get("name", ""),
            area=whole(request, "area"),
            by=staff,
        ),
        f"loop-{loop}",
    )


@coach_or_lead
@require_POST
def floor_stops(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Move a station, or take it out of its loop: ``do`` is up, down, place, move or out."""
    setup = setup_or_404(number)
    loop, station = whole(request, "loop"), whole(request, "station")
    to_loop, place = whole(request, "to_loop"), whole(request, "place")
    do = request.POST.get("do", "")
    stop = f"{loop}-{station}"

    def moved(steps: int = 0, place: int = 0) -> Callable[[], Done]:
        return lambda: move_stop(
            setup=setup, loop=loop, station=station, steps=steps, place=place, by=staff
        )

    if do == "up" or do == "down":
        return make_change(request, setup, moved(steps=-1 if do == "up" else 1), f"{do}-{stop}")
    if do == "out":
        return make_change(
            request,
            setup,
            lambda: take_out(setup=setup, loop=loop, station=station, by=staff),
            f"loop-{loop}",
        )
    if do == "place" and to_loop in (0, loop):
        return make_change(request, setup, moved(place=max(place, 1)), f"stop-{stop}")
    return make_change(
        request,
        setup,
        lambda: move_to_loop(
            setup=setup, loop=loop, station=station, to_loop=to_loop, place=place, by=staff
        ),
        f"stop-{to_loop}-{station}",
    )


@coach_or_lead
def floor_pick(request: HttpRequest, number: int, loop: int, *, staff: StaffMember) -> HttpResponse:
    """Choose a station for a loop, at its end or in the place of the station ``swap``."""
    setup = setup_or_404(number)
    target = get_object_or_404(Loop.objects.select_related("area"), setup=setup, pk=loop)
    if request.method == "POST":
        return _picked(request, setup, target, staff)
    words, skill = request.GET.get("words", ""), request.GET.get("skill", "")
    found = library_stations(words=words, skill=skill)
    page = Paginator(found, STATIONS_A_PAGE).get_page(request.GET.get("page"))
    swap = request.GET.get("swap", "")
    context = {
        "setup": setup,
        "loop": target,
        "page": page,
        "rows": [station_row(station) for station in page.object_list],
        "standing": [(one, station_row(one.station)) for one in standing_stations(loop=target)],
        "skills": library_skills(),
        "words": words,
        "skill": skill,
        "swap": target.stations.filter(pk=int(swap)).first() if swap.isdecimal() else None,
    }
    return render(request, "progress/floor/pick.html", context)


def _picked(request: HttpRequest, setup: Setup, loop: Loop, staff: StaffMember) -> HttpResponse:
    instead_of = whole(request, "swap") or None
    try:
        done = _put(request, setup, loop, instead_of, staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
        return redirect(request.get_full_path())
    say_done(request, setup, done)
    if "name" in request.POST:
        return redirect("floor_station", done.station)
    return redirect(page_of(setup, f"stop-{loop.pk}-{done.station}"))


def _put(
    request: HttpRequest, setup: Setup, loop: Loop, instead_of: int | None, staff: StaffMember
) -> Done:
    """From the library (``design``), one that stands already (``station``), or new (``name``)."""
    if "name" in request.POST:
        return add_new_station(
            setup=setup,
            loop=loop.pk,
            name=request.POST["name"],
            instead_of=instead_of,
            by=staff,
        )
    design, station = whole(request, "design"), whole(request, "station")
    if design:
        return add_from_library(
            setup=setup, loop=loop.pk, design=design, instead_of=instead_of, by=staff
        )
    if instead_of:
        return swap_stop(setup=setup, loop=loop.pk, station=instead_of, other=station, by=staff)
    return share_station(setup=setup, loop=loop.pk, station=station, by=staff)
