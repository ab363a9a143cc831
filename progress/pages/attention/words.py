"""The evidence behind each line in plain sentences. Nobody is blamed: these are reasons to ask."""

from collections.abc import Sequence
from datetime import date

from progress.pages.shared.parts import MOST_SKILLS
from progress.pages.shared.words import DECISION_WORDS, percent
from progress.usecases.see_attention import (
    Attention,
    Back,
    ComesLess,
    GainAsked,
    NoGainOn,
    NotChecked,
)


def asked_sentence(asked: GainAsked) -> str:
    """What counts as a gain in a window."""
    gain = f"from {percent(asked.from_share)} clean to {percent(asked.to_share)}"
    if asked.usual:
        return f"In {asked.weeks} weeks children here usually go {gain} at a skill."
    return f"In {asked.weeks} weeks the least gain a coach would notice is {gain} at a skill."


def no_gain_sentence(part: NoGainOn) -> str:
    """How unlikely a gain is, over which time and from how many tries."""
    where = f"On {part.ladder}" if part.ladder else "Over all"
    return (
        f"{where}: the chance of the gain looked for is {percent(part.p_gain)}, after"
        f" {_tries(part.tries)} in {part.weeks} weeks."
    )


def not_checked_sentence(one: NotChecked) -> str:
    """Never checked, or since when."""
    if one.last is None or one.days_ago is None:
        joined = one.athlete.joined
        return f"Never checked; here since {_day(joined)}." if joined else "Never checked."
    weeks = one.days_ago // 7
    return f"Last checked on {_day(one.last)}, {weeks} weeks ago."


def went_back_sentences(one: Back) -> list[str]:
    """What was said then and now, and which skills make the difference."""
    said = [
        f"{DECISION_WORDS[one.before]} four weeks before, {DECISION_WORDS[one.now].lower()} now."
    ]
    if one.slipped:
        said.append(f"Less sure than then: {_skills(one.slipped)}.")
    if one.stale:
        said.append(f"Only in need of a fresh check: {_skills(one.stale)}.")
    if not one.slipped and not one.stale:
        said.append("No secure skill was lost; all the skills together are less sure than then.")
    since = _tries(one.tries) if one.tries else "No try"
    return [*said, f"{since[:1].upper()}{since[1:]} in between."]


def comes_less_sentence(one: ComesLess) -> str:
    """Both windows, and how often luck does that."""
    found = one.found
    return (
        f"Came to {found.came_now} of the last {_meetings(found.held_now)}, and to"
        f" {found.came_before} of the {found.held_before} before. Luck alone would do that with a"
        f" chance of {percent(found.p)}."
    )


def cannot_tell_sentence(seen: Attention) -> str:
    """How many children the evidence is too thin for."""
    if not seen.cannot_tell:
        return "For every child the evidence is enough to say whether there was a gain."
    if seen.cannot_tell == seen.athletes:
        return (
            f"For none of the {_children(seen.athletes)} is the evidence enough yet. A few more"
            " checks of each child over the weeks would change that."
        )
    return (
        f"For {seen.cannot_tell} of the {_children(seen.athletes)} the evidence cannot tell yet:"
        " they may be gaining or not."
    )


def by_luck_sentence(seen: Attention) -> str:
    """How many of the children compared luck alone would list."""
    if not seen.compared:
        return "No child has registers enough in both times to compare."
    lucky = (
        f"about {_children(round(seen.by_luck))}"
        if seen.by_luck >= 1
        else f"fewer than one child (on average {seen.by_luck:.1f})"
    )
    return (
        f"Compared: {_children(seen.compared)} with registers enough. Among many, a few come less"
        f" often by luck: even if nothing had changed for anybody, {lucky} would stand here."
    )


def _skills(names: Sequence[str]) -> str:
    """The first few, and how many more."""
    more = len(names) - MOST_SKILLS
    return ", ".join(names[:MOST_SKILLS]) + (f" and {more} more" if more > 0 else "")


def _tries(count: int) -> str:
    return "1 try" if count == 1 else f"{count:,} tries"


def _meetings(count: int) -> str:
    return "meeting" if count == 1 else f"{count} meetings"


def _children(count: int) -> str:
    return "1 child" if count == 1 else f"{count:,} children"


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
