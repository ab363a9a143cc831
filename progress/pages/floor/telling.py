"""Doing one change, saying what happened where the coach is looking, and keeping how to undo it."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from progress.models import Setup, Station
from progress.usecases.floors.changes import Done, FloorRefused

KEPT = "floor_undo"


def setup_or_404(number: int) -> Setup:
    """The setup, which is not the station library."""
    return get_object_or_404(Setup.objects.plans(), pk=number)


def station_or_404(number: int) -> Station:
    """The station with its setup, on a floor or in the library."""
    return get_object_or_404(Station.objects.select_related("setup"), pk=number)


def page_of(setup: Setup, anchor: str = "") -> str:
    """The address of a setup's page, or of the library, at a place on it."""
    library = reverse("floor_library")
    address = library if setup.library else reverse("floor_setup", args=[setup.pk])
    return f"{address}#{anchor}" if anchor else address


def whole(request: HttpRequest, name: str) -> int:
    """A whole number that was sent, 0 where it is none."""
    text = request.POST.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def make_change(
    request: HttpRequest, setup: Setup, change: Callable[[], Done], anchor: str = ""
) -> HttpResponse:
    """Do it, say what happened, and go back to where the coach was."""
    try:
        done = change()
    except FloorRefused as refused:
        messages.error(request, str(refused))
    else:
        say_done(request, setup, done)
    return redirect(page_of(setup, anchor))


def say_done(request: HttpRequest, setup: Setup, done: Done) -> None:
    """Say it, and keep how to undo it until the next change."""
    messages.success(request, done.says)
    request.session.pop(KEPT, None)
    if done.undo:
        request.session[KEPT] = {"setup": setup.pk, "says": done.says, "undo": done.undo}


def kept_undo(request: HttpRequest, setup: Setup) -> dict[str, Any] | None:
    """The last change this coach made to this setup, if it can be undone."""
    kept: dict[str, Any] | None = request.session.get(KEPT)
    return kept if kept and kept["setup"] == setup.pk else None
