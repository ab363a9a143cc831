"""The form that moves athletes up: what the engine says of each, and one sentence why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache

from progress.engine.terms import Decision
from progress.models import Athlete, SignOff, StaffMember
from progress.pages.shared.access import lead_only
from progress.pages.sign_offs.sayings import moment_in_words, moved_in_words, room, when
from progress.usecases.sign_offs.cases import Case, look_at
from progress.usecases.sign_offs.refused import (
    LONGEST,
    EngineSaysOtherwise,
    MovedMeanwhile,
    SignOffRefused,
)
from progress.usecases.sign_offs.see_places import class_places, classes_for
from progress.usecases.sign_offs.sign_off import MOST_AT_ONCE, Seen, sign_off

NOTHING = "Nothing was moved. "


@dataclass(frozen=True)
class Told:
    """What a sending that was not stored says: problems by field, and who changed meanwhile."""

    problems: Mapping[str, str]
    changed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Row:
    """One athlete on the form, with what was written so far and the address without them."""

    case: Case
    building: bool
    seen: str
    sentence: str
    although: str
    stays: bool
    sentence_problem: str
    although_problem: str
    changed: bool
    places: tuple[str, ...]
    without: str


@never_cache
@lead_only
def move_athletes_up(request: HttpRequest, *, staff: StaffMember) -> HttpResponse:
    """Show the form for the athletes named; move those that are sent."""
    athletes, unknown = _chosen(request.POST if request.method == "POST" else request.GET)
    if request.method != "POST":
        return _show(request, athletes, unknown=unknown)
    now = timezone.now()
    try:
        moved = _send(request.POST, athletes, staff, bool(unknown))
    except SignOffRefused as refused:
        named = {athlete.code: str(athlete) for athlete in athletes}
        stopped = ", ".join(named[code] for code in refused.of)
        says = refused.problems.get("", "Something is still to be written: see below.")
        says = f"Cannot be moved up: {stopped}. See why below." if stopped else says
        messages.error(request, NOTHING + says)
        return _show(request, athletes, Told(refused.problems), 422, unknown)
    except EngineSaysOtherwise as otherwise:
        messages.error(request, NOTHING + str(otherwise))
        return _show(request, athletes, Told({}, frozenset(otherwise.now)), 409, unknown)
    except MovedMeanwhile as meanwhile:
        messages.warning(request, _already(meanwhile))
        left = [athlete for athlete in athletes if athlete not in meanwhile.by]
        return _show(request, left, Told({}), 409, unknown) if left else redirect("sign_offs")
    messages.success(request, moved_in_words(moved, now))
    return redirect("sign_offs")


def _chosen(sent: QueryDict) -> tuple[list[Athlete], tuple[str, ...]]:
    """The athletes named, in the order named, and codes that nobody has."""
    codes = [code for code in dict.fromkeys(sent.getlist("athlete")) if code]
    codes = codes[: MOST_AT_ONCE + 1]  # one too many is told, thousands are not looked up
    rows = Athlete.objects.filter(code__in=codes).select_related("tier")
    found = {athlete.code: athlete for athlete in rows}
    named = [found[code] for code in codes if code in found]
    return named, tuple(code for code in codes if code not in found)


def _send(
    sent: QueryDict, athletes: Sequence[Athlete], staff: StaffMember, unknown: bool
) -> Sequence[SignOff]:
    if unknown:
        raise SignOffRefused({"": "Somebody chosen is no longer on record. Look again."})
    now = timezone.now()
    codes = [athlete.code for athlete in athletes]
    return sign_off(
        athletes=athletes,
        seen={code: seen for code in codes if (seen := _seen(sent.get(f"seen:{code}", "")))},
        sentence=sent.get("sentence", ""),
        sentences={code: sent.get(f"sentence:{code}", "") for code in codes},
        although={code: sent.get(f"although:{code}", "") for code in codes},
        stays=frozenset(code for code in codes if f"stays:{code}" in sent),
        lead=staff,
        now=now,
        today=timezone.localdate(now),
    )


def _seen(text: str) -> Seen | None:
    """``1:ready`` as it stood on the form; None where it is not one of ours."""
    tier, _, decision = text.partition(":")
    if not tier.isdecimal() or decision not in set(Decision):
        return None
    return Seen(int(tier), Decision(decision))


def _already(meanwhile: MovedMeanwhile) -> str:
    """Who was moved meanwhile, when and by whom: also the answer to a second tap."""
    lines = []
    for athlete, decision in meanwhile.by.items():
        if decision is None or decision.to_tier_id != athlete.tier_id:
            lines.append(f"{athlete} is in {athlete.tier} by now.")
        else:
            moment = moment_in_words(decision.decided_at, timezone.now())
            lines.append(
                f"{athlete} is in {athlete.tier} already, moved {moment} by {decision.decided_by}."
            )
    return " ".join([*lines, "Nobody was moved twice."])


def _show(
    request: HttpRequest,
    athletes: Sequence[Athlete],
    told: Told | None = None,
    status: int = 200,
    unknown: Sequence[str] = (),
) -> HttpResponse:
    told = told or Told({})
    today = timezone.localdate()
    too_many = len(athletes) > MOST_AT_ONCE
    cases = look_at(athletes=athletes, today=today).all if athletes and not too_many else ()
    movable = [case for case in cases if not case.obstacles]
    context = {
        "rows": _rows(movable, request.POST, told),
        "stopped": [case for case in cases if case.obstacles],
        "sentence": request.POST.get("sentence", ""),
        "sentence_problem": told.problems.get("sentence", ""),
        "longest": LONGEST,
        "unknown": unknown,
        "too_many": MOST_AT_ONCE if too_many else 0,
        "back": reverse("move_up_list"),
    }
    return render(request, "progress/sign_offs/form.html", context, status=status)


def _rows(cases: Sequence[Case], sent: QueryDict, told: Told) -> list[Row]:
    rooms = class_places(today=timezone.localdate()) if cases else ()
    places = {
        case.next_tier.number: tuple(
            f"{when(one.gym_class)}, {one.gym_class}: {room(one)}"
            for one in classes_for(case.next_tier.number, rooms)
        )
        for case in cases
        if case.next_tier is not None
    }
    return [_row(case, cases, places, sent, told) for case in cases]


def _row(
    case: Case,
    cases: Sequence[Case],
    places: Mapping[int, tuple[str, ...]],
    sent: QueryDict,
    told: Told,
) -> Row:
    code, decision = case.athlete.code, case.readiness.decision
    others = [("athlete", one.athlete.code) for one in cases if one is not case]
    return Row(
        case=case,
        building=decision is Decision.BUILDING,
        seen=f"{case.athlete.tier_id}:{decision.value}",
        sentence=sent.get(f"sentence:{code}", ""),
        although=sent.get(f"although:{code}", ""),
        stays=f"stays:{code}" in sent,
        sentence_problem=told.problems.get(f"sentence:{code}", ""),
        although_problem=told.problems.get(f"although:{code}", ""),
        changed=code in told.changed,
        places=places[case.next_tier.number] if case.next_tier else (),
        without=f"{reverse('sign_off')}?{urlencode(others)}" if others else "",
    )
