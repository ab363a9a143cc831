"""What a coach changes on the plan: where children go, the adults, how bold practice is."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import wraps

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from progress.models import Athlete, Challenge, GymClass, StaffMember
from progress.pages.plans.days import NoPlanForDay, asked_day
from progress.pages.plans.forms import AdultsForm, AfterwardsForm, ChallengeForm, MoveForm
from progress.pages.plans.moved import Notice, notice_of
from progress.pages.plans.views import no_plan, show_plan
from progress.pages.shared.access import View, athlete_or_404, class_or_404, coach_or_lead
from progress.usecases.plans.choose_by_hand import ChoiceRefused
from progress.usecases.plans.move_athlete import give_reason, move_athlete, undo_move
from progress.usecases.plans.set_adults import AdultsRefused, set_adults
from progress.usecases.plans.set_challenge import set_challenge


@dataclass(frozen=True)
class Asked:
    """A change asked for: of which class and day, and by whom."""

    request: HttpRequest
    gym_class: GymClass
    day: date
    staff: StaffMember

    def back(self, anchor: str = "") -> HttpResponse:
        """To the plan as it was looked at: the same day, the same stage, the same place."""
        sent = self.request.POST
        kept = {name: sent[name] for name in ("day", "after") if sent.get(name)}
        query = f"?{urlencode(kept)}" if kept else ""
        return redirect(reverse("class_plan", args=[self.gym_class.code]) + query + anchor)

    def say(self, athlete: Athlete, station: str, *, refused: str = "", said: str = "") -> None:
        """Say something at the athlete's place on the page."""
        day = self.day.isoformat()
        Notice(self.gym_class.code, day, athlete.code, station, refused=refused, said=said).keep(
            self.request
        )


def _change(change: Callable[[Asked], HttpResponse]) -> View:
    """A view that only takes a sent form, for the class and the day it names."""

    @wraps(change)
    def guarded(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
        gym_class = class_or_404(code)
        try:
            day = asked_day(gym_class, request.POST.get("day", ""), timezone.localdate())
        except NoPlanForDay as refused:
            return no_plan(request, gym_class, str(refused))
        return change(Asked(request, gym_class, day, staff))

    return coach_or_lead(require_POST(guarded))


@_change
def plan_move(asked: Asked) -> HttpResponse:
    """Move an athlete to a loop or a variant; ``tap`` is the button's own little query."""
    form = MoveForm(QueryDict(asked.request.POST.get("tap", "")))
    if not form.is_valid():
        raise Http404
    athlete = athlete_or_404(asked.request, form.cleaned_data["athlete"])
    move = form.move()
    try:
        moved = move_athlete(
            gym_class=asked.gym_class,
            day=asked.day,
            athlete=athlete,
            move=move,
            coach=asked.staff,
            now=timezone.now(),
        )
    except ChoiceRefused as refused:
        asked.say(athlete, move.station, refused=str(refused))
    else:
        day = asked.day.isoformat()
        notice_of(asked.gym_class.code, day, athlete.code, move, moved).keep(asked.request)
    return asked.back("#moved")


@_change
def plan_undo(asked: Asked) -> HttpResponse:
    """Put back what stood before the last move."""
    form = AfterwardsForm(asked.request.POST)
    if not form.is_valid():
        raise Http404
    athlete = athlete_or_404(asked.request, form.cleaned_data["athlete"])
    station = form.cleaned_data["station"]
    try:
        undo_move(
            gym_class=asked.gym_class,
            day=asked.day,
            athlete=athlete,
            station=station,
            made=form.cleaned_data["made"],
            earlier=form.cleaned_data["earlier"],
            coach=asked.staff,
            now=timezone.now(),
        )
    except ChoiceRefused as refused:
        asked.say(athlete, station, refused=str(refused))
    else:
        asked.say(athlete, station, said=f"{athlete}: taken back, as it was before.")
    return asked.back("#moved")


@_change
def plan_reason(asked: Asked) -> HttpResponse:
    """Write down why a move was made: a button's words, or the coach's own."""
    form = AfterwardsForm(asked.request.POST)
    athlete = athlete_or_404(asked.request, asked.request.POST.get("athlete", ""))
    station = asked.request.POST.get("station", "")
    if not form.is_valid():
        asked.say(athlete, station, refused="That reason is too long. Keep it under 200 letters.")
        return asked.back("#moved")
    reason = form.cleaned_data["reason"] or form.cleaned_data["words"]
    try:
        give_reason(
            gym_class=asked.gym_class,
            day=asked.day,
            athlete=athlete,
            station=station,
            made=form.cleaned_data["made"],
            reason=reason,
            coach=asked.staff,
            now=timezone.now(),
        )
    except ChoiceRefused as refused:
        asked.say(athlete, station, refused=str(refused))
    else:
        asked.say(athlete, station, said=f"{athlete}: the reason is written down.")
    return asked.back("#moved")


@_change
def plan_adults(asked: Asked) -> HttpResponse:
    """Store how many adults there are that day."""
    usual = (asked.gym_class.adults, asked.gym_class.spotters)
    form = AdultsForm(asked.request.POST, usual=usual)
    if form.is_valid():
        try:
            set_adults(
                gym_class=asked.gym_class,
                day=asked.day,
                coach=asked.staff,
                today=timezone.localdate(),
                **form.cleaned_data,
            )
        except AdultsRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(asked.request, "The adults are written down; the plan is made anew.")
            return asked.back()
    return show_plan(asked.request, asked.gym_class, asked.day, form)


@_change
def plan_challenge(asked: Asked) -> HttpResponse:
    """Ask for gentler or bolder practice, for the class or for one athlete."""
    sent = QueryDict(asked.request.POST.get("tap", "")) or asked.request.POST
    form = ChallengeForm(sent)
    if not form.is_valid():
        raise Http404
    word = Challenge(form.cleaned_data["challenge"]).label.lower()
    code = form.cleaned_data["athlete"]
    if code:
        athlete = athlete_or_404(asked.request, code)
        set_challenge(of=athlete, challenge=form.cleaned_data["challenge"], coach=asked.staff)
        asked.say(athlete, "", said=f"{athlete} practises {word}, from now on.")
        return asked.back("#moved")
    set_challenge(of=asked.gym_class, challenge=form.cleaned_data["challenge"], coach=asked.staff)
    messages.success(asked.request, f"The class practises {word}, from now on.")
    return asked.back()
