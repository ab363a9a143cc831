"""Whatever is saved in whatever order, what is stored is what a replay of everybody says."""

from datetime import date, timedelta
from random import Random

import pytest

from progress.models import Athlete, Attempt, Hold, Ladder, StaffMember, Standing
from progress.usecases.place_hold import lift_hold, place_hold
from progress.usecases.standings.changed import athletes_changed
from tests import makers
from tests.usecases.recording import entry, record
from tests.usecases.standings.conftest import Committed, stored_is_a_full_replay, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("up_to_date")]
STEPS = 30
NAMES, SKILLS = ("ada", "bo"), ("LAND-1", "HANG-1", "LAND-2")
RESULTS = ("miss", "assisted", "clean", "clean")


class Savers:
    """Staff who save whatever the dice say, the day being ``today``."""

    def __init__(self, seed: int, today: date) -> None:
        self.dice, self.today, self.saved = Random(seed), today, 0
        self.coach = StaffMember.objects.get(code="kim")
        self.lead = makers.make_staff("lou", role=makers.Role.LEAD)

    def do_something(self) -> None:
        kinds = (
            self.save,
            self.save,
            self.save_late,
            self.correct,
            self.hold,
            self.lift,
            self.move,
        )
        self.dice.choice(kinds)()

    def save(self, days_ago: int = 0) -> None:
        at = makers.moment(self.today - timedelta(days=days_ago), hour=16)
        tries = [
            entry(
                self.next(),
                athlete=self.dice.choice(NAMES),
                skill=self.dice.choice(SKILLS),
                result=self.dice.choice(RESULTS),
                at=at + timedelta(seconds=number),
            )
            for number in range(self.dice.randint(1, 4))
        ]
        record(*tries)

    def save_late(self) -> None:
        """A phone comes back from days without a network."""
        self.save(days_ago=self.dice.randint(1, 5))

    def correct(self) -> None:
        last = Attempt.objects.standing().filter(uid__startswith="u").order_by("pk").last()
        if last is not None:
            back = self.dice.random() < 0.5
            values = {"result": last.result if back else self.dice.choice(RESULTS[:3])}
            of = {"athlete": last.athlete.code, "skill": last.skill.code, "supersedes": last.uid}
            record(entry(self.next(), **values, **of, taken_back=back, reason="Wrong row."))

    def hold(self) -> None:
        ladders = list(Ladder.objects.filter(code="hanging")) if self.dice.random() < 0.5 else []
        place_hold(
            athlete=self.athlete(), kind="wish", coach=self.coach, today=self.today, ladders=ladders
        )

    def lift(self) -> None:
        for hold in Hold.objects.on(self.today)[:1]:
            lift_hold(hold=hold, lead=self.lead, today=self.today)

    def move(self) -> None:
        """What a sign-off does to the athlete."""
        athlete = self.athlete()
        Athlete.objects.filter(pk=athlete.pk).update(tier=3 - athlete.tier_id)
        athletes_changed(athletes=[athlete.pk], today=self.today)

    def athlete(self) -> Athlete:
        return Athlete.objects.get(code=self.dice.choice(NAMES))

    def next(self) -> int:
        self.saved += 1
        return self.saved


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_it_is_so_after_every_save(seed: int, today: date, committed: Committed) -> None:
    savers = Savers(seed, today)
    before = Standing.objects.values().get(athlete__code="cy")
    for _ in range(STEPS):
        with committed():
            savers.do_something()
        assert waiting(today) == 0
        assert stored_is_a_full_replay(today)
    assert Standing.objects.values().get(athlete__code="cy") == before
    assert savers.saved > 10
