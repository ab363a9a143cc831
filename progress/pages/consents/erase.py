"""A guardian asks to have everything about a child erased: said in words first, then sent."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from progress.models import Athlete, Guardian
from progress.pages.consents.own_child import own_child
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.families.erasure_requests import (
    ask_for_erasure,
    last_answer,
    open_request,
    take_back_request,
)


@in_the_familys_language
@never_cache
@own_child
@require_http_methods(["GET", "HEAD", "POST"])
def child_erase(request: HttpRequest, *, guardian: Guardian, athlete: Athlete) -> HttpResponse:
    """Say what goes and what stays; ask, or take the request back while nobody answered."""
    if request.method == "POST":
        return _answer(request, guardian, athlete)
    waiting = open_request(athlete=athlete)
    context = {
        "athlete": athlete,
        "waiting": waiting,
        "mine": waiting is not None and waiting.asked_by_id == guardian.pk,
        "answered": last_answer(athlete=athlete, guardian=guardian),
    }
    return render(request, "progress/consents/erase.html", context)


def _answer(request: HttpRequest, guardian: Guardian, athlete: Athlete) -> HttpResponse:
    if request.POST.get("do") == "take-back":
        if take_back_request(athlete=athlete, guardian=guardian):
            messages.success(request, _("You took your request back. Nothing was erased."))
    elif request.POST.get("sure") == "yes":
        ask_for_erasure(athlete=athlete, guardian=guardian, now=timezone.now())
        messages.success(request, _("We got your request. The programme lead will answer it."))
    else:
        messages.error(request, _("Please tick the box first, so that we know you are sure."))
    return redirect("child_erase", code=athlete.code)
