"""A correction by somebody who did not see the try, and one without a class."""

from dataclasses import replace
from datetime import timedelta
from functools import partial

import pytest

from progress.engine.answers import Estimate
from progress.engine.terms import SkillState
from progress.models import Athlete, Attempt, GymClass, Meeting, Skill, StaffMember
from progress.usecases.know_athletes import know_athletes
from progress.usecases.record_checks import Entry, Recorded
from tests import makers
from tests.usecases import recording
from tests.usecases.recording import NOW

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]

DAY = timedelta(days=1)
FIRST = Entry("first", "ada", "LAND-1", "clean")
PUT_RIGHT = replace(FIRST, uid="second", result="miss", supersedes="first")
LATER = NOW + timedelta(minutes=20)
record = partial(recording.record, now=LATER)
problems = partial(recording.problems, now=LATER)


def stored(uid: str) -> Attempt:
    return Attempt.objects.get(uid=uid)


def estimate(athlete: Athlete) -> Estimate:
    return know_athletes(athletes=[athlete], today=makers.TODAY).estimates(0)["LAND-1"]


class TestWhoSawTheTry:
    def test_a_lead_at_a_desk_is_no_second_coach_for_a_gate(
        self,
        cy: Athlete,
        monday_class: GymClass,
        lead: StaffMember,
        small_catalogue: dict[str, Skill],
    ) -> None:
        """Five clean in a row on two days by one coach; the gym has two who record."""
        makers.enrol(cy, monday_class)
        makers.make_attempt(makers.make_athlete(), small_catalogue["HANG-1"], coach=lead)
        kim = StaffMember.objects.get(code="kim")
        days = [makers.TODAY - DAY, makers.TODAY]
        land = small_catalogue["LAND-1"]
        tries = makers.make_attempts(cy, land, ["clean"] * 12, days=days, coaches=[kim])
        assert estimate(cy).state is not SkillState.SECURE
        wrong = makers.make_attempt(cy, land, "miss", at=NOW - DAY, coach=kim)
        put_right = Entry("right", "cy", "LAND-1", "clean", supersedes=wrong.uid, reason="Misread")
        record(put_right, coach=lead)

        assert estimate(cy).state is not SkillState.SECURE
        assert stored("right").coach == kim
        makers.make_attempt(cy, land, at=tries[-1].at + timedelta(minutes=1), coach=lead)
        assert estimate(cy).state is SkillState.SECURE  # a second coach was all it wanted

    def test_sent_again_by_who_corrected_it_is_stored_once(self, lead: StaffMember) -> None:
        record(FIRST, now=NOW)
        record(PUT_RIGHT, coach=lead)
        assert record(PUT_RIGHT, coach=lead) == Recorded((), 1)

    def test_a_try_of_nobody_known_stays_so(self, lead: StaffMember, ada: Athlete) -> None:
        old = makers.make_attempt(ada, Skill.objects.get(code="LAND-1"), at=NOW, coach=None)
        record(replace(PUT_RIGHT, supersedes=old.uid), coach=lead)
        assert (stored("second").coach, stored("second").entered_by) == (None, lead)


class TestWithoutAClass:
    def test_a_try_of_an_athlete_in_no_class_is_put_right(self, cy: Athlete) -> None:
        old = makers.make_attempt(cy, Skill.objects.get(code="LAND-1"), at=NOW)
        entry = replace(PUT_RIGHT, athlete="cy", supersedes=old.uid)
        assert record(entry, gym_class=None).attempts[0].meeting is None
        assert not Meeting.objects.exists()

    def test_a_new_try_is_refused(self) -> None:
        record(FIRST, now=NOW)
        assert problems(PUT_RIGHT, replace(FIRST, uid="third"), gym_class=None) == [
            "Name the class: without one only corrections are stored."
        ]
