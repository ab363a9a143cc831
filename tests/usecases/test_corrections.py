"""Putting right what was recorded: the old try stays on record, the new one counts."""

from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import Any

import pytest

from progress.engine.answers import Estimate
from progress.models import Athlete, Attempt, GymClass, Meeting, Setup, Skill, StaffMember
from progress.usecases.know_athletes import know_athletes
from progress.usecases.mark_register import mark_register
from progress.usecases.record_checks import ChecksRefused, Entry, Recorded
from progress.usecases.sheets.known import Known
from tests import makers
from tests.usecases import recording
from tests.usecases.recording import NOW

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]

DAY = timedelta(days=1)
LATER = NOW + timedelta(minutes=20)
FIRST = Entry("first", "ada", "LAND-1", "clean")
PUT_RIGHT = replace(FIRST, uid="second", result="miss", supersedes="first")
TAKEN_BACK = replace(PUT_RIGHT, result="clean", taken_back=True)
record = partial(recording.record, now=LATER)
problems = partial(recording.problems, now=LATER)


def stored(uid: str) -> Attempt:
    return Attempt.objects.get(uid=uid)


def standing() -> set[str]:
    """What counts of the entries of these tests."""
    uids = ("first", "second", "third", "fourth")
    found = Attempt.objects.standing().filter(uid__in=uids)
    return set(found.values_list("uid", flat=True))


def estimate(athlete: Athlete, skill: str = "LAND-1") -> Estimate:
    return know_athletes(athletes=[athlete], today=makers.TODAY).estimates(0)[skill]


class TestWhatACorrectionIs:
    def test_the_new_row_counts_and_the_old_one_stays_as_it_was(self, lead: StaffMember) -> None:
        record(FIRST, now=NOW)
        record(PUT_RIGHT, coach=lead)

        old, new = stored("first"), stored("second")
        assert standing() == {"second"}
        assert (old.result, old.coach.code if old.coach else "", old.reason) == ("clean", "kim", "")
        assert (new.result, new.coach, new.stored_at) == ("miss", old.coach, LATER)
        assert (new.reason, new.entered_by) == ("Corrected on the day", lead)
        assert new.supersedes == old

    def test_on_the_day_it_needs_no_reason_and_one_may_be_given(self) -> None:
        record(FIRST, replace(FIRST, uid="third"), now=NOW)
        record(
            PUT_RIGHT, replace(PUT_RIGHT, uid="fourth", supersedes="third", reason=" Wrong row ")
        )
        assert [stored(uid).reason for uid in ("second", "fourth")] == [
            "Corrected on the day",
            "Wrong row",
        ]

    def test_it_keeps_the_old_ones_time_meeting_and_variant(self, floor: Setup) -> None:
        made = NOW - timedelta(hours=1)
        record(replace(FIRST, variant="jump+0", at=made), now=NOW)
        record(replace(PUT_RIGHT, at=LATER))

        old, new = stored("first"), stored("second")
        assert new.at == old.at == made
        assert new.meeting == old.meeting == Meeting.objects.get()
        assert new.variant == old.variant
        assert new.variant is not None

    def test_it_is_told_from_a_later_day_by_the_day_at_the_venue(self, settings: Any) -> None:
        """Noon in London is after midnight in Auckland, and the try was before it."""
        settings.TIME_ZONE = "Pacific/Auckland"
        record(FIRST, now=makers.moment(hour=10))
        said = problems(PUT_RIGHT, now=makers.moment(hour=12))
        assert said == ["Entry 1: it corrects another day's entry; say why in a few words."]

    def test_sending_it_twice_stores_it_once(self) -> None:
        record(FIRST, now=NOW)
        record(PUT_RIGHT)
        assert record(FIRST, PUT_RIGHT) == Recorded((), 2)
        assert standing() == {"second"}

    def test_a_correction_may_itself_be_corrected(self) -> None:
        record(FIRST, now=NOW)
        record(PUT_RIGHT)
        record(replace(FIRST, uid="third", result="assisted", supersedes="second"))
        assert standing() == {"third"}
        assert Attempt.objects.filter(uid__in=("first", "second", "third")).count() == 3


class TestOnALaterDay:
    @pytest.fixture(autouse=True)
    def last_week(self, monday_class: GymClass) -> None:
        record(FIRST, now=NOW - 7 * DAY)

    @pytest.mark.parametrize("reason", ["", "  \n"])
    def test_it_asks_for_a_reason(self, reason: str) -> None:
        said = problems(replace(PUT_RIGHT, reason=reason))
        assert said == ["Entry 1: it corrects another day's entry; say why in a few words."]

    def test_with_one_it_is_kept_in_the_meeting_of_that_day(self) -> None:
        record(replace(PUT_RIGHT, reason="Seen on the video"))

        new = stored("second")
        assert (new.reason, new.at, new.stored_at) == ("Seen on the video", NOW - 7 * DAY, LATER)
        assert new.meeting is not None
        assert new.meeting.day == makers.TODAY - 7 * DAY

    def test_it_is_no_sign_of_a_meeting_today(self) -> None:
        """A made-up meeting would mark everybody as here on a day without a class."""
        record(replace(PUT_RIGHT, reason="Seen on the video"), now=LATER + DAY)
        assert [meeting.day for meeting in Meeting.objects.all()] == [makers.TODAY - 7 * DAY]

    def test_it_makes_nobody_present(self, ada: Athlete) -> None:
        (meeting,) = Meeting.objects.all()
        meeting.register.filter(athlete=ada).update(present=False)
        today = makers.make_meeting(meeting.gym_class, away=[ada])
        record(replace(PUT_RIGHT, reason="Seen on the video"))
        assert not meeting.register.get(athlete=ada).present
        assert not today.register.get(athlete=ada).present

    def test_the_child_may_have_left_and_the_floor_may_have_changed(
        self, monday_class: GymClass
    ) -> None:
        monday_class.enrolments.update(until=makers.TODAY - DAY)
        record(replace(PUT_RIGHT, reason="Seen on the video", variant="gone+0"))
        assert standing() == {"second"}
        assert stored("second").variant is None

    def test_a_reason_has_room_for_two_hundred_characters(self) -> None:
        assert problems(replace(PUT_RIGHT, reason="x" * 201)) == [
            "Entry 1: the reason is longer than 200 characters."
        ]
        record(replace(PUT_RIGHT, reason="x" * 200))
        assert stored("second").reason == "x" * 200
        assert stored("second").entered_by is None  # the coach who saw it put it right


class TestTakingBack:
    def test_a_try_taken_back_no_longer_counts_and_stays_on_record(self) -> None:
        record(FIRST, now=NOW)
        record(TAKEN_BACK)
        assert standing() == set()
        assert (stored("second").taken_back, stored("second").supersedes) == (True, stored("first"))

    def test_it_can_be_put_back(self) -> None:
        record(FIRST, now=NOW)
        record(TAKEN_BACK)
        record(replace(FIRST, uid="third", supersedes="second"))
        assert standing() == {"third"}
        assert stored("third").at == NOW

    def test_it_does_not_make_an_away_child_present_whatever_comes_with_it(
        self, monday_class: GymClass, coach: StaffMember
    ) -> None:
        """Ada's try was tapped in the wrong row; Bo's comes along in the same sending."""
        record(FIRST, now=NOW)
        here = Meeting.objects.get().register
        mark_register(
            gym_class=monday_class,
            day=makers.TODAY,
            present={"ada": False, "bo": False},
            coach=coach,
        )
        record(TAKEN_BACK, replace(FIRST, uid="third", athlete="bo"))
        assert dict(here.values_list("athlete__code", "present")) == {"ada": False, "bo": True}

    def test_only_a_correction_takes_back(self) -> None:
        assert problems(replace(FIRST, taken_back=True)) == [
            "Entry 1: only a correction can take a try back."
        ]

    def test_it_is_not_the_same_as_another_correction_with_its_id(self) -> None:
        record(FIRST, now=NOW)
        record(TAKEN_BACK)
        assert len(problems(replace(TAKEN_BACK, taken_back=False))) == 1


class TestWhatTheEngineMakesOfIt:
    def test_the_estimate_is_that_of_what_was_put_right(
        self, bo: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        sent = replace(FIRST, athlete="bo", skill="HANG-1")
        before = estimate(bo, "HANG-1")
        record(sent, now=NOW)
        praised = estimate(bo, "HANG-1")
        record(replace(sent, uid="second", result="miss", supersedes="first"))
        put_right = estimate(bo, "HANG-1")

        assert put_right.chance < before.chance < praised.chance
        assert put_right.attempts == praised.attempts == before.attempts + 1

    def test_a_try_taken_back_leaves_no_trace_in_it(self, bo: Athlete) -> None:
        before = know_athletes(athletes=[bo], today=makers.TODAY)
        record(replace(FIRST, athlete="bo", result="miss"), now=NOW)
        assert estimate(bo).chance < before.estimates(0)["LAND-1"].chance
        record(replace(TAKEN_BACK, athlete="bo", result="miss"))

        after = know_athletes(athletes=[bo], today=makers.TODAY)
        assert after.estimates(0) == before.estimates(0)
        assert after.readiness == before.readiness

    def test_a_corrected_miss_keeps_its_place_in_the_row(
        self, cy: Athlete, monday_class: GymClass
    ) -> None:
        """Put right to clean, it joins the clean ones around it and is not a new last try."""
        makers.enrol(cy, monday_class)
        tries = [
            Entry(uid, "cy", "LAND-1", result)
            for uid, result in (("first", "clean"), ("second", "miss"), ("third", "clean"))
        ]

        def run() -> int:
            picture = know_athletes(athletes=[cy], today=makers.TODAY).picture
            return int(picture.evidence.run[0, picture.catalogue.position["LAND-1"]])

        record(*tries, now=NOW)
        assert run() == 1
        record(replace(tries[1], uid="fourth", result="clean", supersedes="second"))
        assert run() == 3


class TestWhatIsRefused:
    def test_what_was_corrected_in_the_meantime_is_told(self, lead: StaffMember) -> None:
        record(FIRST, now=NOW)
        record(replace(PUT_RIGHT, uid="third"), coach=lead)
        assert problems(PUT_RIGHT) == [
            "Entry 1: it was corrected in the meantime; open the sheet afresh and look."
        ]
        assert standing() == {"third"}

    @pytest.mark.parametrize(
        "change", [{"athlete": "bo"}, {"skill": "HANG-1"}, {"supersedes": "never-stored"}]
    )
    def test_an_entry_of_another_athlete_or_skill_is_not_corrected(
        self, change: dict[str, Any]
    ) -> None:
        record(FIRST, now=NOW)
        assert problems(replace(PUT_RIGHT, **change)) == [
            "Entry 1: what it corrects is not stored for this athlete and skill."
        ]
        assert standing() == {"first"}

    def test_two_corrections_of_one_try_in_one_sending_are_refused(self) -> None:
        """A phone without a network may have put the same try right twice."""
        record(FIRST, now=NOW)
        assert problems(PUT_RIGHT, replace(PUT_RIGHT, uid="third")) == [
            "Entry 2: it corrects what another entry of this sending corrects."
        ]

    def test_a_bad_result_is_refused_in_a_correction_too(self) -> None:
        record(FIRST, now=NOW)
        assert len(problems(replace(PUT_RIGHT, result=""))) == 1

    def test_who_comes_second_at_the_same_moment_is_told(
        self, lead: StaffMember, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Lee's correction is stored between Kim's look and Kim's own: neither is lost silently."""
        record(FIRST, now=NOW)
        read, turns = Known.read, iter(["first"])

        def slow(*args: Any) -> Known:
            known = read(*args)
            if next(turns, None):
                record(replace(PUT_RIGHT, uid="third", result="assisted"), coach=lead)
            return known

        monkeypatch.setattr(Known, "read", slow)
        with pytest.raises(ChecksRefused, match="it was corrected in the meantime"):
            record(PUT_RIGHT)
        assert standing() == {"third"}
