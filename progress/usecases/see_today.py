"""A member of staff arrives: which classes are there, today's first."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q

from progress.models import GymClass, StaffMember


@dataclass(frozen=True)
class ClassCard:
    """One class on the list; ``mine`` says whether the member of staff coaches it."""

    gym_class: GymClass
    athletes: int
    is_today: bool
    coaches: str
    mine: bool


def classes_for(*, staff: StaffMember, today: date) -> tuple[ClassCard, ...]:
    """All classes: today's first, own before others', then through the week. Two queries."""
    enrolled = Q(enrolments__since__lte=today) & (
        Q(enrolments__until__isnull=True) | Q(enrolments__until__gte=today)
    )
    here = Q(enrolments__athlete__left__isnull=True) | Q(enrolments__athlete__left__gt=today)
    classes = (
        GymClass.objects.annotate(
            count=Count("enrolments__athlete", filter=enrolled & here, distinct=True)
        )
        .prefetch_related("coaches")
        .order_by(F("weekday").asc(nulls_last=True), F("starts_at").asc(nulls_last=True), "name")
    )
    cards = []
    for gym_class in classes:
        coaches = list(gym_class.coaches.all())
        cards.append(
            ClassCard(
                gym_class=gym_class,
                athletes=gym_class.count,
                is_today=gym_class.weekday == today.weekday(),
                coaches=", ".join(coach.name for coach in coaches),
                mine=staff in coaches,
            )
        )
    ahead = {card.gym_class.pk: _days_ahead(card.gym_class.weekday, today) for card in cards}
    return tuple(sorted(cards, key=lambda card: (ahead[card.gym_class.pk], not card.mine)))


def _days_ahead(weekday: int | None, today: date) -> int:
    """Days until the class next meets; classes without a day come last."""
    return 7 if weekday is None else (weekday - today.weekday()) % 7
