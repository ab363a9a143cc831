"""An earlier day's tiers follow from the decisions since."""

from datetime import date, timedelta

from progress.models import Athlete, StaffMember
from progress.usecases.tiers_then import tiers_then
from tests import makers

DAY = timedelta(days=1)


def test_the_first_later_decision_left_the_tier_of_that_day(
    ada: Athlete, bo: Athlete, lead: StaffMember, today: date
) -> None:
    for number, days in ((1, 60), (2, 20)):
        makers.make_sign_off(
            ada,
            lead,
            from_tier=makers.make_tier(number),
            to_tier=makers.make_tier(number + 1),
            decided_at=makers.moment(today - days * DAY),
        )
    Athlete.objects.filter(pk=ada.pk).update(tier=3)
    ada.refresh_from_db()

    def on(days_ago: int) -> tuple[int, ...]:
        return tiers_then(athletes=[ada, bo], day=today - days_ago * DAY)

    assert [on(days) for days in (90, 61, 60, 21, 20, 0)] == [
        (1, 1),
        (1, 1),
        (2, 1),
        (2, 1),
        (3, 1),
        (3, 1),
    ]


def test_a_decision_undone_never_was(ada: Athlete, lead: StaffMember, today: date) -> None:
    now = makers.moment(today)
    makers.make_sign_off(ada, lead, decided_at=now, undone_at=now, undone_by=lead)
    assert tiers_then(athletes=[ada], day=today - DAY) == (ada.tier_id,)
