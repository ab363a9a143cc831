"""The four lists: whom they name, whom they leave out, and that a long answer is kept."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.attention import Attendance, Unchecked, WentBack
from progress.engine.plateaus import LEAST_GAIN, Standstill
from progress.engine.terms import Decision
from progress.models import Athlete, GymClass, Skill, StaffMember
from progress.usecases import see_attention as room
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.compare_attendance import Compared
from progress.usecases.look_over import LookedOver
from progress.usecases.see_attention import Attention, see_attention
from tests import makers

DAY = timedelta(days=1)
BACK = WentBack("ada", 1, Decision.READY, Decision.NEARLY, 0.8, 0.5, (), (), 4, open_only=False)
STILL = Standstill("ada", None, 84, 0.0, 0.2, 0.5, 0.04, 0.8, 30, enough=True, stuck=True)


@pytest.fixture
def made_up(monkeypatch: pytest.MonkeyPatch) -> dict[str, object]:
    """What looking over is made to find; tests change single findings."""
    findings: dict[str, object] = {}

    def found(*, athletes: list[Athlete], until: date) -> LookedOver:
        codes = frozenset(athlete.code for athlete in athletes)
        empty = LookedOver(until, codes, frozenset(), (), frozenset(), (), (), {})
        return replace(empty, **findings)  # type: ignore[arg-type]

    monkeypatch.setattr(room, "look_over", found)
    return findings


def seen(today: date, **asked: object) -> Attention:
    return see_attention(today=today, **asked)  # type: ignore[arg-type]


@pytest.mark.usefixtures("monday_class", "cy")
class TestLists:
    def test_it_is_as_of_the_end_of_yesterday_and_against_four_weeks_before(
        self, today: date
    ) -> None:
        found = seen(today)
        assert found.until == today - DAY
        assert found.since == today - 29 * DAY
        assert found.athletes == 3

    def test_standing_still_is_told_over_all_and_by_the_ladders_name(
        self, made_up: dict[str, object], today: date
    ) -> None:
        made_up["stuck"] = (STILL, replace(STILL, ladder="hanging", attempts=9))
        made_up["can_tell"] = frozenset({"ada"})
        found = seen(today)
        (one,) = found.no_gain
        parts = [(part.ladder, part.weeks, part.tries, part.p_gain) for part in one.parts]
        assert parts == [("", 12, 30, 0.04), ("Hanging", 12, 9, 0.04)]
        assert found.cannot_tell == 2

    def test_what_was_asked_for_is_told_as_shares(
        self, made_up: dict[str, object], today: date
    ) -> None:
        """From 60%: odds of 1.5, times e to the gain."""
        made_up["stuck"] = (STILL, replace(STILL, athlete="bo", window_days=42, asked=LEAST_GAIN))
        short, long = seen(today).asked
        assert (short.weeks, short.usual) == (6, False)
        assert (long.weeks, long.usual) == (12, True)
        assert long.to_share == pytest.approx(1.5 * 1.6487 / (1 + 1.5 * 1.6487), abs=1e-4)

    def test_never_checked_come_first_and_those_on_hold_stand_apart(
        self, made_up: dict[str, object], today: date
    ) -> None:
        day = (today - 40 * DAY).toordinal()
        made_up["unchecked"] = (
            Unchecked("cy", None, None, on_hold=False),
            Unchecked("bo", day, 39, on_hold=True),
            Unchecked("ada", day, 39, on_hold=False),
        )
        made_up["held"] = frozenset({"bo"})
        found = seen(today)
        assert [(one.athlete.code, one.last) for one in found.unchecked] == [
            ("cy", None),
            ("ada", today - 40 * DAY),
        ]
        assert [one.athlete.code for one in found.unchecked_held] == ["bo"]

    @pytest.mark.parametrize(
        ("slipped", "stale", "held", "where"),
        [
            (("HANG-1",), (), False, "slipped"),
            (("HANG-1",), ("LAND-1",), False, "slipped"),
            ((), (), False, "slipped"),
            ((), ("LAND-1",), False, "gone_stale"),
            (("HANG-1",), (), True, "back_held"),
        ],
    )
    def test_going_back_is_told_apart_by_what_was_lost(
        self,
        made_up: dict[str, object],
        today: date,
        slipped: tuple[str, ...],
        stale: tuple[str, ...],
        held: bool,
        where: str,
    ) -> None:
        made_up["went_back"] = (replace(BACK, slipped=slipped, gone_stale=stale),)
        made_up["held"] = frozenset({"ada"} if held else ())
        found = seen(today)
        lists = {name: getattr(found, name) for name in ("slipped", "gone_stale", "back_held")}
        assert {name for name, rows in lists.items() if rows} == {where}
        assert found.went_back == (0 if held else 1)

    def test_skills_that_slipped_are_named(self, made_up: dict[str, object], today: date) -> None:
        made_up["went_back"] = (replace(BACK, slipped=("HANG-1",)),)
        assert seen(today).slipped[0].slipped == ("Hang for ten seconds",)

    def test_only_a_drop_is_listed_and_luck_is_counted_over_all_compared(
        self, made_up: dict[str, object], today: date
    ) -> None:
        less = Attendance("ada", 8, 8, 2, 8, 0.004, dropped=True)
        same = Attendance("bo", 7, 8, 7, 8, 0.8, dropped=False)
        made_up["attendance"] = {"ada": Compared(less, 0.03), "bo": Compared(same, 0.02)}
        found = seen(today)
        assert [one.athlete.code for one in found.comes_less] == ["ada"]
        assert (found.compared, found.by_luck) == (2, pytest.approx(0.05))

    def test_who_left_since_is_not_named(self, made_up: dict[str, object], today: date) -> None:
        made_up["went_back"] = (replace(BACK, slipped=("HANG-1",)),)
        seen(today)
        Athlete.objects.filter(code="ada").update(left=today - DAY)
        assert seen(today).slipped == ()


@pytest.mark.usefixtures("cy")
class TestOneClass:
    def test_a_class_is_a_part_of_the_same_answer(
        self, monday_class: GymClass, today: date
    ) -> None:
        calibrate_gym(today=today - DAY)  # a new one would be a reason to look again
        seen(today)
        with CaptureQueriesContext(connection) as asked:
            found = seen(today, gym_class=monday_class)
        assert len(asked) <= 12  # kept: nothing was worked out
        assert found.athletes == 2
        assert [one.athlete.code for one in seen(today).unchecked] == ["cy"]
        assert found.unchecked == ()

    def test_a_gym_too_large_is_asked_for_a_class_first(
        self, monday_class: GymClass, today: date
    ) -> None:
        whole = seen(today, most_at_once=2)
        assert whole.ask_for_class
        assert whole.unchecked == ()
        part = seen(today, most_at_once=2, gym_class=monday_class)
        assert not part.ask_for_class
        assert part.athletes == 2
        assert not seen(today, most_at_once=3).ask_for_class


class TestTheWholeWay:
    def test_an_empty_gym_has_four_empty_lists(self, db: None, today: date) -> None:
        found = seen(today)
        assert (found.athletes, found.unchecked, found.cannot_tell) == (0, (), 0)

    def test_a_catalogue_without_skills_is_no_trouble(self, cy: Athlete, today: date) -> None:
        assert [one.athlete.code for one in seen(today).unchecked] == ["cy"]

    @pytest.mark.usefixtures("bo")
    def test_misses_since_take_a_ready_child_back_and_a_later_one_does_not_count(
        self,
        ada: Athlete,
        small_catalogue: dict[str, Skill],
        coach: StaffMember,
        today: date,
    ) -> None:
        skill = small_catalogue["HANG-1"]
        later = today + 15 * DAY
        makers.make_attempts(ada, skill, ["miss"] * 12, days=[later], coaches=(coach,))
        assert seen(later).slipped == ()
        assert [one.athlete.code for one in seen(later + DAY).slipped] == ["ada"]

    def test_it_stays_within_its_queries(self, monday_class: GymClass, today: date) -> None:
        calibrate_gym(today=today - DAY)
        with CaptureQueriesContext(connection) as asked:
            seen(today)
        assert len(asked) <= 30
