"""Numbers, days and states in words: one place, so that every page says it the same way."""

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from progress.engine.answers import Estimate, Readiness
from progress.engine.terms import Decision, SkillState
from progress.models import ResultChoice
from progress.usecases.see_board import ORDER

STATE_WORDS = {
    SkillState.SECURE: "Secure",
    SkillState.NEARLY: "Nearly",
    SkillState.BUILDING: "Building",
    SkillState.STALE: "Needs a fresh look",
    SkillState.UNCHECKED: "Not checked yet",
}
# Put into the family's language where they are drawn.
FAMILY_STATE_WORDS = {
    SkillState.SECURE: gettext_noop("Can do"),
    SkillState.NEARLY: gettext_noop("Nearly there"),
    SkillState.BUILDING: gettext_noop("Working on it"),
    SkillState.STALE: gettext_noop("We will look again"),
    SkillState.UNCHECKED: gettext_noop("Not looked at yet"),
}
DECISION_WORDS = {
    Decision.READY: "Ready",
    Decision.NEARLY: "Nearly",
    Decision.BUILDING: "Building",
    Decision.NEEDS_CHECKS: "Needs checks",
}
HIGHEST_TIER_ORDER = len(ORDER)  # nobody moves up from the highest tier
RESULT_WORDS = {choice.value: str(choice.label) for choice in ResultChoice}

# Upper ends of p_ready and how a coach would say it.
_P_READY_WORDS = (
    (0.10, "very unlikely yet"),
    (0.35, "unlikely yet"),
    (0.65, "could go either way"),
    (0.90, "likely"),
)


def percent(chance: float) -> str:
    """A chance as a whole percentage for staff; never 0% or 100%, which nobody can know."""
    whole = round(100 * chance)
    if whole < 1:
        return "under 1%"
    return "over 99%" if whole > 99 else f"{whole}%"


def percent_with_range(estimate: Estimate) -> str:
    """``84% (70–92)``: the chance and its 90% interval, for staff."""
    low, high = round(100 * estimate.low), round(100 * estimate.high)
    return f"{percent(estimate.chance)} ({low}–{high})"


def in_ten(chance: float) -> str:
    """A chance as a family would say it: ``Clean about 8 times in 10``."""
    tenths = round(10 * chance)
    if tenths < 1:
        return _("Hardly ever clean yet")
    if tenths > 9:
        return _("Clean nearly every time")
    said = ngettext("Clean about %(n)s time in 10", "Clean about %(n)s times in 10", tenths)
    return said % {"n": tenths}


def likelihood(p_ready: float) -> str:
    """``p_ready`` in words."""
    for upper, words in _P_READY_WORDS:
        if p_ready < upper:
            return words
    return "very likely"


def standing(readiness: Readiness) -> tuple[int, float]:
    """What readiness sorts by: the decision first, then the likelihood."""
    if readiness.next_tier is None:
        return HIGHEST_TIER_ORDER, 0.0
    return ORDER.index(readiness.decision), -readiness.p_ready


def days_ago(day: date | None, today: date) -> str:
    """How long ago a day was, in the words a coach would use."""
    if day is None:
        return "never"
    days = (today - day).days
    if days <= 0:
        return "today"
    if days == 1:
        return "yesterday"
    return f"{days} days ago" if days < 14 else f"{days // 7} weeks ago"


def day_in_words(day: date) -> str:
    """``Tue 3 Mar``; the year is added by pages that look back further."""
    return f"{day:%a} {day.day} {day:%b}"


def step_word(step: int) -> str:
    """A variant's step against the station's base."""
    if step == 0:
        return "base"
    return "easier" if step < 0 else "harder"
