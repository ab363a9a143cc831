"""The station library, and the page of one station with its variants, there or in a setup."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from progress.models import Setup, StaffMember, Station, Variant
from progress.pages.floor.forms import StationForm, VariantForm
from progress.pages.floor.rows import station_row, variant_rows
from progress.pages.floor.telling import (
    kept_undo,
    make_change,
    page_of,
    say_done,
    station_or_404,
)
from progress.pages.shared.access import coach_or_lead
from progress.usecases.floors.add_station import add_to_library
from progress.usecases.floors.change_stations import change_station, remove_station
from progress.usecases.floors.change_variants import remove_variant, save_variant
from progress.usecases.floors.changes import Done, FloorRefused, is_used
from progress.usecases.floors.keep_in_library import keep_in_library
from progress.usecases.floors.see_library import library_skills, library_stations

STATIONS_A_PAGE = 30
STEPS_IN_TURN = (0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5)


@coach_or_lead
def floor_library(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The stations that can be put on any floor; a new one."""
    if request.method == "POST":
        try:
            done = add_to_library(name=request.POST.get("name", ""), by=staff)
        except FloorRefused as refused:
            messages.error(request, str(refused))
            return redirect("floor_library")
        messages.success(request, done.says)
        return redirect("floor_station", done.station)
    words, skill = request.GET.get("words", ""), request.GET.get("skill", "")
    found = library_stations(words=words, skill=skill)
    page = Paginator(found, STATIONS_A_PAGE).get_page(request.GET.get("page"))
    library = Setup.objects.library()
    context = {
        "page": page,
        "rows": [station_row(station) for station in page.object_list],
        "skills": library_skills(),
        "words": words,
        "skill": skill,
        "setup": library,
        "undo": kept_undo(request, library),
    }
    return render(request, "progress/floor/library.html", context)


@coach_or_lead
def floor_station(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """A station's facts in a form, and its variants."""
    station = station_or_404(number)
    form = StationForm(request.POST if request.method == "POST" else None, station=station)
    if request.method == "POST" and form.is_valid():
        try:
            done = change_station(
                station=station, facts=form.facts(), equipment=form.counts(), by=staff
            )
        except FloorRefused as refused:
            form.add_error(refused.field, str(refused))
        else:
            say_done(request, station.setup, done)
            return redirect(_back(station))
    return _station_page(request, station, form)


def _station_page(request: HttpRequest, station: Station, form: StationForm) -> HttpResponse:
    setup = station.setup
    variants = list(station.variants.select_related("skill").order_by("step", "code"))
    loops = list(station.loops.select_related("area").order_by("order", "code"))
    context: dict[str, Any] = {
        "station": station,
        "setup": setup,
        "form": form,
        "variants": variant_rows(variants),
        "loops": loops,
        "may_change": setup.library or (setup.is_draft and not is_used(setup)),
        "in_library": Station.objects.filter(setup__library=True, code=station.code).exists(),
        "back": _back(station),
        "undo": kept_undo(request, setup),
    }
    status = 422 if form.errors else 200
    return render(request, "progress/floor/station.html", context, status=status)


def _back(station: Station) -> str:
    """The station's place in its setup, or the library."""
    stop = station.stops.order_by("loop__order").first()
    anchor = f"stop-{stop.loop_id}-{station.pk}" if stop else f"aside-{station.pk}"
    return page_of(station.setup, anchor)


@coach_or_lead
@require_POST
def floor_station_remove(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Remove a station that is on no loop, or one of the library."""
    station = station_or_404(number)
    return make_change(
        request, station.setup, lambda: remove_station(station=station, by=staff), "aside"
    )


@coach_or_lead
@require_POST
def floor_station_keep(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Keep a station of a setup in the library, instead of the one there or beside it."""
    station = station_or_404(number)
    replace = request.POST.get("do") == "replace"
    try:
        done = keep_in_library(station=station, replace=replace, by=staff)
    except FloorRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, done.says)
    return redirect("floor_station", station.pk)


@coach_or_lead
def floor_variant_new(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Add a variant to a station."""
    return _variant(request, station_or_404(number), None, staff)


@coach_or_lead
def floor_variant(
    request: HttpRequest, number: int, variant: int, *, staff: StaffMember
) -> HttpResponse:
    """Change a variant, or remove it."""
    station = station_or_404(number)
    found = get_object_or_404(Variant.objects.select_related("skill"), station=station, pk=variant)
    if request.method == "POST" and request.POST.get("do") == "remove":
        return _tell(
            request, station, lambda: remove_variant(station=station, variant=found, by=staff)
        )
    return _variant(request, station, found, staff)


def _tell(request: HttpRequest, station: Station, change: Any) -> HttpResponse:
    try:
        done: Done = change()
    except FloorRefused as refused:
        messages.error(request, str(refused))
    else:
        say_done(request, station.setup, done)
    return redirect(_variants_of(station))


def _variants_of(station: Station) -> str:
    return f"{reverse('floor_station', args=[station.pk])}#variants"


def _variant(
    request: HttpRequest, station: Station, variant: Variant | None, staff: StaffMember
) -> HttpResponse:
    taken = set(station.variants.values_list("step", flat=True))
    form = VariantForm(
        request.POST if request.method == "POST" else None,
        variant=variant,
        free_steps=(step for step in STEPS_IN_TURN if step not in taken),
    )
    if request.method == "POST" and form.is_valid():
        try:
            done = save_variant(station=station, variant=variant, facts=form.facts(), by=staff)
        except FloorRefused as refused:
            form.add_error(refused.field, str(refused))
        else:
            say_done(request, station.setup, done)
            return redirect(_variants_of(station))
    setup = station.setup
    context = {
        "station": station,
        "setup": setup,
        "variant": variant,
        "form": form,
        "may_change": setup.library or (setup.is_draft and not is_used(setup)),
        "back": _variants_of(station),
    }
    status = 422 if form.errors else 200
    return render(request, "progress/floor/variant.html", context, status=status)
