"""A family's choices for one child: what they say yes to, and how the child's name is shown."""

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from progress.models import Athlete, Guardian
from progress.pages.consents.own_child import own_child
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.families.consents import (
    ConsentRefused,
    ask_consents,
    give_consent,
    withdraw_consent,
)
from progress.usecases.families.display_name import (
    LONGEST,
    NameRefused,
    ShownAs,
    choose_name,
    chosen,
    first_name,
    shown_name,
)
from progress.usecases.families.erasure_requests import open_request


@in_the_familys_language
@never_cache
@own_child
@require_safe
def child_choices(request: HttpRequest, *, guardian: Guardian, athlete: Athlete) -> HttpResponse:
    """Every question with its answer, the name, and the ways to the download and to erasing."""
    return _page(request, guardian, athlete)


@in_the_familys_language
@never_cache
@own_child
@require_POST
def child_consent(request: HttpRequest, *, guardian: Guardian, athlete: Athlete) -> HttpResponse:
    """Keep one yes or take it back: one tap."""
    kind, now = request.POST.get("kind", ""), timezone.now()
    if request.POST.get("answer") == "no":
        withdraw_consent(guardian=guardian, athlete=athlete, kind=kind, now=now)
        messages.success(request, _("Taken back. It holds from now on."))
        return redirect("child_choices", code=athlete.code)
    version = request.POST.get("version", "")
    try:
        number = int(version) if version.isascii() and version.isdigit() else 0
        give_consent(guardian=guardian, athlete=athlete, kind=kind, version=number, now=now)
    except ConsentRefused:
        messages.error(request, _("The text has changed. Please read it again."))
    else:
        messages.success(request, _("Thank you. You can take this back at any time."))
    return redirect("child_choices", code=athlete.code)


@in_the_familys_language
@never_cache
@own_child
@require_POST
def child_name(request: HttpRequest, *, guardian: Guardian, athlete: Athlete) -> HttpResponse:
    """Keep how the name is shown, or say beside the field what is wrong with it."""
    own = request.POST.get("own", "")[: 4 * LONGEST]
    try:
        way = ShownAs(request.POST.get("way", ""))
        choose_name(athlete=athlete, guardian=guardian, way=way, own=own)
    except NameRefused as refused:
        context = {"way": ShownAs.OWN.value, "own": own, "wrong": _why(refused)}
        return _page(request, guardian, athlete, context, status=422)
    except ValueError:
        return redirect("child_choices", code=athlete.code)
    messages.success(request, _("The name is changed."))
    return redirect("child_choices", code=athlete.code)


def _why(refused: NameRefused) -> str:
    if refused.why == "long":
        return _("This name is too long. Please use at most 200 letters.")
    return _("Please type a name.")


def _page(
    request: HttpRequest,
    guardian: Guardian,
    athlete: Athlete,
    more: Mapping[str, object] | None = None,
    status: int = 200,
) -> HttpResponse:
    way = chosen(athlete)
    context = {
        "athlete": athlete,
        "questions": ask_consents(guardian=guardian, athlete=athlete),
        "shown": shown_name(athlete),
        "first": first_name(athlete),
        "way": way.value,
        "own": athlete.shown_as if way is ShownAs.OWN else "",
        "longest": LONGEST,
        "request_open": open_request(athlete=athlete),
    }
    context |= dict(more or {})
    return render(request, "progress/consents/choices.html", context, status=status)
