"""Room in the classes of each tier, and a place for those who wait."""

from dataclasses import dataclass
from datetime import date

import django_tables2 as tables
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from progress.models import Athlete, Enrolment, GymClass, StaffMember
from progress.pages.shared.access import athlete_or_404, lead_only
from progress.pages.shared.tables import RuledTable
from progress.pages.shared.words import day_in_words
from progress.pages.sign_offs.sayings import later, room, when
from progress.usecases.sign_offs.give_place import give_place, next_meeting
from progress.usecases.sign_offs.refused import SignOffRefused
from progress.usecases.sign_offs.see_places import ClassPlaces, TierPlaces, Waiting, see_places

MOST_SHOWN = 40  # of those who wait for one tier; the first are served first


class RoomTable(RuledTable):
    """Classes of one tier by day and time."""

    nobody = "No class is for this tier yet. Say in the admin which tiers a class is for."
    row_heading = "when"

    when = tables.Column(verbose_name="Day and time")
    name = tables.Column(verbose_name="Class")
    enrolled = tables.Column(verbose_name="In it now")
    places = tables.Column(verbose_name="Places")
    free = tables.Column(verbose_name="Free")
    later = tables.Column(verbose_name="Later", empty_values=())

    def __init__(self, rooms: tuple[ClassPlaces, ...], caption: str) -> None:
        rows = [_table_row(one) for one in rooms]
        super().__init__(rows, orderable=False, caption=caption)


class PlaceForm(forms.Form):
    """A class, a first day and the places that end for it."""

    gym_class = forms.ModelChoiceField(
        queryset=GymClass.objects.prefetch_related("tiers"),
        to_field_name="code",
        error_messages={
            "required": "Choose a class.",
            "invalid_choice": "That class is not there any more. Choose another.",
        },
    )
    from_day = forms.DateField(
        required=False, error_messages={"invalid": "Write the day as in 2026-03-09."}
    )


@dataclass(frozen=True)
class Shown:
    """One tier on the page; ``more`` wait after those shown."""

    of: TierPlaces
    table: RoomTable
    waiting: tuple[Waiting, ...]
    more: int
    rooms: tuple[tuple[ClassPlaces, str], ...]


def _table_row(one: ClassPlaces) -> dict[str, object]:
    return {
        "when": when(one.gym_class),
        "name": f"{one.gym_class}{'' if one.tiers else ' (all tiers)'}",
        "enrolled": one.enrolled,
        "places": "not counted" if one.gym_class.places is None else one.gym_class.places,
        "free": "–" if one.free is None else room(one),
        "later": later(one) or "–",
    }


@never_cache
@lead_only
@require_safe
def places(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Tier by tier: the classes with room, and who waits in order."""
    today = timezone.localdate()
    found = [_shown(one) for one in see_places(today=today)]
    waiting = sum(len(one.of.waiting) for one in found)
    context = {"tiers": found, "waiting": waiting, "today": today}
    return render(request, "progress/sign_offs/places.html", context)


def _shown(one: TierPlaces) -> Shown:
    words = tuple(
        (place, f"{when(place.gym_class)}, {place.gym_class}: {room(place)}")
        for place in one.classes
    )
    shown = one.waiting[:MOST_SHOWN]
    table = RoomTable(one.classes, f"Classes for {one.tier}")
    return Shown(one, table, shown, len(one.waiting) - len(shown), words)


@never_cache
@lead_only
@require_POST
def give_a_place(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Enrol somebody who waits; a refusal says what to do instead."""
    athlete = athlete_or_404(request, code)
    form = PlaceForm(request.POST)
    if not form.is_valid():
        _refuse(request, athlete, " ".join(str(e) for one in form.errors.values() for e in one))
        return redirect("places")
    now = timezone.now()
    gym_class = form.cleaned_data["gym_class"]
    from_day = form.cleaned_data["from_day"] or next_meeting(gym_class, timezone.localdate(now))
    leave = _leave(request, athlete)
    try:
        give_place(
            athlete=athlete,
            gym_class=gym_class,
            from_day=from_day,
            lead=staff,
            now=now,
            leave=leave,
        )
    except SignOffRefused as refused:
        _refuse(request, athlete, str(refused))
    else:
        messages.success(request, _given(athlete, gym_class, from_day, leave))
    return redirect("places")


def _refuse(request: HttpRequest, athlete: Athlete, why: str) -> None:
    messages.error(request, f"No place was given to {athlete}. {why}")


def _leave(request: HttpRequest, athlete: Athlete) -> list[Enrolment]:
    """The places ticked to end; one that is not theirs does not exist."""
    mine = Enrolment.objects.filter(athlete=athlete)
    numbers = [text for text in request.POST.getlist("leave")[:50] if text.isdecimal()]
    return [get_object_or_404(mine, pk=number[:18]) for number in numbers]


def _given(athlete: Athlete, gym_class: GymClass, from_day: date, leave: list[Enrolment]) -> str:
    ended = " The old place ends the day before." if leave else ""
    return f"{athlete} has a place in {gym_class} from {day_in_words(from_day)}.{ended}"
