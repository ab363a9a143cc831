"""Places that came with a decision, noted with it so that taking it back gives them back too."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from progress.models import Athlete, Enrolment, SignOff
from progress.usecases.sign_offs.latest import latest_standing

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class PlaceBack:
    """A place that came with a decision taken back: given back, or kept because it has begun."""

    enrolment: Enrolment
    given_back: bool


def note_place(athlete: Athlete, given: Enrolment, left: Sequence[tuple[int, date | None]]) -> None:
    """Note a place with the decision that put the athlete in their tier, if there is one.

    ``left`` are the places ended for it, by key, with the last day they had before.
    """
    decision = latest_standing([athlete]).get(athlete.pk)
    if decision is None or decision.to_tier_id != athlete.tier_id:
        return
    ended = [[pk, None if until is None else until.isoformat()] for pk, until in left]
    decision.places_given = [*decision.places_given, {"enrolment": given.pk, "left": ended}]
    decision.save(update_fields=["places_given"])


def give_back(sign_off: SignOff, today: date) -> tuple[PlaceBack, ...]:
    """Take away the places that came with this decision and have not begun by ``today``.

    What was left for such a place runs on as before, unless somebody has changed it since.
    """
    found = []
    for note in reversed(sign_off.places_given):
        rows = Enrolment.objects.select_related("gym_class", "athlete")
        given = rows.filter(pk=note["enrolment"], athlete=sign_off.athlete_id).first()
        if given is None:
            continue
        begun = given.since <= today
        found.append(PlaceBack(given, given_back=not begun))
        if not begun:
            Enrolment.objects.filter(pk=given.pk).delete()
            for pk, until in note["left"]:
                ended = Enrolment.objects.filter(pk=pk, athlete=sign_off.athlete_id)
                before = None if until is None else date.fromisoformat(until)
                ended.filter(until=given.since - ONE_DAY).update(until=before)
    return tuple(found)
