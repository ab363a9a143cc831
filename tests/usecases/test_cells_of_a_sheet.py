"""What a check sheet says of one athlete at one skill, and beside the athlete's name."""

from datetime import datetime, timedelta

import pytest
from pytest_django import Settings

from progress.models import Athlete, GymClass, Note, Setup, SheetSkill, Skill, StaffMember
from progress.usecases.open_sheet import LastTry, SheetCell, SheetRow, open_sheet
from tests import makers

pytestmark = pytest.mark.django_db

DAY, HOUR, MINUTE = timedelta(days=1), timedelta(hours=1), timedelta(minutes=1)
NOON = makers.moment(hour=12)


@pytest.fixture(autouse=True)
def whole_sheet(
    monday_class: GymClass, cy: Athlete, floor: Setup, small_catalogue: dict[str, Skill]
) -> None:
    """Ada, Bo and Cy in the Monday class, with every skill on the sheet."""
    makers.enrol(cy, monday_class)
    meeting = makers.make_meeting(monday_class)
    for skill in small_catalogue.values():
        SheetSkill.objects.create(meeting=meeting, skill=skill, shown=True)


def row(athlete: Athlete) -> SheetRow:
    sheet = open_sheet(gym_class=GymClass.objects.get(code="monday"), today=makers.TODAY)
    return next(row for row in sheet.rows if row.athlete == athlete)


def cell(athlete: Athlete, skill: str) -> SheetCell:
    return next(cell for cell in row(athlete).cells if cell.skill.code == skill)


class TestTries:
    def test_last_is_the_newest_before_today(
        self, bo: Athlete, small_catalogue: dict[str, Skill], coach: StaffMember
    ) -> None:
        last_week = cell(bo, "HANG-1").last
        assert last_week is not None
        assert (last_week.result, last_week.at.date()) == ("assisted", makers.TODAY - 7 * DAY)
        late = makers.moment(makers.TODAY - DAY, hour=23, minute=59)
        newer = makers.make_attempt(bo, small_catalogue["HANG-1"], "miss", at=late)
        makers.make_attempt(bo, small_catalogue["HANG-1"], at=makers.TODAY)
        makers.make_attempt(bo, small_catalogue["LAND-1"], at=NOON - DAY)
        assert cell(bo, "HANG-1").last == LastTry("miss", newer.at)

    def test_todays_are_in_the_order_they_were_made_and_not_the_last(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        midnight = makers.moment(hour=0, minute=0)
        for at, result in ((NOON, "clean"), (midnight, "miss"), (NOON - MINUTE, "assisted")):
            makers.make_attempt(cy, small_catalogue["LAND-1"], result, at=at)

        found = cell(cy, "LAND-1")
        assert [attempt.result for attempt in found.tries] == ["miss", "assisted", "clean"]
        assert found.last is None
        assert cell(cy, "HANG-1").tries == ()

    def test_those_of_tomorrow_and_of_another_child_are_not_among_them(
        self, cy: Athlete, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(cy, small_catalogue["LAND-1"], at=NOON + DAY)
        makers.make_attempt(ada, small_catalogue["LAND-1"], at=NOON)
        assert cell(cy, "LAND-1").tries == ()
        assert len(cell(ada, "LAND-1").tries) == 1

    def test_what_was_put_right_is_shown_and_what_was_taken_back_is_not(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        first, second, old = (
            makers.make_attempt(cy, small_catalogue["LAND-1"], at=at)
            for at in (NOON, NOON + MINUTE, NOON - 7 * DAY)
        )
        right = makers.make_correction(first, "miss")
        for taken_back in (second, old):
            makers.make_correction(taken_back)

        found = cell(cy, "LAND-1")
        assert (found.tries, found.last) == ((right,), None)

    def test_the_day_begins_at_the_venues_midnight(
        self, cy: Athlete, small_catalogue: dict[str, Skill], settings: Settings
    ) -> None:
        settings.TIME_ZONE = "Pacific/Auckland"
        before = makers.make_attempt(cy, small_catalogue["LAND-1"], at=NOON - DAY - 2 * HOUR)
        after = makers.make_attempt(cy, small_catalogue["LAND-1"], at=NOON - DAY)
        found = cell(cy, "LAND-1")
        assert (found.last, found.tries) == (LastTry("clean", before.at), (after,))

    def test_a_try_more_than_a_year_ago_is_not_brought_up(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(cy, small_catalogue["LAND-1"], at=NOON - 400 * DAY)
        assert cell(cy, "LAND-1").last is None


class TestWhatIsNotForThisChildYet:
    def test_missing_names_the_needs_that_are_not_held(self, ada: Athlete, cy: Athlete) -> None:
        both = ("Hang for ten seconds", "Land still on two feet")
        assert cell(cy, "HANG-2").missing == both
        assert cell(cy, "HANG-1").missing == ()
        assert cell(ada, "HANG-2").missing == ()
        assert cell(ada, "HANG-3").missing == ("Travel hand to hand",)

    def test_a_gate_is_not_held_until_it_is_secure(
        self, ada: Athlete, bo: Athlete, cy: Athlete
    ) -> None:
        """Bo lands cleanly, but for one coach alone; an ordinary skill is no gate."""
        assert [cell(child, "LAND-1").gate_not_held for child in (ada, bo, cy)] == [
            False,
            True,
            True,
        ]
        assert not cell(cy, "HANG-1").gate_not_held


class TestHolds:
    def held_back(self, athlete: Athlete) -> set[str]:
        return {cell.skill.code for cell in row(athlete).cells if cell.held_back}

    def test_a_full_hold_holds_back_everything(self, cy: Athlete, bo: Athlete) -> None:
        hold = makers.make_hold(cy)
        assert self.held_back(cy) == {"LAND-1", "LAND-2", "HANG-1", "HANG-2", "HANG-3"}
        assert row(cy).holds == (hold,)
        assert self.held_back(bo) == set()
        assert {(c.check, c.variant and c.variant.variant) for c in row(cy).cells} == {(None, None)}

    def test_a_ladder_hold_holds_back_its_ladder(self, cy: Athlete) -> None:
        makers.make_hold(cy, ladders=[makers.make_ladder("landing")])
        assert self.held_back(cy) == {"LAND-1", "LAND-2"}
        assert cell(cy, "LAND-1").check is None
        assert cell(cy, "HANG-1").check is not None

    def test_a_ladder_hold_beside_a_full_one_lets_nothing_through(self, cy: Athlete) -> None:
        makers.make_hold(cy)
        makers.make_hold(cy, ladders=[makers.make_ladder("landing")])
        assert len(self.held_back(cy)) == 5
        assert len(row(cy).holds) == 2

    def test_one_that_was_lifted_or_starts_tomorrow_holds_nothing_back(self, cy: Athlete) -> None:
        makers.make_hold(cy, starts=makers.TODAY - 9 * DAY, lifted=makers.TODAY)
        makers.make_hold(cy, starts=makers.TODAY + DAY)
        assert (self.held_back(cy), row(cy).holds) == (set(), ())


class TestTheVariant:
    def test_is_the_one_the_floor_sends_this_child_to(self, ada: Athlete, cy: Athlete) -> None:
        found = {
            code: variant.variant if (variant := cell(ada, code).variant) else None
            for code in ("LAND-1", "HANG-1", "HANG-2", "HANG-3")
        }
        assert found == {"LAND-1": "jump+0", "HANG-1": None, "HANG-2": "bars+1", "HANG-3": None}
        variant = cell(cy, "HANG-1").variant
        assert variant is not None
        assert (variant.athlete, variant.variant) == ("cy", "bars-1")
        assert variant.why


class TestNotes:
    def write(self, athlete: Athlete, text: str, at: datetime, **values: datetime) -> Note:
        return Note.objects.create(athlete=athlete, text=text, written_at=at, **values)

    def test_those_of_the_last_sixty_days_that_stand_newest_first(
        self, cy: Athlete, ada: Athlete
    ) -> None:
        self.write(cy, "older", NOON - 59 * DAY)
        self.write(cy, "newer", NOON)
        self.write(cy, "long ago", NOON - 60 * DAY)
        self.write(cy, "struck out", NOON, taken_back_at=NOON)
        self.write(ada, "on Ada", NOON)

        assert [note.text for note in row(cy).notes] == ["newer", "older"]
        assert [note.text for note in row(ada).notes] == ["on Ada"]
