"""Days, moments and weeks, on the clock of a gym in London (the test settings)."""

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest

from progress.usecases.folders.cells import BadCell
from progress.usecases.folders.dates import day_of, moment_of, week_of


@pytest.mark.parametrize(
    ("cell", "moment"),
    [
        ("2026-03-02T17:30:15Z", datetime(2026, 3, 2, 17, 30, 15, tzinfo=UTC)),
        ("2026-03-02t17:30:15z", datetime(2026, 3, 2, 17, 30, 15, tzinfo=UTC)),
        ("2026-03-02T17:30+02:00", datetime(2026, 3, 2, 15, 30, tzinfo=UTC)),
        ("2026-03-02 17:30 +02:00", datetime(2026, 3, 2, 15, 30, tzinfo=UTC)),
        ("2026-03-02T17:30:15.250-0130", datetime(2026, 3, 2, 19, 0, 15, 250_000, tzinfo=UTC)),
        ("20260302T173015Z", datetime(2026, 3, 2, 17, 30, 15, tzinfo=UTC)),
        ("2026-W10-1T17:30Z", datetime(2026, 3, 2, 17, 30, tzinfo=UTC)),
        ("2026-03-02 17:30:00", datetime(2026, 3, 2, 17, 30, tzinfo=UTC)),
        ("2026-07-06 17:30", datetime(2026, 7, 6, 16, 30, tzinfo=UTC)),
        ("2026-03-02", datetime(2026, 3, 2, 12, tzinfo=UTC)),
        ("2026-07-06", datetime(2026, 7, 6, 11, tzinfo=UTC)),
    ],
)
def test_a_moment_is_read_with_or_without_time_and_zone(cell: str, moment: datetime) -> None:
    assert moment_of(cell) == moment


def test_the_hour_that_comes_twice_in_autumn_is_taken_as_the_first() -> None:
    assert moment_of("2025-10-26T01:30") == datetime(2025, 10, 26, 0, 30, tzinfo=UTC)


def test_the_second_of_the_two_hours_can_be_written_with_its_offset() -> None:
    assert moment_of("2025-10-26T01:30+00:00") == datetime(2025, 10, 26, 1, 30, tzinfo=UTC)


def test_the_hour_the_clocks_skip_in_spring_is_refused() -> None:
    with pytest.raises(BadCell, match="never was"):
        moment_of("2026-03-29T01:30")


@pytest.mark.parametrize("cell", ["2026-02-09", "2026-02-15", "2026-W07", "2026w07", "2026-W7"])
def test_a_week_is_known_by_any_of_its_days_and_by_its_number(cell: str) -> None:
    assert week_of(cell) == date(2026, 2, 9)


@pytest.mark.parametrize("cell", ["2018-02-01", "20180201", "2018-02-01 00:00:00"])
def test_a_day_may_carry_the_midnight_a_program_added(cell: str) -> None:
    assert day_of(cell) == date(2018, 2, 1)


@pytest.mark.parametrize(
    ("read", "cell"),
    [
        (day_of, "2018-02-01 10:00:00"),
        (day_of, "2018-2-1"),
        (day_of, "2018-02-30"),
        (day_of, "٢٠١٨-٠٢-٠١"),
        (day_of, "0001-01-01"),
        (day_of, "9999-12-31"),
        (week_of, "2026-W54"),
        (week_of, "2025-W53"),
        (week_of, "09.02.2026"),
        (moment_of, "2026-03-02T17:30 Europe/London"),
        (moment_of, "2026-03-02Z"),
        (moment_of, "2026-03-02T24:30"),
        (moment_of, "0001-01-01T00:00+14:00"),
        (moment_of, "9999-12-31T23:59-12:00"),
        (moment_of, "17:30"),
        (moment_of, "46083.7"),
    ],
)
def test_what_is_no_date_is_refused(read: Callable[[str], object], cell: str) -> None:
    with pytest.raises(BadCell):
        read(cell)


@pytest.mark.parametrize("cell", ["03/04/2026", "3.4.26", "03-04-2026 17:30"])
def test_a_date_that_can_be_read_two_ways_says_so(cell: str) -> None:
    with pytest.raises(BadCell, match="two different days"):
        moment_of(cell)


@pytest.mark.parametrize("cell", ["25/12/2026", "04/04/2026"])
def test_a_date_without_the_year_first_says_so(cell: str) -> None:
    with pytest.raises(BadCell, match="year first"):
        day_of(cell)
