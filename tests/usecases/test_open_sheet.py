"""The check sheet of a class: which skills are on it, who is on it, and that looking is free."""

from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import (
    Athlete,
    Attempt,
    GymClass,
    Note,
    RegisterEntry,
    Setup,
    SheetSkill,
    Skill,
    StaffMember,
)
from progress.usecases.choose_sheet_skill import choose_sheet_skill
from progress.usecases.open_sheet import Sheet, open_sheet
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def look(gym_class: GymClass, today: date = makers.TODAY) -> Sheet:
    return open_sheet(gym_class=gym_class, today=today)


def columns(sheet: Sheet) -> list[str]:
    return [column.skill.code for column in sheet.columns]


def added(sheet: Sheet) -> list[str]:
    return [column.skill.code for column in sheet.columns if column.added]


@pytest.fixture
def steps(db: None) -> list[Skill]:
    """Nine skills of tier 1, more than a sheet suggests, each practised on the floor."""
    skills = [makers.make_skill(f"STEP-{n}", ladder="stepping") for n in range(1, 10)]
    setup = makers.make_setup()
    stations = [makers.make_station(setup, variants=[skill]) for skill in skills]
    makers.make_loop(setup, stations=stations)
    return skills


@pytest.fixture
def stepping(steps: list[Skill]) -> GymClass:
    """A class of two whom nobody has checked yet."""
    return makers.make_class("stepping", athletes=[makers.make_athlete() for _ in range(2)])


class TestTheSkillsSuggested:
    def test_what_the_engine_asks_for_comes_first_and_says_for_how_many(
        self, monday_class: GymClass, cy: Athlete, floor: Setup
    ) -> None:
        """Bo and Cy are open at both skills of the tier; Ada is past them and travels."""
        makers.enrol(cy, monday_class)
        sheet = look(monday_class)

        assert [(column.skill.code, column.asked_for, column.why) for column in sheet.columns] == [
            ("LAND-1", 2, ("worth checking for 2 tonight", "on the floor for 2")),
            ("HANG-1", 2, ("worth checking for 2 tonight", "on the floor for 2")),
            ("HANG-2", 0, ("on the floor for 1",)),
        ]
        assert added(sheet) == []

    def test_every_check_of_the_engine_has_its_column(
        self, monday_class: GymClass, cy: Athlete, floor: Setup
    ) -> None:
        makers.enrol(cy, monday_class)
        sheet = look(monday_class)

        checks = [cell for row in sheet.rows for cell in row.cells if cell.check]
        assert len(checks) == sum(column.asked_for for column in sheet.columns) == 4
        assert {(c.skill.code, c.check.skill) for c in checks if c.check} == {
            ("LAND-1", "LAND-1"),
            ("HANG-1", "HANG-1"),
        }

    def test_without_a_floor_there_is_still_what_to_check(self, monday_class: GymClass) -> None:
        sheet = look(monday_class)
        assert columns(sheet) == ["LAND-1", "HANG-1"]
        assert {column.why for column in sheet.columns} == {("worth checking for 1 tonight",)}

    def test_at_most_six_are_suggested_and_the_rest_can_be_added(self, stepping: GymClass) -> None:
        sheet = look(stepping)

        asked = [column.asked_for for column in sheet.columns]
        assert len(columns(sheet)) == 6
        assert asked == sorted(asked, reverse=True)
        assert asked[0] > 0 == asked[-1]
        others = [skill.code for skill in sheet.others]
        assert sorted(columns(sheet) + others) == [f"STEP-{n}" for n in range(1, 10)]
        assert others == sorted(others)

    def test_what_the_floor_practises_takes_no_place_from_what_is_asked_for(
        self, stepping: GymClass
    ) -> None:
        """A gate of which nothing stands on the floor, which practises nine other skills."""
        makers.make_skill("GATE", ladder="stepping", gate=True)
        sheet = look(stepping)
        assert len(sheet.columns) == 6
        assert ("GATE", ("worth checking for 2 tonight",)) in [
            (column.skill.code, column.why) for column in sheet.columns
        ]

    def test_of_equals_the_catalogue_decides_and_the_order_is_the_same_every_time(
        self, stepping: GymClass
    ) -> None:
        sheet = look(stepping)
        for asked in {column.asked_for for column in sheet.columns}:
            codes = [c.skill.code for c in sheet.columns if c.asked_for == asked]
            assert codes == sorted(codes)
        assert columns(look(stepping)) == columns(sheet)

    def test_a_class_that_nobody_is_in_has_an_empty_sheet(self, floor: Setup) -> None:
        sheet = look(makers.make_class())
        assert (sheet.columns, sheet.rows) == ((), ())
        assert len(sheet.others) == 5


class TestTheSkillsACoachChooses:
    def choose(self, gym_class: GymClass, skill: Skill, *, shown: bool) -> None:
        choose_sheet_skill(
            gym_class=gym_class,
            today=makers.TODAY,
            skill=skill,
            shown=shown,
            coach=makers.make_staff(),
        )

    def test_one_added_is_a_seventh_and_moves_no_other(
        self, stepping: GymClass, steps: list[Skill]
    ) -> None:
        before = look(stepping)
        extra = before.others[-1]
        self.choose(stepping, extra, shown=True)

        sheet = look(stepping)
        assert added(sheet) == [extra.code]
        assert [code for code in columns(sheet) if code != extra.code] == columns(before)
        assert extra not in sheet.others

    def test_one_nobody_asks_for_can_be_added_and_gives_no_reason(
        self, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        self.choose(monday_class, small_catalogue["HANG-3"], shown=True)
        column = look(monday_class).columns[-1]
        assert (column.skill.code, column.why, column.asked_for, column.added) == (
            "HANG-3",
            (),
            0,
            True,
        )

    def test_adding_what_is_suggested_anyway_changes_nothing(self, stepping: GymClass) -> None:
        before = look(stepping)
        self.choose(stepping, before.columns[0].skill, shown=True)
        assert look(stepping).columns == before.columns

    def test_one_taken_off_makes_room_for_the_next(self, stepping: GymClass) -> None:
        before = look(stepping)
        dropped = before.columns[0].skill
        self.choose(stepping, dropped, shown=False)

        sheet = look(stepping)
        assert len(sheet.columns) == 6
        assert dropped.code not in columns(sheet)
        assert dropped in sheet.others
        assert set(columns(before)) - set(columns(sheet)) == {dropped.code}

    def test_it_can_be_put_back(self, stepping: GymClass) -> None:
        before = look(stepping)
        for shown in (False, True):
            self.choose(stepping, before.columns[0].skill, shown=shown)
        assert columns(look(stepping)) == columns(before)

    def test_next_week_starts_afresh(self, stepping: GymClass) -> None:
        before = look(stepping)
        self.choose(stepping, before.columns[0].skill, shown=False)
        self.choose(stepping, before.others[0], shown=True)
        makers.make_meeting(stepping, makers.TODAY + 7 * DAY)
        next_week = look(stepping, makers.TODAY + 7 * DAY)
        assert before.columns[0].skill.code in columns(next_week)
        assert added(next_week) == []


class TestASkillThatWasTried:
    def test_stays_whatever_is_asked_for_or_chosen(
        self, stepping: GymClass, steps: list[Skill]
    ) -> None:
        child = stepping.athletes.all()[0]
        tried = look(stepping).others[-1]
        makers.make_attempt(child, tried)
        SheetSkill.objects.create(meeting=makers.make_meeting(stepping), skill=tried, shown=False)
        assert tried.code in columns(look(stepping))

    def test_leaves_when_the_try_is_taken_back_and_is_for_its_day_alone(
        self, stepping: GymClass
    ) -> None:
        child = stepping.athletes.all()[0]
        tried = look(stepping).others[-1]
        attempt = makers.make_attempt(child, tried)
        assert added(look(stepping)) == [tried.code]
        assert tried.code not in added(look(stepping, makers.TODAY + DAY))
        makers.make_correction(attempt)
        assert tried.code not in columns(look(stepping))

    def test_does_not_come_on_for_a_try_by_a_child_of_another_class(
        self, stepping: GymClass
    ) -> None:
        tried = look(stepping).others[-1]
        makers.make_attempt(makers.make_athlete(), tried)
        assert tried.code not in columns(look(stepping))


class TestWhoIsOnIt:
    def test_everybody_enrolled_by_name_each_with_every_column(
        self, monday_class: GymClass, cy: Athlete, floor: Setup
    ) -> None:
        makers.enrol(cy, monday_class, until=makers.TODAY)
        makers.enrol(makers.make_athlete(), monday_class, since=makers.TODAY + DAY)
        sheet = look(monday_class)

        assert (sheet.gym_class, sheet.day) == (monday_class, makers.TODAY)
        assert [row.athlete.code for row in sheet.rows] == ["ada", "bo", "cy"]
        for row in sheet.rows:
            assert [cell.skill.code for cell in row.cells] == columns(sheet)
            assert {cell.estimate.athlete for cell in row.cells} == {row.athlete.code}
            assert [cell.estimate.skill for cell in row.cells] == columns(sheet)

    def test_away_is_for_one_class_and_one_day(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete
    ) -> None:
        makers.make_meeting(monday_class, makers.TODAY - 7 * DAY, away=[ada])
        makers.make_meeting(makers.make_class(athletes=[ada]), away=[ada])
        makers.make_meeting(monday_class, away=[bo])
        assert [row.present for row in look(monday_class).rows] == [True, False]


class TestLooking:
    def test_stores_nothing(self, monday_class: GymClass, floor: Setup) -> None:
        """What was learnt from the log may be kept for the next page; nothing else is."""
        ours = list(apps.get_app_config("progress").get_models())

        def rows() -> dict[str, int]:
            return {
                model.__name__: model.objects.count()  # type: ignore[attr-defined]
                for model in ours
                if model.__name__ != "Calibration"
            }

        before = rows()
        look(monday_class)
        assert rows() == before
        assert before["Meeting"] == before["RegisterEntry"] == 0 < before["Attempt"]
        with CaptureQueriesContext(connection) as asked:
            look(monday_class)
        words = {query["sql"].split()[0] for query in asked.captured_queries}
        assert words <= {"SELECT", "DECLARE"}  # PostgreSQL declares a cursor to read with

    def test_asks_the_same_eighteen_questions_for_five_children_and_for_thirty(
        self, floor: Setup, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        def count(size: int) -> int:
            gym_class = class_of(size, list(small_catalogue.values()), coach)
            look(gym_class)
            with CaptureQueriesContext(connection) as asked:
                rows = look(gym_class).rows
                authors = [str(note.written_by) for row in rows for note in row.notes]
                coaches = [str(t.coach) for row in rows for cell in row.cells for t in cell.tries]
            assert authors == coaches == ["Kim"] * size
            return len(asked)

        assert (count(5), count(30)) == (18, 18)


def class_of(size: int, skills: list[Skill], coach: StaffMember) -> GymClass:
    """A class in which everybody has a register, tries of today and before, a hold and a note."""
    athletes = [makers.make_athlete() for _ in range(size)]
    gym_class = makers.make_class(athletes=athletes)
    meeting = makers.make_meeting(gym_class, away=athletes[:2])
    SheetSkill.objects.create(meeting=meeting, skill=skills[-1], shown=True)
    for athlete in athletes:
        makers.make_hold(athlete, ladders=[skills[0].ladder])
        Note.objects.create(
            athlete=athlete, text="Goes first", written_by=coach, written_at=makers.moment()
        )
        for day in (makers.TODAY - 7 * DAY, makers.TODAY):
            makers.make_attempt(athlete, skills[0], at=day, coach=coach, meeting=meeting)
    assert Attempt.objects.filter(meeting=meeting).count() == 2 * size
    assert RegisterEntry.objects.filter(meeting__gym_class=gym_class).count() == 2
    return gym_class
