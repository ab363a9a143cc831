"""What a guardian downloads: everything about the child, nothing about anybody else."""

import json
from datetime import timedelta

from progress.models import Athlete, Attempt, Guardian, Hold, SignOff, StaffMember
from progress.usecases.families.erasure_requests import ask_for_erasure
from progress.usecases.families.export_child import KEYS, ChildExport, export_child
from tests import makers
from tests.usecases.families.conftest import NOW


def exported(full: Athlete, parent: Guardian) -> dict[str, list[dict[str, object]]]:
    export = export_child(athlete=full, guardian=parent, today=makers.TODAY)
    return {**export.tables, "attempts": list(export.attempts)}


def test_every_column_of_every_table_is_explained_and_in_order(
    full: Athlete, parent: Guardian
) -> None:
    ask_for_erasure(athlete=full, guardian=parent, now=NOW)
    tables = exported(full, parent)
    assert set(tables) == set(KEYS)
    for name, rows in tables.items():
        assert rows, name
        assert {tuple(row) for row in rows} == {tuple(KEYS[name])}, name


def test_corrected_tries_are_in_it_with_results_in_words(full: Athlete, parent: Guardian) -> None:
    attempts = exported(full, parent)["attempts"]
    assert len(attempts) == Attempt.objects.filter(athlete=full).count() == 18
    [wrong] = [one for one in attempts if not one["counts"]]
    assert wrong["result_in_words"] == "Not yet"
    [correction] = [one for one in attempts if one["corrects"]]
    assert correction["corrects"] == wrong["id"]
    assert correction["counts"]
    moments = [str(one["at"]) for one in attempts]
    assert moments == sorted(moments)
    assert moments[0].endswith("+00:00")


def test_a_summer_moment_is_written_in_the_venues_time(full: Athlete, parent: Guardian) -> None:
    summer = makers.moment(makers.TODAY + timedelta(days=120))
    skill = full.attempts.first().skill
    makers.make_attempt(full, skill, at=summer, uid="summer")
    [one] = [row for row in exported(full, parent)["attempts"] if row["id"] == "summer"]
    assert one["at"] == "2026-06-30T17:30:00+01:00"


def test_nothing_of_other_people_is_in_it(full: Athlete, parent: Guardian) -> None:
    text = json.dumps(exported(full, parent), default=str)
    for word in ("Sam", "sam@example", "Bo", "arm", "Injury", "Watch", "tired", "Ada asked"):
        assert word not in text, word


def test_other_guardians_appear_without_name(full: Athlete, parent: Guardian) -> None:
    tables = exported(full, parent)
    for name, key in (("rights", "who"), ("consents", "by")):
        assert sorted(str(row[key]) for row in tables[name]) == ["another guardian", "you"]


def test_holds_say_when_and_not_why(full: Athlete, parent: Guardian) -> None:
    makers.make_hold(full, kind="wish")
    makers.make_hold(full, kind="other", lifted=makers.TODAY)
    assert Hold.objects.filter(athlete=full).count() == 3
    reasons = [row["reason"] for row in exported(full, parent)["holds"]]
    assert sorted(map(str, reasons)) == [
        "A rest from the course",
        "A rest from the course",
        "Family's or child's wish",
    ]


def test_only_notes_meant_for_the_family_that_stand_are_in_it(
    full: Athlete, parent: Guardian
) -> None:
    assert [row["text"] for row in exported(full, parent)["notes"]] == ["=Well done Ada"]
    full.notes.update(taken_back_at=NOW)
    assert exported(full, parent)["notes"] == []


def test_the_log_is_not_read_before_it_is_asked_for(
    full: Athlete, parent: Guardian, django_assert_num_queries: object
) -> None:
    export: ChildExport = export_child(athlete=full, guardian=parent, today=makers.TODAY)
    with django_assert_num_queries(0):  # type: ignore[operator]
        rows = export.attempts
    with django_assert_num_queries(1):  # type: ignore[operator]
        assert len(list(rows)) == 18


def test_a_decision_says_why_although_and_when_it_was_undone(
    full: Athlete, parent: Guardian, lead: StaffMember
) -> None:
    [stands] = exported(full, parent)["sign_offs"]
    assert (stands["sentence"], stands["although"], stands["undone_at"]) == (
        "Ada is steady.",
        "",
        None,
    )

    SignOff.objects.update(although="Hangs well at home.", undone_at=NOW, undone_by=lead)

    [undone] = exported(full, parent)["sign_offs"]
    assert undone["although"] == "Hangs well at home."
    assert undone["undone_at"] == "2026-03-02T12:30:00+00:00"
