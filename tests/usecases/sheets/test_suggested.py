"""What a sheet suggests: its columns hold still through a class, and say which heights to mind."""

from datetime import date, timedelta

import pytest

from progress.models import GymClass, Meeting, Setup, SheetSkill, Skill
from progress.usecases.open_sheet import HeightLimit, Sheet, open_sheet
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def look(gym_class: GymClass, today: date = makers.TODAY) -> Sheet:
    return open_sheet(gym_class=gym_class, today=today)


def columns(sheet: Sheet) -> list[str]:
    return [column.skill.code for column in sheet.columns]


@pytest.fixture
def steps(db: None) -> list[Skill]:
    """Nine skills, more than a sheet suggests, each practised on the floor."""
    skills = [makers.make_skill(f"STEP-{n}", ladder="stepping") for n in range(1, 10)]
    setup = makers.make_setup()
    stations = [makers.make_station(setup, variants=[skill]) for skill in skills]
    makers.make_loop(setup, stations=stations)
    return skills


class TestTheColumnsHoldStill:
    """Whatever happens in class, a reload shows the same columns in the same order."""

    @pytest.fixture
    def busy(self, steps: list[Skill]) -> GymClass:
        """A class with a history: the first two steps known, the third half known."""
        days = [makers.TODAY - weeks * 7 * DAY for weeks in (4, 3, 2, 1)]
        coaches = [makers.make_staff(), makers.make_staff()]
        athletes = [makers.make_athlete() for _ in range(4)]
        for place, athlete in enumerate(athletes):
            for skill in steps[: 2 + place % 2]:
                makers.make_attempts(
                    athlete, skill, ["clean", "miss", "clean", "clean"], days=days, coaches=coaches
                )
        return makers.make_class("busy", athletes=athletes)

    def described(self, gym_class: GymClass) -> list[tuple[str, tuple[str, ...], int, bool]]:
        return [(c.skill.code, c.why, c.asked_for, c.added) for c in look(gym_class).columns]

    @pytest.mark.parametrize("result", ["clean", "miss"])
    def test_after_tries_for_everybody(self, busy: GymClass, result: str) -> None:
        before = look(busy)
        expected = self.described(busy)
        for row in before.rows:
            for column in before.columns:
                for minute in range(5):
                    at = makers.moment(hour=17, minute=minute)
                    makers.make_attempt(row.athlete, column.skill, result, at=at)

        after = look(busy)
        assert self.described(busy) == expected
        assert [[cell.check for cell in row.cells] for row in after.rows] == [
            [cell.check for cell in row.cells] for row in before.rows
        ]
        assert after.rows[0].cells[0].estimate != before.rows[0].cells[0].estimate
        tomorrow = look(busy, makers.TODAY + DAY)
        assert columns(tomorrow) != columns(before)

    def test_after_a_register_and_a_hold_of_today(self, busy: GymClass) -> None:
        expected = self.described(busy)
        first, second, *others = busy.athletes.all()
        makers.make_meeting(busy, present=others, away=[first, second])
        makers.make_hold(second, starts=makers.TODAY)
        assert self.described(busy) == expected
        assert all(cell.held_back and not cell.check for cell in look(busy).rows[1].cells)

    def test_a_hold_of_yesterday_counts(self, busy: GymClass) -> None:
        expected = look(busy)
        for athlete in busy.athletes.all():
            makers.make_hold(athlete, starts=makers.TODAY - DAY)
        assert sum(column.asked_for for column in expected.columns) > 0
        assert sum(column.asked_for for column in look(busy).columns) == 0

    def test_a_sheet_of_paper_typed_in_later_has_the_columns_it_was_printed_with(
        self, busy: GymClass
    ) -> None:
        printed = columns(look(busy))
        child = busy.athletes.all()[0]
        makers.make_attempt(child, look(busy).columns[0].skill, at=makers.TODAY + DAY)
        assert columns(look(busy)) == printed


class TestTheHeightsOfAColumn:
    def test_a_variant_above_a_rule_names_the_skills_to_be_held(
        self, monday_class: GymClass, floor: Setup, small_catalogue: dict[str, Skill]
    ) -> None:
        """LAND-2 is practised with feet at 0.7 m; the catalogue has no DOWN-1."""
        for code in ("LAND-1", "LAND-2"):
            SheetSkill.objects.create(
                meeting=Meeting.objects.get_or_create(gym_class=monday_class, day=makers.TODAY)[0],
                skill=small_catalogue[code],
                shown=True,
            )
        found = {column.skill.code: column.heights for column in look(monday_class).columns}
        assert found["LAND-1"] == ()
        assert found["LAND-2"] == (HeightLimit(0.6, ("Land from knee height",), more=True),)

    def test_feet_exactly_at_a_rule_are_not_above_it(
        self, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_skill("DOWN-1", ladder="down", name="Climb down")
        setup = makers.make_setup()
        at, above = (makers.make_station(setup) for _ in range(2))
        makers.make_variant(at, small_catalogue["LAND-1"], height_m=0.6)
        makers.make_variant(above, small_catalogue["HANG-1"], height_m=0.61)
        makers.make_loop(setup, stations=[at, above])
        found = {column.skill.code: column.heights for column in look(monday_class).columns}
        assert found["LAND-1"] == ()
        assert found["HANG-1"] == (
            HeightLimit(0.6, ("Land from knee height", "Climb down"), more=False),
        )
