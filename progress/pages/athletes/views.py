"""The athlete page: ladders, readiness with reasons, ability over time, the latest attempts."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from progress.models import Note, StaffMember
from progress.pages.athletes.charts import ability_figure, ability_sentence
from progress.pages.shared.access import athlete_or_404, coach_or_lead
from progress.pages.shared.ladder_drawing import draw_ladders
from progress.usecases.see_athlete import AthletePicture, see_athlete


@coach_or_lead
def athlete_page(request: HttpRequest, code: str, *, staff: StaffMember) -> HttpResponse:
    """Everything a coach or the lead may want to know about one athlete."""
    athlete = athlete_or_404(request, code)
    today = timezone.localdate()
    age = athlete.age_on(today)
    picture = see_athlete(athlete=athlete, today=today)
    context = {
        "picture": picture,
        "athlete": athlete,
        "staff": staff,
        "notes": Note.objects.standing().filter(athlete=athlete).select_related("written_by"),
        "age": None if age is None else int(age),
        "classes": athlete.classes.filter(enrolments__athlete=athlete).distinct(),
        "ladders": draw_ladders(picture.ladders, _spoken_of(picture)),
        "skills": _skills(picture),
        "figure": ability_figure(picture.history, _tier_names(picture)),
        "history_sentence": ability_sentence(picture.history),
    }
    return render(request, "progress/athletes/page.html", context)


def _skills(picture: AthletePicture) -> dict[str, object]:
    return {rung.skill.code: rung.skill for ladder in picture.ladders for rung in ladder.rungs}


def _spoken_of(picture: AthletePicture) -> set[str]:
    """The skills that the page speaks of: those that hold back and those to check next."""
    return {*picture.readiness.holding_back, *(check.skill for check in picture.checks)}


def _tier_names(picture: AthletePicture) -> dict[int, str]:
    """The names of the tiers that the ladders' skills sit in."""
    rungs = [rung for ladder in picture.ladders for rung in ladder.rungs]
    return {rung.skill.tier_id: str(rung.skill.tier) for rung in rungs}
