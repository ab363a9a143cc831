"""Weeks to a tier in sentences and rows."""

from collections.abc import Iterator
from dataclasses import dataclass

from progress.usecases.see_time_to_tier import FEWEST, TierTimes, Times, TimesToTiers

TERMS = ("January to April", "May to August", "September to December")
LUCK = 0.05  # below this the terms' curves are said to differ by more than luck


@dataclass(frozen=True)
class Row:
    """One line of a tier's table; counts are None where the children are too few to show."""

    name: str
    children: int
    reached: int | None
    under_way: int | None
    left: int | None
    half: str


def rows_of(tier: TierTimes) -> list[Row]:
    """All children first, then each term somebody joined in."""
    return list(_rows(tier))


def _rows(tier: TierTimes) -> Iterator[Row]:
    yield _row("All children", tier.everybody)
    for term, times in tier.by_term.items():
        yield _row(f"Joined {TERMS[term]}", times)


def _row(name: str, times: Times) -> Row:
    if times.children < FEWEST:
        return Row(name, times.children, None, None, None, half_words(times))
    counts = (times.reached, times.under_way, times.left)
    return Row(name, times.children, *counts, half_words(times))


def half_words(times: Times) -> str:
    """By which week half have reached the tier, and how sure that is."""
    if times.children < FEWEST:
        return "too few children to say"
    if times.curve is None:
        return "too few could be seen at a time to say"
    median = times.curve.median
    if median is None:
        said = "fewer than half have reached it yet"
    else:
        low, high = times.curve.median_interval
        sure = f"{weeks(low)} or more" if high is None else f"{weeks(low)} to {weeks(high)}"
        said = f"about {weeks(median)} weeks (90% sure: {sure})"
    return f"{said}, of those not there by week {weeks(times.start)}" if times.start else said


def weeks(number: float | None) -> int:
    """Whole weeks; the start where a bound is open."""
    return 0 if number is None else round(number)


def summary(tier: TierTimes) -> str:
    """What the picture of a tier shows, in sentences."""
    times = tier.everybody
    if times.children == 0:
        return "Nobody has been on the way to this tier since moves up are on record."
    if times.children < FEWEST:
        return f"Only {_children(times.children)} so far: too few to draw or to say anything."
    if times.curve is None:
        return "Too few children could be seen at a time to draw anything yet."
    if times.reached == 0:
        return f"{_children(times.children)} on the way; nobody has reached this tier yet."
    half = half_words(times)
    return f"Half are there by {half}." if times.curve.median else f"{half.capitalize()}."


def _children(number: int) -> str:
    return "1 child" if number == 1 else f"{number} children"


def compared(tier: TierTimes) -> str:
    """Whether the term a child joined in goes with how long it takes."""
    if tier.compared is None:
        return (
            "Too few children were followed from their first day here to say whether the term "
            "they joined in goes with how long it takes."
        )
    if tier.compared.p < LUCK:
        return (
            "Children who joined in different terms took different times, by more than luck alone "
            "would give. That does not say why: the groups may differ in age or in what they "
            "could do before."
        )
    return (
        "The terms differ by no more than luck would give. "
        "That may be because they are alike or because the groups are small."
    )


def anybody(found: TimesToTiers) -> bool:
    """Whether there is a tier with somebody on the way."""
    return any(tier.everybody.children for tier in found.tiers)
