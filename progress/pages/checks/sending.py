"""What the script of a check sheet talks to: the sending of tries, its token, and the worker.

An ended session is told in JSON and never redirected: a phone back from a day without a network
must not take a sign-in page for an answer. Nothing of this is kept by anybody on the way.
"""

import logging
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.db import InterfaceError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, UnreadablePostError
from django.middleware.csrf import get_token
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from progress.models import GymClass, StaffMember
from progress.pages.checks.sent_entries import NotUnderstood, Sending, read_sending
from progress.pages.shared.access import (
    COACH_OR_LEAD,
    class_or_404,
    lead_must_add_second_factor,
    visitor_of,
)
from progress.pages.shared.words import day_in_words
from progress.usecases.record_checks import ChecksRefused, HeldTries, record_checks

MOST_BYTES = 1_000_000
WORKER = "progress/sheet-worker.js"

log = logging.getLogger(__name__)


def _coach_in_json(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let a coach or lead in as ``staff``; tell everybody else in JSON what to do instead."""

    @never_cache
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        visitor = visitor_of(request)
        if not request.user.is_authenticated:
            return _sign_in("account_login", kwargs.get("code"))
        if visitor.staff is None or visitor.role not in COACH_OR_LEAD:
            return _problem("This account may not record checks; sign in as a coach.", 404)
        if lead_must_add_second_factor(visitor):
            return _sign_in("mfa_index", kwargs.get("code"))
        return view(request, *args, staff=visitor.staff, **kwargs)

    return guarded


@require_GET
@_coach_in_json
def sheet_token(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Tell the script its token and who is signed in; its own cookie is hidden from scripts.

    A sheet opened without a network carries a token from yesterday, so it asks before it sends.
    """
    return JsonResponse({"token": get_token(request), "coach": staff.code})


@require_POST
@_coach_in_json
def send_checks(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Store what a sheet sends, all of it or none; sent again, it is stored once.

    Answers 200 with the uids that are stored now, whoever stored them, and a sentence in ``held``
    for each child on hold who tried something all the same; 422 with what is wrong by
    uid; 409 if another coach made the tries; 413 or 400 if it cannot be read.
    """
    try:
        gym_class = class_or_404(code)
    except Http404:
        return _problem("There is no such class any more; ask the lead.", 404)
    if _length(request) > MOST_BYTES:
        return _problem(f"Too much at once; send at most {MOST_BYTES:,} bytes.", 413)
    try:
        sending = read_sending(request.body)
    except UnreadablePostError:
        return _problem("The sending broke off on the way.", 400)
    except NotUnderstood as wrong:
        return JsonResponse({"problems": wrong.problems}, status=wrong.status)
    if sending.coach is not None and sending.coach != staff.code:
        return _problem("Another coach made these tries; that coach has to sign in.", 409)
    return _store(gym_class, staff, sending)


def _store(gym_class: GymClass, coach: StaffMember, sending: Sending) -> HttpResponse:
    entries = sending.entries
    try:
        recorded = record_checks(
            gym_class=gym_class, coach=coach, entries=entries, now=timezone.now()
        )
    except ChecksRefused as refused:
        problems = [{"uid": found.uid, "what": found.what} for found in refused.found]
        return JsonResponse({"problems": problems}, status=422)
    except (OperationalError, InterfaceError):
        # The database is busy or starting again. The sheet keeps everything and tries later.
        log.warning("A sending of %d tries has to come again", len(entries), exc_info=True)
        return _problem("The gym's computer is busy; nothing is lost.", 503)
    stored = [entry.uid for entry in entries]
    held = [_on_hold(each) for each in recorded.held]
    return JsonResponse({"stored": stored, "before": recorded.stored_before, "held": held})


def _on_hold(tries: HeldTries) -> str:
    kept = "the try is kept" if len(tries.uids) == 1 else f"{len(tries.uids)} tries are kept"
    return f"{tries.athlete} is on hold since {day_in_words(tries.since)}: {kept}. Tell the lead."


@require_GET
def sheet_worker(request: HttpRequest) -> HttpResponse:
    """Serve the worker from the top of the site: a worker rules only what lies beside it."""
    found = finders.find(WORKER)
    if not isinstance(found, str):
        raise Http404
    answer = HttpResponse(Path(found).read_bytes(), content_type="text/javascript; charset=utf-8")
    answer["Service-Worker-Allowed"] = "/"
    answer["Cache-Control"] = "no-cache"  # a mended worker must reach the phones the next day
    return answer


def _length(request: HttpRequest) -> int:
    """How long the body says it is; a server reads no more than that."""
    said = str(request.META.get("CONTENT_LENGTH") or "0")
    return int(said) if said.isdecimal() else 0


def _sign_in(name: str, code: str | None) -> JsonResponse:
    back = reverse("check_sheet", args=[code]) if code else reverse("class_list")
    return JsonResponse({"sign_in": f"{reverse(name)}?{urlencode({'next': back})}"}, status=401)


def _problem(what: str, status: int) -> JsonResponse:
    """Something is wrong with a sending as a whole."""
    return JsonResponse({"problems": [{"uid": "", "what": what}]}, status=status)
