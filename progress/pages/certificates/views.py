"""The certificate of a child who moved up: one sheet of paper, for staff and for the family."""

import unicodedata
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from progress.models import Athlete, SignOff, StaffMember
from progress.pages.shared.access import athlete_or_404, coach_or_lead, may_see_child
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.families.display_name import shown_name

# Columns a name takes up, and how large it may then be set so that the sheet stays one page.
SIZES = ((14, "name-short"), (28, "name-middle"), (70, "name-long"))
SMALLEST = "name-longest"
WIDE, EMOJI = {"W", "F"}, "So"
RUNGS = 7


@dataclass(frozen=True)
class Motif:
    """The ladder at the side of the sheet: heights of its rungs, and how many are climbed."""

    rungs: tuple[tuple[int, bool], ...]


@in_the_familys_language
@never_cache
@may_see_child
@require_safe
def certificate(request: HttpRequest, number: int, *, athlete: Athlete) -> HttpResponse:
    """For the family, in its own language; coaches and leads see here what the family sees."""
    return _sheet(request, athlete, number)


@never_cache
@coach_or_lead
@require_safe
def staff_certificate(
    request: HttpRequest, code: str, number: int, *, staff: StaffMember
) -> HttpResponse:
    """For staff who print it, in the site's language."""
    return _sheet(request, athlete_or_404(request, code), number)


def _sheet(request: HttpRequest, athlete: Athlete, number: int) -> HttpResponse:
    """One sign-off on paper, under the name the family chose; one that was undone has none."""
    sign_offs = SignOff.objects.standing().select_related("to_tier", "decided_by")
    sign_off = get_object_or_404(sign_offs, pk=number, athlete=athlete)
    name = shown_name(athlete)
    context = {
        "athlete": athlete,
        "name": name,
        "size": size_of(name),
        "sign_off": sign_off,
        "motif": motif(sign_off.to_tier_id),
    }
    return render(request, "progress/certificates/page.html", context)


def size_of(name: str) -> str:
    """The class that sets a name as large as fits; wide letters and emoji count twice."""
    columns = sum(_columns(one) for one in name)
    return next((size for most, size in SIZES if columns <= most), SMALLEST)


def _columns(letter: str) -> int:
    if unicodedata.combining(letter) or unicodedata.category(letter) in {"Mn", "Me", "Cf"}:
        return 0
    wide = unicodedata.east_asian_width(letter) in WIDE
    return 2 if wide or unicodedata.category(letter) == EMOJI else 1


def motif(tier: int) -> Motif:
    """A ladder with as many rungs drawn full as tiers were climbed, from the foot up."""
    step = 420 // RUNGS
    numbers = range(1, RUNGS + 1)
    return Motif(tuple((430 - step * rung, rung <= tier) for rung in numbers))
