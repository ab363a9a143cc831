"""Learning from the gym's own log: what of it, when again, and which of it pages use."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from progress.engine.parameters import VERSION, Parameters
from progress.models import Athlete, Calibration, Ladder, Skill, StaffMember
from progress.usecases.calibrate_gym import (
    calibrate_gym,
    learnt_by,
    read_parameters,
    stored_priors,
    week_start,
)
from tests import makers

pytestmark = pytest.mark.django_db

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
THURSDAY = makers.TODAY + 3 * DAY


def stored(cutoff: date, *, version: str = VERSION, **values: Any) -> Calibration:
    """A calibration that is told apart by its drift alone."""
    start = Parameters.before_any_log(Skill.objects.as_catalogue())
    return Calibration.objects.create(
        cutoff=cutoff,
        engine_version=version,
        fingerprint=makers.next_code("fingerprint"),
        attempts=0,
        values={
            "skills": list(Skill.objects.values_list("code", flat=True)),
            **start.as_json(),
            **values,
        },
    )


def drift_used(today: date) -> float:
    """The drift that pages run on."""
    learnt = learnt_by(catalogue=Skill.objects.as_catalogue(), today=today)
    return float(learnt.parameters.drift)


@pytest.mark.parametrize("ahead", range(7))
def test_a_week_starts_on_monday(ahead: int) -> None:
    assert week_start(date(2026, 3, 2) + ahead * DAY) == date(2026, 3, 2)


class TestWhatIsLearntFrom:
    def test_attempts_of_this_week_are_not(
        self, cy: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        """Not even who recorded them or what they were made on, which are new this week."""
        skill = small_catalogue["LAND-1"]
        variant = makers.make_variant(makers.make_station(makers.make_setup()), skill)
        for ago in range(1, 4):
            makers.make_attempt(cy, skill, at=makers.TODAY - ago * WEEK, coach=coach)
        before = calibrate_gym(today=makers.TODAY)
        monday = makers.moment(makers.TODAY, 0, 0)
        makers.make_attempt(cy, skill, at=monday, coach=makers.make_staff("anna"), variant=variant)
        makers.make_attempt(cy, small_catalogue["HANG-1"], at=THURSDAY, coach=coach)

        again = calibrate_gym(today=THURSDAY)

        assert again == before
        assert (again.attempts, again.cutoff) == (3, makers.TODAY)
        assert Calibration.objects.count() == 1

    def test_attempts_of_last_sunday_night_are(self, cy: Athlete) -> None:
        makers.make_attempt(cy, makers.make_skill(), at=makers.moment(makers.TODAY - DAY, 23, 59))

        assert calibrate_gym(today=makers.TODAY).attempts == 1

    def test_next_week_this_weeks_attempts_are(self, cy: Athlete) -> None:
        makers.make_attempt(cy, makers.make_skill(), at=THURSDAY)

        assert calibrate_gym(today=THURSDAY).attempts == 0
        later = calibrate_gym(today=THURSDAY + WEEK)
        assert (later.attempts, later.cutoff) == (1, makers.TODAY + WEEK)


class TestWhenItIsDoneAgain:
    @pytest.fixture(autouse=True)
    def first(self, ada: Athlete) -> Calibration:
        """Few attempts, so that the engine keeps to its priors and takes no time."""
        return calibrate_gym(today=makers.TODAY)

    def test_the_second_time_the_stored_one_is_returned(self, first: Calibration) -> None:
        assert calibrate_gym(today=makers.TODAY) == first
        assert calibrate_gym(today=THURSDAY) == first
        assert Calibration.objects.get().made_at == first.made_at

    def test_a_log_that_has_changed_is_learnt_anew(
        self, first: Calibration, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        """An attempt entered late, and a correction: one after the other."""
        late = makers.make_attempt(ada, small_catalogue["HANG-1"], "miss", at=makers.TODAY - WEEK)
        second = calibrate_gym(today=makers.TODAY)
        makers.make_correction(late, "assisted")
        third = calibrate_gym(today=makers.TODAY)

        assert len({first.pk, second.pk, third.pk}) == 3
        assert second.attempts == third.attempts == first.attempts + 1

    def test_a_catalogue_that_has_changed_is_learnt_anew(self, first: Calibration) -> None:
        makers.make_skill("LAND-9")

        assert calibrate_gym(today=makers.TODAY).values["skills"] != first.values["skills"]
        assert Calibration.objects.count() == 2

    def test_a_variant_set_by_hand_is_learnt_anew(
        self, first: Calibration, small_catalogue: dict[str, Skill]
    ) -> None:
        station = makers.make_station(makers.make_setup())
        makers.make_variant(station, small_catalogue["LAND-1"], "low", difficulty=-1.25)

        assert calibrate_gym(today=makers.TODAY).values["variant"] == {"low": -1.25}


def test_a_skill_that_is_hardly_ever_clean_is_learnt_to_be_hard(
    small_catalogue: dict[str, Skill],
) -> None:
    """Both start from the prior of their tier; twelve children say otherwise."""
    days = [makers.TODAY - ago * WEEK for ago in (3, 2, 1)]
    for _ in range(12):
        athlete = makers.make_athlete()
        makers.make_attempts(athlete, small_catalogue["LAND-1"], ["clean"] * 3, days=days)
        makers.make_attempts(athlete, small_catalogue["HANG-1"], ["miss"] * 3, days=days)

    catalogue = Skill.objects.as_catalogue()
    learnt = read_parameters(calibrate_gym(today=makers.TODAY), catalogue)

    easy, hard = (learnt.difficulty[catalogue.position[code]] for code in ("LAND-1", "HANG-1"))
    prior = Parameters.before_any_log(catalogue).difficulty[catalogue.position["LAND-1"]]
    assert easy < prior - 0.5
    assert hard > prior + 0.5


class TestReadingItBack:
    def test_each_skill_gets_its_own_numbers_whatever_was_added_or_moved(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        before = stored(makers.TODAY, difficulty=[1.0, 2.0, 3.0, 4.0, 5.0], help_gap=[7.0] * 5)
        makers.make_skill("AIR-4", ladder=makers.make_ladder("air", order=0), tier=4)
        makers.make_skill("HANG-0", ladder="hanging")
        Ladder.objects.filter(code="hanging").update(order=0)

        catalogue = Skill.objects.as_catalogue()
        read = read_parameters(before, catalogue)
        start = Parameters.before_any_log(catalogue)

        learnt = {code: 1.0 + place for place, code in enumerate(before.values["skills"])}
        for column, skill in enumerate(catalogue.skills):
            known = skill.code in learnt
            assert read.difficulty[column] == learnt.get(skill.code, start.difficulty[column])
            assert read.help_gap[column] == (7.0 if known else start.help_gap[column])
        assert read.difficulty[catalogue.position["AIR-4"]] == 4.5

    def test_a_catalogue_loaded_after_the_first_calibration_starts_from_its_priors(self) -> None:
        before = calibrate_gym(today=makers.TODAY)
        assert before.values["skills"] == []
        makers.make_skill("LAND-1")

        read = read_parameters(before, Skill.objects.as_catalogue())
        assert np.array_equal(read.difficulty, [0.0])

    def test_what_is_stored_comes_back_as_it_was(self, small_catalogue: dict[str, Skill]) -> None:
        catalogue = Skill.objects.as_catalogue()
        read = read_parameters(calibrate_gym(today=makers.TODAY), catalogue)

        assert read.as_json() == Parameters.before_any_log(catalogue).as_json()


class TestWhichOnePagesUse:
    def test_the_newest_that_is_not_later_than_this_week(self) -> None:
        for weeks, drift in ((-2, 0.1), (0, 0.2), (1, 0.3)):
            stored(makers.TODAY + weeks * WEEK, drift=drift)

        assert drift_used(THURSDAY) == 0.2
        assert drift_used(THURSDAY - WEEK) == 0.1
        assert drift_used(THURSDAY + WEEK) == 0.3

    def test_of_one_week_the_last_that_was_made(self) -> None:
        for drift in (0.1, 0.2):
            stored(makers.TODAY, drift=drift)

        assert drift_used(THURSDAY) == 0.2

    def test_one_of_another_engine_is_left_alone(self) -> None:
        stored(makers.TODAY, drift=0.1)
        stored(makers.TODAY, drift=0.2, version="of another time")

        assert drift_used(THURSDAY) == 0.1

    def test_where_there_is_none_one_is_made(self) -> None:
        stored(makers.TODAY, version="of another time")
        learnt = learnt_by(catalogue=Skill.objects.as_catalogue(), today=THURSDAY)

        assert learnt.cutoff == makers.TODAY
        assert Calibration.objects.filter(engine_version=VERSION).count() == 1
        drift_used(THURSDAY)
        assert Calibration.objects.count() == 2

    def test_it_says_from_when_on_it_knows_nothing(self) -> None:
        stored(makers.TODAY - 3 * WEEK)
        learnt = learnt_by(catalogue=Skill.objects.as_catalogue(), today=THURSDAY)

        assert learnt.cutoff == makers.TODAY - 3 * WEEK


class TestVariantsBeforeThereIsALog:
    def test_a_step_is_expected_to_be_harder_than_the_one_below(self) -> None:
        skill = makers.make_skill()
        station = makers.make_station(makers.make_setup(), "jump")
        for step in (-1, 0, 1):
            makers.make_variant(station, skill, step=step)

        priors = stored_priors()
        assert priors["jump-1"].offset < priors["jump+0"].offset == 0.0 < priors["jump+1"].offset

    def test_of_a_code_used_often_the_newest_floor_speaks(self) -> None:
        """A floor without a week counts as the oldest, on either database."""
        skill = makers.make_skill()
        for week, offset in ((makers.TODAY, 1.0), (makers.TODAY - WEEK, 2.0), (None, 3.0)):
            station = makers.make_station(makers.make_setup(week), "jump")
            makers.make_variant(station, skill, "low", difficulty=offset)

        assert stored_priors()["low"].offset == 1.0

    def test_a_draft_says_nothing(self) -> None:
        station = makers.make_station(makers.make_setup(published=False), "jump")
        makers.make_variant(station, makers.make_skill(), "low", difficulty=1.0)

        assert stored_priors() == {}


def test_a_variant_newer_than_the_calibration_is_as_hard_as_its_step_says() -> None:
    stored(makers.TODAY)
    station = makers.make_station(makers.make_setup(makers.TODAY), "jump")
    makers.make_variant(station, makers.make_skill(), "low", difficulty=0.7)
    learnt = learnt_by(catalogue=Skill.objects.as_catalogue(), today=THURSDAY)

    assert learnt.parameters.variant == {}
    assert learnt.knowing(["low", "gone"]).parameters.variant == {"low": 0.7}
    assert learnt.knowing([]) is learnt
