"""Who is held, who eases back after a hold or a long absence, and how old everybody is."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.engine.rules import Rules
from progress.models import Athlete
from progress.usecases.engine_inputs import Holds, as_terms, away_lately
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def held_on(athlete: Athlete, day: date) -> bool:
    return bool(Holds.read([athlete], day).in_force(athlete))


def eases_back(athlete: Athlete, day: date, rules: Rules | None = None) -> bool:
    (term,) = as_terms([athlete], Holds.read([athlete], day), rules or Rules(), away=set())
    return term.easing_back


class TestHolds:
    @pytest.mark.parametrize(("days", "held"), [(-4, False), (-3, True), (1, True), (2, False)])
    def test_a_hold_stops_from_its_first_day_until_the_first_day_back(
        self, cy: Athlete, today: date, days: int, held: bool
    ) -> None:
        makers.make_hold(cy, starts=today - 3 * DAY, lifted=today + 2 * DAY)

        assert held_on(cy, today + days * DAY) is held

    def test_a_day_to_ask_again_lifts_nothing(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy, starts=today - 9 * DAY, review=today - DAY)

        assert held_on(cy, today)

    def test_a_hold_on_everything_stops_everything(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy)

        (term,) = as_terms([cy], Holds.read([cy], today), Rules(), away=set())
        assert (term.held, term.held_ladders) == (True, frozenset())

    def test_a_hold_on_ladders_stops_those_and_no_other(self, cy: Athlete, today: date) -> None:
        for code in ("hanging", "landing"):
            makers.make_hold(cy, ladders=[makers.make_ladder(code)])
        makers.make_hold(cy, lifted=today, ladders=[makers.make_ladder("rolling")])
        makers.make_hold(makers.make_athlete("other"))

        (term,) = as_terms([cy], Holds.read([cy], today), Rules(), away=set())
        assert (term.held, term.held_ladders) == (False, {"hanging", "landing"})

    @pytest.mark.parametrize(("days", "easing"), [(-1, False), (0, True), (13, True), (14, False)])
    def test_two_weeks_after_a_hold_are_for_easing_back(
        self, cy: Athlete, today: date, days: int, easing: bool
    ) -> None:
        makers.make_hold(cy, starts=today - 9 * DAY, lifted=today)

        assert eases_back(cy, today + days * DAY) is easing

    def test_a_lead_may_make_the_easing_shorter(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy, starts=today - 9 * DAY, lifted=today - 3 * DAY)

        assert eases_back(cy, today, Rules(easing_days=4))
        assert not eases_back(cy, today, Rules(easing_days=3))

    def test_the_engine_hears_of_every_hold_as_days(self, cy: Athlete, today: date) -> None:
        makers.make_hold(cy, starts=today - 30 * DAY, lifted=today - 20 * DAY)
        makers.make_hold(cy, starts=today - 2 * DAY)
        never = makers.make_athlete("never")

        stretches = Holds.read([cy, never], today).stretches([cy, never])
        now = today.toordinal()
        assert stretches == {"cy": [(now - 2, now + 1), (now - 30, now - 20)]}

    def test_two_queries_read_any_number_of_holds(
        self, ada: Athlete, bo: Athlete, django_assert_num_queries: DjangoAssertNumQueries
    ) -> None:
        ladders = [makers.make_ladder("hanging"), makers.make_ladder("landing")]
        for athlete in (ada, bo, ada):
            makers.make_hold(athlete, ladders=ladders)
        with django_assert_num_queries(2):
            holds = Holds.read([ada, bo], makers.TODAY)
            as_terms([ada, bo], holds, Rules(), away=set())


class TestAbsence:
    def came(self, athlete: Athlete, *days_ago: int, away: tuple[int, ...] = ()) -> None:
        gym_class = makers.make_class(athletes=[athlete])
        for ago in days_ago:
            makers.make_meeting(gym_class, makers.TODAY - ago * DAY, present=[athlete])
        for ago in away:
            makers.make_meeting(gym_class, makers.TODAY - ago * DAY, away=[athlete])

    def is_away(self, athlete: Athlete) -> bool:
        return athlete.pk in away_lately([athlete], makers.TODAY, 21)

    @pytest.mark.parametrize(("ago", "away"), [(7, False), (21, False), (22, True)])
    def test_more_than_three_weeks_since_the_last_class_is_an_absence(
        self, cy: Athlete, ago: int, away: bool
    ) -> None:
        self.came(cy, 50, ago)
        assert self.is_away(cy) is away

    def test_being_marked_away_is_not_coming(self, cy: Athlete) -> None:
        self.came(cy, 28, away=(21, 14, 7))
        assert self.is_away(cy)

    def test_todays_own_register_does_not_end_an_absence(self, cy: Athlete) -> None:
        self.came(cy, 28, 0)
        assert self.is_away(cy)

    def test_without_a_register_nobody_was_away(self, cy: Athlete) -> None:
        assert not self.is_away(cy)

    def test_who_was_away_eases_back(self, cy: Athlete, today: date) -> None:
        self.came(cy, 28)
        away = away_lately([cy], today, 21)

        (term,) = as_terms([cy], Holds.read([cy], today), Rules(), away)
        assert term.easing_back
        assert not term.held


class TestAge:
    def test_the_engine_hears_the_age_on_the_day_or_that_it_is_unknown(self, today: date) -> None:
        athletes = [
            makers.make_athlete("five", birth_date=date(2021, 3, 2), tier=2),
            makers.make_athlete("unknown", birth_date=None),
        ]
        known, unknown = as_terms(athletes, Holds.read(athletes, today), Rules(), away=set())
        assert (known.code, known.tier, known.age) == ("five", 2, 5.0)
        assert unknown.age is None
