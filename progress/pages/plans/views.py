"""The plan of a class: groups, variants, waiting lines, prompts; and on one sheet of paper."""

from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from progress.engine.safety import ANALOGY, CLOSING
from progress.engine.safety_facts import Severity
from progress.models import Challenge, GymClass, StaffMember
from progress.pages.plans.days import NoPlanForDay, asked_day, days_to_plan
from progress.pages.plans.forms import REASONS, AdultsForm
from progress.pages.plans.moved import MovedWords, in_words, pop_notice
from progress.pages.plans.prompts import groups_of
from progress.pages.plans.sections import Drawing, Section
from progress.pages.plans.sheet import is_held, sheet_of
from progress.pages.plans.short import shorts
from progress.pages.plans.waiting import waits_of
from progress.pages.shared.access import class_or_404, coach_or_lead
from progress.usecases.plans.options import StationOptions
from progress.usecases.plans.see_plan import see_plan
from progress.usecases.see_class import AthleteTonight, ClassTonight


@coach_or_lead
@require_safe
def class_plan(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """The plan for today, or for ``?day=``."""
    gym_class = class_or_404(code)
    try:
        day = asked_day(gym_class, request.GET.get("day", ""), timezone.localdate())
    except NoPlanForDay as refused:
        return no_plan(request, gym_class, str(refused))
    return show_plan(request, gym_class, day)


def no_plan(request: HttpRequest, gym_class: GymClass, why: str) -> HttpResponse:
    """Say why there is no plan for the day asked for, and which days have one."""
    days = days_to_plan(gym_class, timezone.localdate())
    context = {"gym_class": gym_class, "why": why, "days": days}
    return render(request, "progress/plans/no_plan.html", context, status=400)


def show_plan(
    request: HttpRequest, gym_class: GymClass, day: date, form: AdultsForm | None = None
) -> HttpResponse:
    """Draw the page; ``form`` where the adults sent in were refused."""
    plan = see_plan(gym_class=gym_class, day=day)
    tonight, today = plan.tonight, timezone.localdate()
    options = StationOptions.of_class(tonight)
    changes = _changes(request, tonight)
    sections = list(Drawing(tonight, options).sections(changes))
    notice = pop_notice(request, gym_class.code, day.isoformat())
    moved = in_words(notice, tonight) if notice else None
    context = {
        "plan": plan,
        "tonight": tonight,
        "gym_class": gym_class,
        "day": day,
        "is_today": day == today,
        "days": days_to_plan(gym_class, today),
        "sections": sections,
        "changes": changes,
        "stages": _stages(tonight),
        "nowhere": [Nowhere(each) for each in tonight.athletes if not each.starts_on],
        "here": sum(not each.away for each in tonight.athletes),
        "shorts": shorts(tonight, options),
        "adults_form": form or adults_form(gym_class, tonight),
        "challenges": Challenge,
        "waits": waits_of(tonight, plan.lines),
        "rules": tonight.known.picture.rules,
        "groups": groups_of(tonight, plan.cautions),
        "severities": Severity,
        "closing": CLOSING,
        "analogy": ANALOGY,
        "reasons": REASONS,
        "moved": moved,
        "moved_shown": moved is not None and _shows(sections, moved),
    }
    status = 422 if form is not None else 200
    return render(request, "progress/plans/page.html", context, status=status)


@coach_or_lead
@require_safe
def plan_print(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """The plan on one A4 sheet."""
    gym_class = class_or_404(code)
    try:
        day = asked_day(gym_class, request.GET.get("day", ""), timezone.localdate())
    except NoPlanForDay as refused:
        return no_plan(request, gym_class, str(refused))
    plan = see_plan(gym_class=gym_class, day=day)
    context = {
        "gym_class": gym_class,
        "day": day,
        "is_today": day == timezone.localdate(),
        "plan": plan,
        "sheet": sheet_of(plan.tonight),
        "closing": CLOSING,
    }
    return render(request, "progress/plans/print.html", context)


def adults_form(gym_class: GymClass, tonight: ClassTonight) -> AdultsForm:
    """Filled with what was said for the day, else with what is usual."""
    setting = tonight.setting
    return AdultsForm(
        usual=(gym_class.adults, gym_class.spotters),
        initial={"adults": setting.adults, "spotters": setting.spotters},
    )


@dataclass(frozen=True)
class Nowhere:
    """Somebody who starts on no loop."""

    each: AthleteTonight

    @property
    def why(self) -> str:
        """Away, on hold, or there is nowhere to start."""
        if self.each.away:
            return "away"
        return "on hold: ask the lead" if is_held(self.each) else "no loop to start on"


def _changes(request: HttpRequest, tonight: ClassTonight) -> int:
    """After how many changes of loop the groups are shown."""
    asked = request.GET.get("after", "")
    return int(asked) if asked in {str(n) for n in range(1, len(tonight.loops))} else 0


def _stages(tonight: ClassTonight) -> list[tuple[int, str]]:
    """The stages of a class with several loops: the start and each change of loop."""
    count = len(tonight.loops)
    if count < 2:
        return []
    after = "After {} change{} of loop"
    return [(0, "At the start")] + [
        (n, after.format(n, "" if n == 1 else "s")) for n in range(1, count)
    ]


def _shows(sections: list[Section], moved: MovedWords) -> bool:
    codes = {row.athlete.code for section in sections for row in section.rows}
    return moved.notice.athlete in codes
