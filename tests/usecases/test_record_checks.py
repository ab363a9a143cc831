"""Recording the checks of a class: all of them or none, each once, in the order they were made."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection
from django.test.utils import CaptureQueriesContext
from pytest_django import Settings

from progress.models import Athlete, Attempt, GymClass, Meeting, Setup, Skill, StaffMember
from progress.usecases import record_checks as use_case
from progress.usecases.know_athletes import know_athletes
from progress.usecases.record_checks import Entry, Recorded
from tests import makers
from tests.usecases.recording import ENTRY, NOW, entry, problems, record

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]


class TestWhatIsStored:
    def test_each_entry_is_stored_with_who_when_and_where(
        self, ada: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        recorded = record(ENTRY, entry(2, athlete="bo", result="miss", note="Toes in"))

        assert recorded.stored_before == 0
        first, second = (Attempt.objects.get(uid=uid) for uid in ("u1", "u2"))
        assert [first, second] == list(recorded.attempts)
        assert (first.athlete, first.skill) == (ada, small_catalogue["LAND-1"])
        assert (first.result, first.coach, first.variant) == ("clean", coach, None)
        assert (second.athlete.code, second.result, second.note) == ("bo", "miss", "Toes in")
        assert second.at == NOW
        assert first.meeting == second.meeting == Meeting.objects.get()

    def test_todays_meeting_is_made_once(self, monday_class: GymClass) -> None:
        for number in (1, 2):
            record(entry(number))

        meeting = Meeting.objects.get()
        assert (meeting.gym_class, meeting.day) == (monday_class, makers.TODAY)
        assert meeting.attempts.count() == 2

    def test_a_meeting_that_is_there_is_used(self, monday_class: GymClass, bo: Athlete) -> None:
        meeting = makers.make_meeting(monday_class, away=[bo])

        (attempt,) = record(ENTRY).attempts
        assert attempt.meeting == meeting

    def test_the_day_is_the_one_at_the_venue(self, settings: Settings) -> None:
        settings.TIME_ZONE = "Pacific/Auckland"
        record(ENTRY)

        assert Meeting.objects.get().day == makers.TODAY + timedelta(days=1)

    def test_a_variant_of_this_weeks_floor_is_kept(self, floor: Setup) -> None:
        (attempt,) = record(replace(ENTRY, variant="jump+0")).attempts

        assert attempt.variant is not None
        assert (attempt.variant.code, attempt.variant.station.setup) == ("jump+0", floor)

    def test_a_coach_may_stand_in_for_another_and_a_lead_too(self, lead: StaffMember) -> None:
        stand_in = makers.make_staff("max")
        assert record(ENTRY, coach=stand_in).attempts[0].coach == stand_in
        assert record(entry(2), coach=lead).attempts[0].coach == lead

    def test_nothing_sent_is_nothing_stored(self) -> None:
        assert record() == Recorded((), 0)
        assert not Meeting.objects.exists()


class TestTheOrderOfTries:
    @pytest.mark.parametrize(
        ("results", "run"), [("miss clean clean", 2), ("clean clean miss", 0), ("clean miss", 0)]
    )
    def test_a_miss_after_the_clean_ones_breaks_their_row(
        self, cy: Athlete, monday_class: GymClass, results: str, run: int
    ) -> None:
        """A gate counts clean tries in a row, so it must not forget which came last."""
        makers.enrol(cy, monday_class)
        record(
            *(
                entry(number, athlete="cy", result=result)
                for number, result in enumerate(results.split())
            )
        )

        known = know_athletes(athletes=[cy], today=makers.TODAY)
        column = known.picture.catalogue.position["LAND-1"]
        assert known.picture.evidence.run[0, column] == run

    def test_the_last_try_is_now_and_the_others_just_before(self) -> None:
        at = [attempt.at for attempt in record(*map(entry, range(2000))).attempts]

        assert at == sorted(set(at))
        assert at[-1] == NOW
        assert at[0] > NOW - timedelta(seconds=3)


class TestSentTwice:
    def test_the_same_entries_are_stored_once(self) -> None:
        entries = [entry(number) for number in range(3)]
        record(*entries[:2])
        again = record(*entries, now=NOW + timedelta(minutes=5))

        assert [attempt.uid for attempt in again.attempts] == ["u2"]
        assert again.stored_before == 2
        assert Attempt.objects.filter(uid__startswith="u").count() == 3
        assert Attempt.objects.get(uid="u1").at == NOW

    @pytest.mark.parametrize(
        "change",
        [
            {"athlete": "bo"},
            {"skill": "HANG-1"},
            {"result": "miss"},
            {"variant": "jump+0"},
            {"note": "Wobbled"},
        ],
    )
    def test_an_id_that_says_something_else_now_is_refused(
        self, floor: Setup, change: dict[str, Any]
    ) -> None:
        record(ENTRY)
        assert problems(entry(2), replace(ENTRY, **change)) == [
            "Entry 2: its id was stored before with other content; correct that entry instead."
        ]

    def test_another_coach_cannot_send_it_again_as_their_own(self, lead: StaffMember) -> None:
        record(ENTRY)
        assert len(problems(ENTRY, coach=lead)) == 1

    def test_it_may_be_sent_again_when_the_floor_and_the_class_have_changed(
        self, floor: Setup, monday_class: GymClass
    ) -> None:
        """The answer to the first sending was lost, and the phone tries again next week."""
        sent = replace(ENTRY, variant="jump+0")
        record(sent)
        monday_class.enrolments.update(until=makers.TODAY)
        next_week = NOW + timedelta(weeks=1)
        makers.make_setup(makers.TODAY + timedelta(weeks=1))

        assert record(sent, now=next_week) == Recorded((), 1)
        assert len(problems(replace(sent, uid="u2"), now=next_week)) == 2

    def test_one_id_twice_in_one_sending_is_refused(self) -> None:
        assert problems(ENTRY, entry(2), ENTRY) == ["Entry 3: its id is used twice in one sending."]

    def test_a_double_tap_is_stored_once(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """The second sending looks before the first has stored, and stores after it."""
        read = use_case.Known.read
        taps = iter(["first"])

        def slow(*args: Any) -> Any:
            known = read(*args)
            if next(taps, None):
                record(ENTRY)
            return known

        monkeypatch.setattr(use_case.Known, "read", slow)
        assert record(ENTRY, entry(2)).stored_before == 1
        assert sorted(Attempt.objects.filter(uid__in=("u1", "u2")).values_list("uid")) == [
            ("u1",),
            ("u2",),
        ]

    def test_what_the_database_keeps_refusing_is_told(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(*args: Any) -> None:
            raise IntegrityError

        monkeypatch.setattr(use_case.Known, "attempt", refuse)
        with pytest.raises(IntegrityError):
            record(ENTRY)
        assert not Meeting.objects.exists()


class TestWhatIsRefused:
    @pytest.mark.parametrize(
        ("change", "said"),
        [
            ({"uid": ""}, "its id must have 1 to 64 characters"),
            ({"uid": "u" * 65}, "its id must have 1 to 64 characters"),
            ({"athlete": "cy"}, "'cy' is not in this class today"),
            ({"athlete": "nobody"}, "'nobody' is not in this class today"),
            ({"skill": "LAND-9"}, "'LAND-9' is not a skill of the catalogue"),
            ({"result": "almost"}, "'almost' is not a result; use miss, assisted or clean"),
            ({"variant": "jump+9"}, "variant 'jump+9' is not on the floor this week"),
            ({"note": "x" * 501}, "the note is longer than 500 characters"),
        ],
    )
    def test_one_bad_entry_stops_all_and_is_named(
        self, cy: Athlete, floor: Setup, change: dict[str, Any], said: str
    ) -> None:
        assert problems(entry(7), replace(ENTRY, **change), entry(8)) == [f"Entry 2: {said}."]

    def test_every_problem_of_every_entry_is_told(self) -> None:
        said = problems(replace(ENTRY, skill="LAND-9", result="almost"), entry(2, athlete="cy"))

        assert [line.partition(":")[0] for line in said] == ["Entry 1", "Entry 1", "Entry 2"]

    def test_an_athlete_of_another_class_is_refused(self, cy: Athlete) -> None:
        makers.make_class("friday", athletes=[cy])
        assert problems(replace(ENTRY, athlete="cy")) == [
            "Entry 1: 'cy' is not in this class today."
        ]

    def test_a_variant_of_last_weeks_floor_is_refused(
        self, floor: Setup, small_catalogue: dict[str, Skill]
    ) -> None:
        old = makers.make_setup(makers.TODAY - timedelta(weeks=1))
        station = makers.make_station(old, "wall", variants=[small_catalogue["LAND-1"]])
        makers.make_loop(old, stations=[station])

        assert len(problems(replace(ENTRY, variant="wall+0"))) == 1

    def test_an_id_and_a_note_may_be_as_long_as_there_is_room(self) -> None:
        longest = Entry("u" * 64, "ada", "LAND-1", "clean", note="x" * 500)
        assert record(longest).attempts[0].note == "x" * 500

    @pytest.mark.parametrize(
        "change", [{"role": "desk"}, {"active": False}, {"role": "lead", "active": False}]
    )
    def test_only_an_active_coach_or_lead_may_record(self, change: dict[str, Any]) -> None:
        member = makers.make_staff(**change)
        assert problems(ENTRY, coach=member) == ["Only a coach or the lead may record checks."]

    def test_too_many_entries_are_refused_before_they_are_looked_at(self) -> None:
        many = [replace(entry(number), athlete="nobody") for number in range(2001)]
        assert problems(*many) == ["2001 entries at once; send at most 2000."]


def test_forty_entries_take_no_more_queries_than_ten(
    floor: Setup, ada: Athlete, bo: Athlete
) -> None:
    def count(numbers: range) -> int:
        entries = [
            entry(n, athlete=("ada", "bo")[n % 2], variant="jump+0" if n % 3 else None)
            for n in numbers
        ]
        with CaptureQueriesContext(connection) as asked:
            record(*entries)
        return len(asked)

    makers.make_meeting(GymClass.objects.get(code="monday"))
    # One of them notes that the standings of these athletes are older than the records now; where
    # rows can be locked, another locks them in order.
    most = 15 + connection.features.has_select_for_update
    assert count(range(10)) == count(range(10, 50)) <= most
