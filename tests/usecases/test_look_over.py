"""The picture of an earlier day is that day's; what is found names athletes by code alone."""

import pickle
from datetime import date, timedelta

import numpy as np
import pytest

from progress.engine.terms import Decision
from progress.models import Athlete, Skill, StaffMember
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.look_over import look_over, picture_then
from tests import makers

DAY = timedelta(days=1)


def known_of(athlete: Athlete, today: date) -> Known:
    return know_athletes(athletes=[athlete], today=today)


@pytest.fixture
def slipped(
    ada: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember, today: date
) -> Athlete:
    """Ada, ready until a week ago, who has missed eight times since."""
    skill = small_catalogue["HANG-1"]
    makers.make_attempts(ada, skill, ["miss"] * 12, days=[today - 3 * DAY], coaches=(coach,))
    return ada


class TestThePictureThen:
    def test_it_knows_no_later_attempt(self, slipped: Athlete, today: date) -> None:
        day = today - 6 * DAY
        then = picture_then(known=known_of(slipped, today), day=day)
        straight = know_athletes(athletes=[slipped], today=day).picture
        assert np.array_equal(then.evidence.attempts, straight.evidence.attempts)
        assert then.evidence.last.max() <= day.toordinal()

    def test_it_is_what_a_page_would_have_said_that_day_on_todays_calibration(
        self, ada: Athlete, today: date
    ) -> None:
        """Nothing is calibrated anew here, so the two are equal to the last bit."""
        day = today - 6 * DAY
        known = known_of(ada, today)
        then = picture_then(known=known, day=day)
        alone = know_athletes(athletes=[ada], today=day)
        same = alone.picture.parameters.difficulty == known.picture.parameters.difficulty
        assert bool(np.all(same))
        assert np.array_equal(then.mean, alone.picture.mean)

    def test_the_tier_is_that_of_the_day(
        self, ada: Athlete, lead: StaffMember, today: date
    ) -> None:
        makers.make_sign_off(ada, lead, decided_at=makers.moment(today - 5 * DAY))
        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        ada.refresh_from_db()
        known = known_of(ada, today)
        tiers = [picture_then(known=known, day=today - days * DAY).tier[0] for days in (6, 5)]
        assert tiers == [1, 2]

    def test_holds_are_those_of_the_day(self, ada: Athlete, today: date) -> None:
        makers.make_hold(ada, starts=today - 10 * DAY, lifted=today - 7 * DAY)
        makers.make_hold(ada, starts=today - 2 * DAY)
        known = known_of(ada, today)

        def held(days: int) -> bool:
            return picture_then(known=known, day=today - days * DAY).athletes[0].held

        assert [held(days) for days in (11, 10, 8, 7, 3, 2)] == [
            False,
            True,
            True,
            False,
            False,
            True,
        ]

    def test_a_childs_age_is_that_of_the_day(self, ada: Athlete, today: date) -> None:
        then = picture_then(known=known_of(ada, today), day=today - 40 * DAY).athletes[0]
        assert then.age == ada.age_on(today - 40 * DAY)


class TestLookingOver:
    def test_who_slipped_is_found_with_the_skill(
        self, slipped: Athlete, bo: Athlete, today: date
    ) -> None:
        found = look_over(athletes=[slipped, bo], until=today + 15 * DAY)
        (one,) = found.went_back
        assert (one.athlete, one.before) == ("ada", Decision.READY)
        assert "HANG-1" in one.slipped
        assert one.attempts_since == 16  # two clean at each skill, then the misses

    def test_nobody_there_is_no_trouble(self, tiers: object, today: date) -> None:
        assert look_over(athletes=[], until=today).athletes == frozenset()

    def test_never_checked_is_found_and_a_hold_is_told(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy, starts=today)
        found = look_over(athletes=[cy], until=today)
        assert [(one.athlete, one.last_day) for one in found.unchecked] == [("cy", None)]
        assert found.held == {"cy"}
        assert found.can_tell == frozenset()

    def test_what_is_kept_holds_no_name(self, slipped: Athlete, today: date) -> None:
        Athlete.objects.filter(pk=slipped.pk).update(name="Adalbertina")
        slipped.refresh_from_db()
        kept = pickle.dumps(look_over(athletes=[slipped], until=today))
        assert b"Adalbertina" not in kept
        assert b"ada" in kept
