"""The log of attempts: what counts, and that nothing in it is ever changed."""

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.db.models import ProtectedError, QuerySet

from progress.models import Athlete, Attempt, AttemptsAreNeverChanged, Skill, StaffMember
from tests import makers
from tests.models.conftest import Refusal


@pytest.fixture
def attempt(cy: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember) -> Attempt:
    """One stored attempt: Cy, landing, a miss."""
    return makers.make_attempt(cy, small_catalogue["LAND-1"], "miss", coach=coach, note="Toes in")


def unsaved(like: Attempt, **values: object) -> Attempt:
    """A new attempt that differs from ``like`` in ``values``."""
    same = {"athlete": like.athlete, "skill": like.skill, "at": like.at, "result": like.result}
    return Attempt(**{"uid": makers.next_code("attempt"), **same, **values})


class TestWhatTheDatabaseRefuses:
    def test_an_id_from_the_phone_is_stored_once(self, attempt: Attempt, refused: Refusal) -> None:
        with refused(Attempt, "uid"):
            Attempt.objects.bulk_create([unsaved(attempt, uid=attempt.uid)])

    def test_a_result_is_one_of_the_three(self, attempt: Attempt, refused: Refusal) -> None:
        with refused(Attempt, "attempt_result_is_known"):
            Attempt.objects.bulk_create([unsaved(attempt, result="almost")])

    def test_a_correction_says_why(self, attempt: Attempt, refused: Refusal) -> None:
        with refused(Attempt, "correction_says_why"):
            Attempt.objects.bulk_create([unsaved(attempt, supersedes=attempt)])

    def test_only_a_correction_takes_back(self, attempt: Attempt, refused: Refusal) -> None:
        with refused(Attempt, "only_a_correction_takes_back"):
            Attempt.objects.bulk_create([unsaved(attempt, taken_back=True, reason="Why not")])

    def test_an_attempt_is_superseded_once(self, attempt: Attempt, refused: Refusal) -> None:
        makers.make_correction(attempt, "clean")
        with refused(Attempt, "supersedes"):
            Attempt.objects.bulk_create([unsaved(attempt, supersedes=attempt, reason="Again")])

    @pytest.mark.parametrize("of", ["athlete", "skill", "coach", "variant", "meeting"])
    def test_what_an_attempt_names_cannot_be_deleted(self, attempt: Attempt, of: str) -> None:
        station = makers.make_station(makers.make_setup())
        made = makers.make_attempt(
            attempt.athlete,
            attempt.skill,
            coach=attempt.coach,
            variant=makers.make_variant(station, attempt.skill),
            meeting=makers.make_meeting(makers.make_class()),
        )
        with pytest.raises(ProtectedError):
            getattr(made, of).delete()


class TestNothingIsEverChanged:
    def test_not_by_saving_it_again(self, attempt: Attempt) -> None:
        attempt.result = "clean"
        with pytest.raises(AttemptsAreNeverChanged, match="supersedes"):
            attempt.save()
        with pytest.raises(AttemptsAreNeverChanged):
            attempt.save(update_fields=["note"])
        attempt.refresh_from_db()
        assert attempt.result == "miss"

    def test_not_by_updating_a_queryset(self, attempt: Attempt) -> None:
        with pytest.raises(AttemptsAreNeverChanged):
            Attempt.objects.update(result="clean")
        with pytest.raises(AttemptsAreNeverChanged):
            Attempt.objects.filter(pk=attempt.pk).standing().update(note="")

    def test_not_by_update_or_create(self, attempt: Attempt) -> None:
        with pytest.raises(AttemptsAreNeverChanged):
            Attempt.objects.update_or_create(uid=attempt.uid, defaults={"result": "clean"})

    def test_not_by_bulk_update(self, attempt: Attempt) -> None:
        attempt.result = "clean"
        with pytest.raises((AttemptsAreNeverChanged, IntegrityError)), transaction.atomic():
            Attempt.objects.bulk_update([attempt], ["result"])
        attempt.refresh_from_db()
        assert attempt.result == "miss"

    def test_not_by_deleting(self, attempt: Attempt) -> None:
        with pytest.raises(AttemptsAreNeverChanged):
            attempt.delete()
        with pytest.raises(AttemptsAreNeverChanged):
            Attempt.objects.all().delete()
        assert Attempt.objects.get() == attempt

    @pytest.mark.parametrize(
        "fact",
        [
            *("id", "uid", "athlete_id", "skill_id", "variant_id", "at", "result"),
            *("coach_id", "entered_by_id", "supersedes_id", "taken_back"),
        ],
    )
    def test_not_by_sql(self, attempt: Attempt, fact: str) -> None:
        """The trigger is there on the database in use, whatever migrations ran last."""
        with (
            pytest.raises(IntegrityError, match="Attempts are never changed"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(f"UPDATE progress_attempt SET {fact} = {fact}")

    def test_not_by_a_queryset_that_forgets_the_rule(self, attempt: Attempt) -> None:
        with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
            QuerySet(Attempt).filter(pk=attempt.pk).update(result="clean")

    def test_not_by_an_insert_that_overwrites(self, attempt: Attempt) -> None:
        with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
            Attempt.objects.bulk_create(
                [unsaved(attempt, uid=attempt.uid, result="clean")],
                update_conflicts=True,
                update_fields=["result"],
                unique_fields=["uid"],
            )

    def test_sending_one_twice_stores_it_once(self, attempt: Attempt) -> None:
        again = unsaved(attempt, uid=attempt.uid, result="clean")
        Attempt.objects.bulk_create([again], ignore_conflicts=True)
        assert Attempt.objects.get().result == "miss"


@pytest.mark.django_db(transaction=True)
def test_the_trigger_can_be_taken_away_and_made_again() -> None:
    """A later migration that alters the table makes it again, so both ways have to work."""
    first = import_module("progress.migrations.0002_attempts_are_never_changed")
    last = import_module("progress.migrations.0007_families")
    stored = makers.make_attempt(makers.make_athlete(), makers.make_skill(), "miss")
    change = QuerySet(Attempt).filter(pk=stored.pk).update
    try:
        with connection.schema_editor() as editor:
            first.drop(apps, editor)
        assert change(result="clean") == 1
    finally:
        for _ in range(2):  # twice, because one may already be there
            with connection.schema_editor() as editor:
                last.guard_who_entered_it_too(apps, editor)
    with pytest.raises(IntegrityError, match="never changed"):
        change(result="miss")


class TestWhatCounts:
    def test_an_attempt_counts(self, attempt: Attempt) -> None:
        assert list(Attempt.objects.standing()) == [attempt]

    def test_a_correction_counts_in_place_of_the_first(self, attempt: Attempt) -> None:
        correction = makers.make_correction(attempt, "clean")
        assert list(Attempt.objects.standing()) == [correction]

    def test_the_last_of_several_corrections_counts(self, attempt: Attempt) -> None:
        last = makers.make_correction(makers.make_correction(attempt, "clean"), "assisted")
        assert list(Attempt.objects.standing()) == [last]

    def test_nothing_counts_after_a_take_back(self, attempt: Attempt) -> None:
        makers.make_correction(attempt)
        assert list(Attempt.objects.standing()) == []
        assert Attempt.objects.count() == 2

    def test_a_take_back_can_be_taken_back_by_a_correction(self, attempt: Attempt) -> None:
        restored = makers.make_correction(makers.make_correction(attempt), "miss")
        assert list(Attempt.objects.standing()) == [restored]

    def test_a_moment_takes_in_what_happened_at_it(self, attempt: Attempt, today: date) -> None:
        later = makers.make_attempt(attempt.athlete, attempt.skill, at=today + timedelta(days=1))
        assert list(Attempt.objects.up_to(attempt.at)) == [attempt]
        assert list(Attempt.objects.up_to(attempt.at - timedelta(seconds=1))) == []
        assert list(Attempt.objects.up_to(later.at)) == [later, attempt]

    def test_attempts_of_some_athletes(self, attempt: Attempt) -> None:
        other = makers.make_attempt(makers.make_athlete(), attempt.skill)
        assert list(Attempt.objects.of([other.athlete])) == [other]
        assert list(Attempt.objects.of(Athlete.objects.filter(code="cy"))) == [attempt]
        assert list(Attempt.objects.of([])) == []


def test_an_attempt_reads_in_the_words_of_a_coach(attempt: Attempt) -> None:
    assert str(attempt) == "Cy, Land still on two feet: Not yet"
