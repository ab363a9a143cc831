"""Skills and children on one scale, as of the end of yesterday and kept for the day."""

from datetime import date, timedelta

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, Calibration, ResultChoice, Skill
from progress.models.ladders import as_catalogue
from progress.usecases.see_difficulty import (
    ALL_LADDERS,
    BIN,
    DifficultyMap,
    catalogue_digest,
    know_gym,
    see_difficulty,
    sureness,
)
from tests import makers

MISS, ASSISTED, CLEAN = ResultChoice.MISS, ResultChoice.ASSISTED, ResultChoice.CLEAN
DAY = timedelta(days=1)
KEPT_QUERIES = 9  # skills and needs, the calibration, and what tells whether anything is new


@pytest.fixture
def askew(db: None, today: date) -> dict[str, Skill]:
    """A tier-1 skill that hardly anybody does, among easy ones; tier 2 lies between."""
    skills = {
        code: makers.make_skill(code, ladder=ladder, tier=tier, gate=code == "HARD")
        for code, ladder, tier in (
            ("EASY-1", "landing", 1),
            ("EASY-2", "landing", 1),
            ("HARD", "hanging", 1),
            ("MID-1", "landing", 2),
            ("MID-2", "hanging", 2),
        )
    }
    results = {
        "EASY-1": [CLEAN] * 6,
        "EASY-2": [CLEAN] * 5 + [ASSISTED],
        "HARD": [MISS] * 6,
        "MID-1": [CLEAN, CLEAN, CLEAN, MISS, CLEAN, CLEAN],
        "MID-2": [CLEAN, MISS, CLEAN, CLEAN, CLEAN, CLEAN],
    }
    days = [today - timedelta(weeks=weeks) for weeks in (5, 4, 3, 2, 1)]
    for number in range(12):
        athlete = makers.make_athlete(f"child-{number}", tier=1 + number % 2)
        for code, tries in results.items():
            makers.make_attempts(athlete, skills[code], tries, days=days)
    return skills


class TestSmallGyms:
    @pytest.mark.django_db
    def test_without_skills_the_map_is_empty(self, today: date) -> None:
        told = see_difficulty(today=today)
        assert (told.placed, told.misplaced, told.athletes) == ((), (), 0)

    @pytest.mark.usefixtures("cy")
    def test_without_tries_every_skill_is_there_and_nobody_can_say(
        self, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        told = see_difficulty(today=today)

        assert {one.skill for one in told.placed} == set(small_catalogue)
        assert not any(one.enough for one in told.placed)
        assert told.spreads[ALL_LADDERS] == ()
        assert (told.athletes, told.unchecked, told.attempts) == (0, 1, 0)

    @pytest.mark.django_db
    def test_one_skill_has_no_other_tier_to_compare_with(self, today: date) -> None:
        only = makers.make_skill("ONLY")
        makers.make_attempt(makers.make_athlete(), only, at=today - 7 * DAY)

        (one,) = see_difficulty(today=today).placed

        assert (one.p_harder, one.p_easier, one.points_to, one.attempts) == (None, None, None, 1)


class TestMisplaced:
    def test_a_skill_harder_than_the_tier_above_is_named_with_how_sure(
        self, askew: dict[str, Skill], today: date
    ) -> None:
        told = see_difficulty(today=today)

        assert [(one.skill, one.points_to) for one in told.misplaced] == [("HARD", 2)]
        found = told.misplaced[0]
        assert sureness(found) == found.p_harder
        assert found.p_harder is not None
        assert found.p_harder >= 0.9
        assert found.difficulty > told.middles[2] > told.middles[1]
        assert found.low < found.difficulty < found.high

    def test_a_skill_that_points_nowhere_is_sure_of_nothing(
        self, askew: dict[str, Skill], today: date
    ) -> None:
        told = see_difficulty(today=today)
        easy = next(one for one in told.placed if one.skill == "EASY-1")
        assert (easy.points_to, sureness(easy)) == (None, 0.0)


class TestWhatCounts:
    def test_tries_of_this_week_are_not_learnt_from_yet_and_do_not_count(
        self, ada: Athlete, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        makers.make_attempt(ada, small_catalogue["HANG-3"], at=today)

        told = see_difficulty(today=today + 3 * DAY)

        hang = next(one for one in told.placed if one.skill == "HANG-3")
        assert (told.learnt_before, told.until) == (today, today + 2 * DAY)
        assert (hang.attempts, hang.athletes) == (0, 0)
        assert told.attempts == 16

    def test_what_is_recorded_today_waits_until_tomorrow(
        self, cy: Athlete, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        makers.make_attempt(cy, small_catalogue["HANG-1"], at=today)

        assert see_difficulty(today=today).unchecked == 1
        assert see_difficulty(today=today + DAY).unchecked == 0

    def test_a_child_who_left_counts_for_difficulties_and_is_not_shown(
        self, ada: Athlete, bo: Athlete, today: date
    ) -> None:
        with_both = see_difficulty(today=today)
        Athlete.objects.filter(pk=bo.pk).update(left=today - DAY)

        told = see_difficulty(today=today + DAY)

        assert (with_both.athletes, told.athletes) == (2, 1)
        assert told.attempts == with_both.attempts == 32

    def test_spreads_count_every_checked_child_of_each_tier_where_the_picture_has_it(
        self, ada: Athlete, bo: Athlete, cy: Athlete, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        Athlete.objects.filter(pk=bo.pk).update(tier=2)
        told = see_difficulty(today=today)
        catalogue = as_catalogue(Skill.objects.with_needs())
        gym = know_gym(
            athletes=list(Athlete.objects.here_on(today).order_by("code")),
            catalogue=catalogue,
            until=today - DAY,
        )
        able = dict(
            zip((one.code for one in gym.athletes), gym.picture.beliefs.root_mean, strict=True)
        )

        first, second = told.spreads[ALL_LADDERS]
        assert (first.tier, first.athletes, second.tier, second.athletes) == (1, 1, 2, 1)
        assert first.middle == pytest.approx(able["ada"])
        ((middle, count),) = first.counts
        assert count == 1
        assert abs(middle - able["ada"]) <= BIN / 2

    def test_ability_on_a_ladder_is_that_of_the_ladder(self, bo: Athlete, today: date) -> None:
        """Bo lands cleanly and never hung alone."""
        told = see_difficulty(today=today)
        landing, hanging = told.spreads["landing"][0], told.spreads["hanging"][0]
        assert landing.middle > told.spreads[ALL_LADDERS][0].middle > hanging.middle


class TestKept:
    def test_a_second_look_asks_only_whether_anything_is_new(
        self, ada: Athlete, today: date
    ) -> None:
        first = see_difficulty(today=today)
        with CaptureQueriesContext(connection) as asked:
            again = see_difficulty(today=today)
        assert len(asked) <= KEPT_QUERIES
        assert again.placed == first.placed

    def test_many_children_take_no_more_queries(self, ada: Athlete, today: date) -> None:
        see_difficulty(today=today)  # stores the calibration
        with CaptureQueriesContext(connection) as few:
            see_difficulty(today=today + DAY)
        for _ in range(20):
            makers.make_athlete()
        with CaptureQueriesContext(connection) as many:
            see_difficulty(today=today + 2 * DAY)
        assert len(many) == len(few)

    def test_a_tier_changed_elsewhere_is_seen_at_once(
        self, ada: Athlete, small_catalogue: dict[str, Skill], today: date
    ) -> None:
        see_difficulty(today=today)
        Skill.objects.filter(code="HANG-3").update(tier=1)

        told = see_difficulty(today=today)

        assert next(one for one in told.placed if one.skill == "HANG-3").tier == 1

    def test_the_calibration_is_the_one_other_pages_use_that_day(
        self, ada: Athlete, today: date
    ) -> None:
        """On a Monday that is the new week's, though the map ends on Sunday."""
        told = see_difficulty(today=today)
        assert told.learnt_before == today == Calibration.objects.get().cutoff


def test_a_digest_tells_what_is_asked_for_and_not_what_it_is_called(
    small_catalogue: dict[str, Skill],
) -> None:
    def digest() -> str:
        return catalogue_digest(Skill.objects.as_catalogue())

    before = digest()
    Skill.objects.filter(code="HANG-1").update(name="Hang on")
    assert digest() == before
    for change in ({"tier": 2}, {"standard": 0.7}, {"required": False}, {"minimum_age": 6.0}):
        Skill.objects.filter(code="HANG-1").update(**change)
        assert digest() != before
        before = digest()


def test_the_middle_of_a_tier_is_the_median_of_its_skills(
    askew: dict[str, Skill], today: date
) -> None:
    told: DifficultyMap = see_difficulty(today=today)
    of_one = [one.difficulty for one in told.placed if one.tier == 1]
    assert told.middles[1] == pytest.approx(float(np.median(of_one)))
