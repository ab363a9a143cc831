"""For the lead: requests to erase a child, what an erasure takes away, and the answer."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from progress.models import ErasureRequest, StaffMember
from progress.pages.shared.access import lead_only
from progress.usecases.families.erasure import complete_erasure, preview_erasure
from progress.usecases.families.erasure_requests import (
    LONGEST,
    ErasureRefused,
    ask_at_the_gym,
    decline_erasure,
)

MOST_ANSWERED = 20


@never_cache
@lead_only
def erasures(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Requests that wait, and the latest answers; a request that came by word is opened here."""
    if request.method == "POST":
        return _open(request, staff)
    requests = ErasureRequest.objects.select_related("athlete", "asked_by", "answered_by")
    answered = requests.filter(answered_at__isnull=False).order_by("-answered_at")
    context = {
        "waiting": requests.filter(answered_at__isnull=True).order_by("asked_at"),
        "answered": answered[:MOST_ANSWERED],
    }
    return render(request, "progress/erasures/list.html", context)


@never_cache
@lead_only
@require_safe
def erasure_page(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """One open request: what would go and what would stay, with counts."""
    waiting = get_object_or_404(
        ErasureRequest.objects.select_related("athlete__tier", "asked_by"),
        pk=number,
        answered_at__isnull=True,
    )
    preview = preview_erasure(athlete=waiting.athlete, today=timezone.localdate())
    context = {"one": waiting, "preview": preview, "longest": LONGEST}
    return render(request, "progress/erasures/page.html", context)


@never_cache
@lead_only
@require_POST
def erasure_answer(request: HttpRequest, number: int, *, staff: StaffMember) -> HttpResponse:
    """Complete or decline a request."""
    asked = get_object_or_404(ErasureRequest.objects.select_related("athlete"), pk=number)
    try:
        said = _answer(request, asked, staff)
    except ErasureRefused as refused:
        messages.error(request, str(refused))
        still_open = ErasureRequest.objects.filter(pk=number, answered_at=None).exists()
        return redirect("erasure_page", number=number) if still_open else redirect("erasures")
    except OSError:
        messages.error(
            request,
            "Nothing was erased: the list of erasures in the data folder cannot be written. Ask"
            " whoever looks after the computer, then try again.",
        )
        return redirect("erasure_page", number=number)
    messages.success(request, said)
    return redirect("erasures")


def _answer(request: HttpRequest, asked: ErasureRequest, staff: StaffMember) -> str:
    now = timezone.now()
    if request.POST.get("do") == "decline":
        sentence = request.POST.get("sentence", "")
        decline_erasure(request=asked, lead=staff, sentence=sentence, now=now)
        return "Declined. The family reads your sentence on their page."
    if request.POST.get("do") != "erase" or request.POST.get("sure") != "yes":
        raise ErasureRefused("Tick the box first: an erasure cannot be taken back.")
    erased = complete_erasure(request=asked, lead=staff, now=now)
    return f"Erased. What was tried stays under {erased.code}, with no name."


def _open(request: HttpRequest, staff: StaffMember) -> HttpResponse:
    try:
        asked = ask_at_the_gym(
            code=request.POST.get("code", "")[:60], lead=staff, now=timezone.now()
        )
    except ErasureRefused as refused:
        messages.error(request, str(refused))
        return redirect("erasures")
    return redirect("erasure_page", number=asked.pk)
