"""Publishing, taking back, and changing what was used: records keep pointing where they did."""

from datetime import date, datetime, timedelta

import pytest

from progress.models import Attempt, Setup, Skill, StaffMember
from progress.usecases.floors.change_stops import take_out
from progress.usecases.floors.changes import FloorRefused
from progress.usecases.floors.publish_setup import (
    NotReadyToPublish,
    change_from_today,
    publish_setup,
    take_back_setup,
)
from tests import makers
from tests.usecases.floors.floors import Hall, make_hall, order_of

WEEK = timedelta(weeks=1)


@pytest.fixture
def now(today: date) -> datetime:
    return makers.moment(today)


@pytest.fixture
def stands(small_catalogue: dict[str, Skill], today: date) -> Hall:
    """This week's setup, published."""
    return make_hall(small_catalogue["LAND-1"], published=True, week=today, name="This week")


def used(hall: Hall, coach: StaffMember) -> Attempt:
    """Let an attempt point at the hall's beam."""
    variant = hall.beam.variants.get()
    return makers.make_attempt(
        makers.make_athlete(), variant.skill, "clean", variant=variant, coach=coach
    )


def plan(hall: Hall, week: date | None) -> Setup:
    """The hall's draft, meant for this week."""
    Setup.objects.filter(pk=hall.setup.pk).update(planned_for=week)
    hall.setup.refresh_from_db()
    return hall.setup


class TestPublishing:
    def test_a_draft_takes_its_week_and_says_who_and_when(
        self, hall: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        plan(hall, today)

        done = publish_setup(setup=hall.setup, today=today, now=now, by=coach)

        setup = Setup.objects.get(pk=hall.setup.pk)
        assert (setup.published, setup.week, setup.planned_for) == (True, today, None)
        assert (setup.published_at, setup.published_by) == (now, coach)
        assert Setup.objects.on_floor(today) == setup
        assert "for the week of 2 March" in done.says

    def test_a_past_week_is_refused(
        self, hall: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        plan(hall, today - WEEK)

        with pytest.raises(FloorRefused, match="The week of 23 February is past"):
            publish_setup(setup=hall.setup, today=today, now=now, by=coach)

    def test_without_a_week_it_stands_until_another_is_set(
        self, hall: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        publish_setup(setup=hall.setup, today=today, now=now, by=coach)

        assert Setup.objects.on_floor(today + 5 * WEEK) == hall.setup

    def test_only_one_stands_without_a_week(
        self, hall: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        makers.make_setup()

        with pytest.raises(FloorRefused, match="A setup without a week stands already"):
            publish_setup(setup=hall.setup, today=today, now=now, by=coach)

    def test_twice_is_refused(
        self, stands: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        with pytest.raises(FloorRefused, match="is no draft"):
            publish_setup(setup=stands.setup, today=today, now=now, by=coach)

    def test_the_desk_publishes_nothing(
        self, hall: Hall, today: date, now: datetime, desk: StaffMember
    ) -> None:
        with pytest.raises(FloorRefused, match="Only a coach or the lead"):
            publish_setup(setup=hall.setup, today=today, now=now, by=desk)


class TestWhatMustBeMendedFirst:
    def problems(self, hall: Hall, today: date, coach: StaffMember) -> list[str]:
        with pytest.raises(NotReadyToPublish) as refused:
            publish_setup(setup=hall.setup, today=today, now=makers.moment(today), by=coach)
        assert not Setup.objects.get(pk=hall.setup.pk).published
        return [str(problem) for problem in refused.value.problems]

    def test_a_loop_without_stations(self, hall: Hall, today: date, coach: StaffMember) -> None:
        hall.little.stops.all().delete()

        assert self.problems(hall, today, coach) == [
            "Little: It has no station. Add one from the library, or remove it."
        ]

    def test_a_station_without_variants(self, hall: Hall, today: date, coach: StaffMember) -> None:
        hall.start.variants.all().delete()

        assert self.problems(hall, today, coach) == [
            "Start on Left: It has no variant. Add at least one, with the skill it practises."
        ]

    def test_a_station_shared_across_areas(
        self, hall: Hall, today: date, coach: StaffMember
    ) -> None:
        """As the admin could make it."""
        hall.right.area = hall.little.area
        hall.right.save()

        assert self.problems(hall, today, coach) == [
            "Start: Left stops here in Main, and Right in Small. Loops share a station in one area"
            " only: take it out of one of them."
        ]

    def test_a_setup_without_loops(self, hall: Hall, today: date, coach: StaffMember) -> None:
        hall.setup.loops.all().delete()

        assert self.problems(hall, today, coach) == [
            "The setup: It has no loop. Add a loop and put stations on it."
        ]

    def test_a_station_put_aside_is_no_hindrance(
        self, hall: Hall, today: date, coach: StaffMember
    ) -> None:
        makers.make_station(hall.setup, "bare")

        publish_setup(setup=hall.setup, today=today, now=makers.moment(today), by=coach)

        assert Setup.objects.get(pk=hall.setup.pk).published


class TestTakingBack:
    def test_what_nobody_used_is_a_draft_again(
        self, stands: Hall, today: date, coach: StaffMember
    ) -> None:
        take_back_setup(setup=stands.setup, today=today, by=coach)

        setup = Setup.objects.get(pk=stands.setup.pk)
        assert setup.is_draft
        assert (setup.week, setup.planned_for) == (None, today)
        assert (setup.published_at, setup.published_by) == (None, None)

    def test_what_was_used_stays(self, stands: Hall, today: date, coach: StaffMember) -> None:
        used(stands, coach)

        with pytest.raises(FloorRefused, match="Attempts were recorded"):
            take_back_setup(setup=stands.setup, today=today, by=coach)
        assert Setup.objects.get(pk=stands.setup.pk).published

    def test_a_past_week_stays(self, stands: Hall, today: date, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="is past"):
            take_back_setup(setup=stands.setup, today=today + WEEK, by=coach)

    def test_not_beside_another_draft_of_the_week(
        self, stands: Hall, hall: Hall, today: date, coach: StaffMember
    ) -> None:
        plan(hall, today)

        with pytest.raises(FloorRefused, match="has a draft already"):
            take_back_setup(setup=stands.setup, today=today, by=coach)


class TestChangingFromToday:
    def test_the_change_takes_the_week_once_it_is_published(
        self, stands: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        attempt = used(stands, coach)
        wednesday = today + timedelta(days=2)

        draft = change_from_today(setup=stands.setup, today=wednesday, by=coach)
        left = draft.loops.get(code="left")
        beam = draft.stations.get(code="beam")
        take_out(setup=draft, loop=left.pk, station=beam.pk, by=coach)

        assert (draft.week, draft.planned_for) == (None, today)
        assert Setup.objects.on_floor(wednesday) == stands.setup

        publish_setup(setup=draft, today=wednesday, now=now, by=coach)

        old, new = Setup.objects.get(pk=stands.setup.pk), Setup.objects.get(pk=draft.pk)
        assert (old.week, old.published, old.stood_in) == (None, False, today)
        assert (new.week, new.published, new.stood_in) == (today, True, None)
        assert Setup.objects.on_floor(wednesday) == new
        attempt.refresh_from_db()
        assert attempt.variant is not None
        assert attempt.variant.station.setup == old
        assert order_of(stands.left) == ["start", "beam", "drop"]
        assert not old.is_draft

    def test_a_variant_keeps_its_code_so_what_was_learnt_carries_over(
        self, stands: Hall, today: date, coach: StaffMember
    ) -> None:
        draft = change_from_today(setup=stands.setup, today=today, by=coach)

        twin = draft.stations.get(code="beam").variants.get()
        assert twin.code == stands.beam.variants.get().code
        assert twin.pk != stands.beam.variants.get().pk

    def test_a_setup_without_a_week_is_changed_for_this_week_alone(
        self, hall: Hall, today: date, now: datetime, coach: StaffMember
    ) -> None:
        Setup.objects.filter(pk=hall.setup.pk).update(published=True)

        draft = change_from_today(setup=hall.setup, today=today, by=coach)
        publish_setup(setup=draft, today=today, now=now, by=coach)

        assert Setup.objects.on_floor(today) == draft
        assert Setup.objects.on_floor(today + WEEK) == hall.setup

    def test_a_week_has_one_change_at_a_time(
        self, stands: Hall, today: date, coach: StaffMember
    ) -> None:
        change_from_today(setup=stands.setup, today=today, by=coach)

        with pytest.raises(FloorRefused, match="has a draft already"):
            change_from_today(setup=stands.setup, today=today, by=coach)

    def test_a_past_week_is_copied_and_not_changed(
        self, stands: Hall, today: date, coach: StaffMember
    ) -> None:
        with pytest.raises(FloorRefused, match="Copy it to a week to come"):
            change_from_today(setup=stands.setup, today=today + WEEK, by=coach)
