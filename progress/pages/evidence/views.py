"""The evidence page: why the engine says what it says of one athlete, to be checked by the lead."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from progress.models import StaffMember
from progress.pages.evidence.blocks import blocks, change_words
from progress.pages.evidence.words import rules_in_words
from progress.pages.shared.access import athlete_or_404, lead_only
from progress.usecases.see_evidence import see_evidence


@lead_only
def evidence(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """The answer, the rule, every skill that counts with its attempts, and what would change it."""
    athlete = athlete_or_404(request, code)
    today = timezone.localdate()
    picture = see_evidence(athlete=athlete, today=today)
    shown = blocks(picture)
    context = {
        "picture": picture,
        "athlete": athlete,
        "readiness": picture.readiness,
        "age": None if picture.age is None else int(picture.age),
        "rules": rules_in_words(picture.rules, picture.coaches_needed),
        "blocks": shown,
        "met": sum(not one.evidence.bars for one in shown),
        "change": change_words(picture, today),
    }
    return render(request, "progress/evidence/page.html", context)
