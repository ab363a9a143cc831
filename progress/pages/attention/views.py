"""Whom a lead may want to look at: stuck, not checked, gone back, coming less often."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from progress.models import GymClass, StaffMember
from progress.pages.attention import words
from progress.pages.attention.tables import (
    back_tables,
    comes_less_table,
    no_gain_table,
    unchecked_table,
)
from progress.pages.shared.access import lead_only
from progress.usecases.see_attention import see_attention


@lead_only
def attention(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """The four lists of everybody, or of the class asked for; an unknown class means everybody."""
    gym_class = GymClass.objects.filter(code=request.GET.get("class", "")).first()
    seen = see_attention(today=timezone.localdate(), gym_class=gym_class)
    context = {
        "seen": seen,
        "classes": GymClass.objects.all(),
        "asked": [words.asked_sentence(one) for one in seen.asked],
        "no_gain": no_gain_table(seen, request),
        "cannot_tell": words.cannot_tell_sentence(seen),
        "unchecked": unchecked_table(seen, request, held=False),
        "unchecked_held": unchecked_table(seen, request, held=True),
        "back": back_tables(seen, request),
        "comes_less": comes_less_table(seen, request),
        "by_luck": words.by_luck_sentence(seen),
    }
    return render(request, "progress/attention/page.html", context)
