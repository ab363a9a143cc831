"""Within a day a decision is taken back; later there is a new one, back to an earlier tier."""

from datetime import timedelta

import pytest

from progress.models import Athlete, Enrolment, GymClass, SignOff, StaffMember, Tier
from progress.usecases.sign_offs.give_place import give_place
from progress.usecases.sign_offs.move_back import move_back, tiers_below
from progress.usecases.sign_offs.refused import MovedMeanwhile, SignOffRefused
from progress.usecases.sign_offs.undo import Undone, undo, undo_until
from progress.usecases.tiers_then import tiers_then
from tests import makers
from tests.usecases.sign_offs.conftest import NOW, Moving

pytestmark = pytest.mark.django_db

DAY, MINUTE = timedelta(days=1), timedelta(minutes=1)


def tier_of(athlete: Athlete) -> int:
    return Athlete.objects.get(pk=athlete.pk).tier_id


def take_back(sign_off: SignOff, lead: StaffMember, after: timedelta = MINUTE) -> Undone:
    return undo(sign_off=sign_off, lead=lead, now=NOW + after)


class TestUndo:
    def test_the_tier_is_as_before_and_the_row_says_who_and_when(
        self, ada: Athlete, lead: StaffMember, move: Moving, told: list[set[int]]
    ) -> None:
        [row] = move(ada)

        undone = take_back(row, lead)

        kept = SignOff.objects.get()
        assert tier_of(ada) == 1
        assert (kept.undone_at, kept.undone_by) == (NOW + MINUTE, lead)
        assert kept.sentence == row.sentence
        assert (undone.sign_off.pk, undone.places) == (row.pk, ())
        assert told == [{ada.pk}, {ada.pk}]
        assert tiers_then(athletes=[Athlete.objects.get()], day=makers.TODAY - DAY) == (1,)

    def test_until_a_day_later_to_the_minute_and_not_after(
        self, ada: Athlete, lead: StaffMember, move: Moving
    ) -> None:
        [row] = move(ada)
        assert undo_until(row) == NOW + DAY
        with pytest.raises(SignOffRefused, match="more than a day") as refused:
            take_back(row, lead, DAY + timedelta(seconds=1))
        assert "move back" in str(refused.value)
        assert tier_of(ada) == 2

        take_back(row, lead, DAY)
        assert tier_of(ada) == 1

    def test_a_second_tap_is_told_that_it_is_undone_and_changes_nothing(
        self, ada: Athlete, lead: StaffMember, move: Moving
    ) -> None:
        [row] = move(ada)
        take_back(row, lead)
        with pytest.raises(SignOffRefused, match="undone already, on 2 Mar 2026 at 13:06"):
            take_back(row, lead, 2 * MINUTE)
        assert tier_of(ada) == 1
        assert SignOff.objects.get().undone_at == NOW + MINUTE

    def test_only_the_latest_that_stands(
        self, ada: Athlete, lead: StaffMember, move: Moving
    ) -> None:
        [first] = move(ada)
        second = move_back(
            athlete=ada, from_tier=2, sentence="Too early.", lead=lead, now=NOW + MINUTE
        )
        with pytest.raises(SignOffRefused, match="later decision"):
            take_back(first, lead, 2 * MINUTE)

        take_back(second, lead, 2 * MINUTE)
        assert tier_of(ada) == 2
        take_back(first, lead, 3 * MINUTE)
        assert tier_of(ada) == 1

    def test_of_two_decisions_at_one_moment_the_one_stored_last_is_the_latest(
        self, ada: Athlete, lead: StaffMember, move: Moving
    ) -> None:
        [first] = move(ada)
        move_back(athlete=ada, from_tier=2, sentence="Too early.", lead=lead, now=NOW)
        with pytest.raises(SignOffRefused, match="later decision"):
            take_back(first, lead)

    def test_a_tier_changed_by_hand_is_left_alone(
        self, ada: Athlete, lead: StaffMember, move: Moving, tiers: dict[int, Tier]
    ) -> None:
        makers.make_tier(3)
        [row] = move(ada)
        Athlete.objects.filter(pk=ada.pk).update(tier=3)
        with pytest.raises(SignOffRefused, match="changed by hand"):
            take_back(row, lead)
        assert tier_of(ada) == 3
        assert SignOff.objects.get().undone_at is None

    def test_only_a_lead_in_service_may(
        self, ada: Athlete, coach: StaffMember, lead: StaffMember, move: Moving
    ) -> None:
        [row] = move(ada)
        for person in (coach, makers.make_staff(role="desk")):
            with pytest.raises(SignOffRefused, match="Only the programme lead"):
                take_back(row, person)
        another = makers.make_staff(role="lead")
        assert take_back(row, another).sign_off.undone_by == another

    def test_undone_they_can_be_moved_up_again(
        self, ada: Athlete, lead: StaffMember, move: Moving
    ) -> None:
        [row] = move(ada)
        take_back(row, lead)
        [again] = move(Athlete.objects.get(pk=ada.pk), now=NOW + 2 * MINUTE)
        assert tier_of(ada) == 2
        assert SignOff.objects.standing().get().pk == again.pk


class TestPlacesThatCameWithIt:
    @pytest.fixture
    def tuesday(self, tiers: dict[int, Tier]) -> GymClass:
        gym_class = makers.make_class("tuesday", weekday=1, places=8)
        gym_class.tiers.add(tiers[2])
        return gym_class

    def test_one_that_has_not_begun_is_given_back_and_the_old_one_runs_on_as_before(
        self,
        ada: Athlete,
        monday_class: GymClass,
        tuesday: GymClass,
        lead: StaffMember,
        move: Moving,
    ) -> None:
        old = Enrolment.objects.get(athlete=ada)
        last = makers.TODAY + 90 * DAY
        Enrolment.objects.filter(pk=old.pk).update(until=last)
        [row] = move(ada)
        start = makers.TODAY + DAY
        give_place(athlete=ada, gym_class=tuesday, from_day=start, lead=lead, now=NOW, leave=[old])
        assert Enrolment.objects.get(pk=old.pk).until == makers.TODAY

        [place] = take_back(row, lead).places

        assert place.given_back
        kept = Enrolment.objects.get(athlete=ada)
        assert (kept.pk, kept.until) == (old.pk, last)

    def test_one_that_has_begun_stays_and_is_told(
        self, ada: Athlete, tuesday: GymClass, lead: StaffMember, move: Moving
    ) -> None:
        [row] = move(ada)
        given = give_place(
            athlete=ada, gym_class=tuesday, from_day=makers.TODAY, lead=lead, now=NOW
        )

        [place] = take_back(row, lead).places

        assert (place.given_back, place.enrolment) == (False, given)
        assert Enrolment.objects.get(athlete=ada) == given

    def test_what_somebody_changed_since_is_left_as_it_is(
        self,
        ada: Athlete,
        monday_class: GymClass,
        tuesday: GymClass,
        lead: StaffMember,
        move: Moving,
    ) -> None:
        old = Enrolment.objects.get(athlete=ada)
        [row] = move(ada)
        start = makers.TODAY + 8 * DAY
        give_place(athlete=ada, gym_class=tuesday, from_day=start, lead=lead, now=NOW, leave=[old])
        Enrolment.objects.filter(pk=old.pk).update(until=makers.TODAY + DAY)

        take_back(row, lead)

        assert Enrolment.objects.get(athlete=ada).until == makers.TODAY + DAY

    def test_a_place_removed_by_hand_and_places_from_before_are_no_business_of_it(
        self, ada: Athlete, bo: Athlete, tuesday: GymClass, lead: StaffMember, move: Moving
    ) -> None:
        before = makers.enrol(ada, makers.make_class("later"), since=makers.TODAY + 5 * DAY)
        [row] = move(ada)
        start = makers.TODAY + DAY
        give_place(athlete=ada, gym_class=tuesday, from_day=start, lead=lead, now=NOW).delete()

        assert take_back(row, lead).places == ()
        assert Enrolment.objects.get(athlete=ada) == before


class TestMoveBack:
    def test_it_is_a_decision_of_its_own_with_what_the_engine_says(
        self, ada: Athlete, lead: StaffMember, move: Moving, told: list[set[int]]
    ) -> None:
        move(ada)
        later = NOW + 10 * DAY

        told.clear()
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("progress.usecases.sign_offs.move_back.athletes_changed", note(told))
            row = move_back(
                athlete=ada, from_tier=2, sentence=" Lost  heart. ", lead=lead, now=later
            )

        stored = SignOff.objects.get(pk=row.pk)
        assert tier_of(ada) == 1
        assert (stored.from_tier_id, stored.to_tier_id) == (2, 1)
        assert (stored.sentence, stored.decided_at, stored.undone_at) == (
            "Lost heart.",
            later,
            None,
        )
        assert stored.engine_said["tier"] == 2
        assert stored.engine_said["as_of"] == "2026-03-12"
        assert SignOff.objects.standing().count() == 2
        assert told == [{ada.pk}]

    def test_a_double_tap_goes_back_once(
        self, ada: Athlete, lead: StaffMember, tiers: dict[int, Tier]
    ) -> None:
        makers.make_tier(3)
        Athlete.objects.filter(pk=ada.pk).update(tier=3)
        move_back(athlete=ada, from_tier=3, sentence="Too hard.", lead=lead, now=NOW)
        with pytest.raises(MovedMeanwhile):
            move_back(athlete=ada, from_tier=3, sentence="Too hard.", lead=lead, now=NOW)
        assert tier_of(ada) == 2
        assert SignOff.objects.count() == 1

    def test_any_earlier_tier_may_be_named_and_no_other(
        self, ada: Athlete, lead: StaffMember, tiers: dict[int, Tier]
    ) -> None:
        top = makers.make_tier(3)
        Athlete.objects.filter(pk=ada.pk).update(tier=3)
        assert tiers_below(Athlete.objects.get(pk=ada.pk)) == [tiers[2], tiers[1]]
        with pytest.raises(SignOffRefused) as refused:
            move_back(athlete=ada, from_tier=3, sentence="Why.", lead=lead, now=NOW, to_tier=top)
        assert "to_tier" in refused.value.problems

        move_back(athlete=ada, from_tier=3, sentence="Why.", lead=lead, now=NOW, to_tier=tiers[1])
        assert tier_of(ada) == 1

    def test_from_the_first_tier_without_a_sentence_by_a_coach_or_after_leaving_it_is_refused(
        self, ada: Athlete, lead: StaffMember, coach: StaffMember
    ) -> None:
        with pytest.raises(SignOffRefused, match="earlier tier"):
            move_back(athlete=ada, from_tier=1, sentence="Why.", lead=lead, now=NOW)
        Athlete.objects.filter(pk=ada.pk).update(tier=2)
        with pytest.raises(SignOffRefused, match="in a sentence why"):
            move_back(athlete=ada, from_tier=2, sentence="  ", lead=lead, now=NOW)
        with pytest.raises(SignOffRefused, match="Only the programme lead"):
            move_back(athlete=ada, from_tier=2, sentence="Why.", lead=coach, now=NOW)
        Athlete.objects.filter(pk=ada.pk).update(left=makers.TODAY)
        with pytest.raises(SignOffRefused, match="left the programme"):
            move_back(athlete=ada, from_tier=2, sentence="Why.", lead=lead, now=NOW)
        assert tier_of(ada) == 2


def note(told: list[set[int]]) -> object:
    def changed(*, athletes: list[int], today: object) -> None:
        told.append(set(athletes))

    return changed
