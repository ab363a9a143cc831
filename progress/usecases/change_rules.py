"""The lead changes rules: a new version with who and why, beside all the earlier ones.

Any rule may be given, so every page that edits some of them asks here. A version is never changed
afterwards, because stored decisions name the one that made them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from math import isfinite
from typing import Any

from django.db import IntegrityError, transaction

from progress.engine.rules import Rules
from progress.models import Role, RuleBook, StaffMember
from progress.usecases.why_sentence import why_problem

MOST = 1000  # no rule counts or measures more than this; a slip of the finger does
# Rules that must rise: the first of each pair lies below the second.
RISING = (
    ("nearly_confidence", "secure_confidence"),
    ("building_at", "ready_at"),
    ("target_low", "target_centre"),
    ("target_centre", "target_high"),
)
SHARES = frozenset(name for pair in RISING for name in pair) | {"least_active_share"}
LISTS = {
    "ratios": ("up_to_age", "children_per_adult"),
    "height_rules": ("above_m", "needs"),
}


class RulesRefused(ValueError):
    """The rules stay as they were; ``problems`` say by field what is wrong and how to mend it.

    The field is the rule's name, "why" for the sentence, or empty for all of it.
    """

    def __init__(self, problems: Mapping[str, str]) -> None:
        self.problems = dict(problems)
        super().__init__(" ".join(self.problems.values()))


class RulesConflict(ValueError):
    """Somebody saved other rules meanwhile; nothing was stored. ``version`` is in force now."""

    def __init__(self, version: int) -> None:
        self.version = version
        super().__init__(
            f"Somebody saved version {version} while you were writing, so nothing of yours is"
            " stored yet. Look at what they changed, then save yours again."
        )


@dataclass(frozen=True)
class RuleVersion:
    """One version as a lead reads it; ``book`` is None for the defaults a new gym starts from."""

    version: int
    rules: Rules
    book: RuleBook | None


@transaction.atomic
def change_rules(
    *, values: Mapping[str, Any], why: str, lead: StaffMember, expected: int, now: datetime
) -> RuleBook:
    """Store a new version with ``values`` by rule name; what is not named stays as it is.

    Ratios and height rules are lists of mappings, shares are 0-1. ``expected`` is the version the
    lead was looking at: raises RulesConflict where another is in force by now. Raises RulesRefused
    for somebody who is not the lead, an unknown rule, a value that cannot be, a change of nothing
    and a missing reason.
    """
    if not lead.active or lead.role != Role.LEAD:
        raise RulesRefused({"": "Only the lead changes the rules."})
    sentence = " ".join(why.split())
    try:
        rules = proposed_rules(values=values, expected=expected)
    except RulesRefused as refused:
        raise RulesRefused(refused.problems | why_problem(sentence)) from None
    problems = why_problem(sentence)
    if problems:
        raise RulesRefused(problems)
    try:
        with transaction.atomic():
            return RuleBook.objects.create(
                version=expected + 1,
                values=rules.as_json(),
                changed_by=lead,
                changed_at=now,
                why=sentence,
            )
    except IntegrityError as error:
        raise RulesConflict(expected + 1) from error


def proposed_rules(*, values: Mapping[str, Any], expected: int) -> Rules:
    """The rules that ``change_rules`` would store, as version ``expected`` + 1; stores nothing.

    Raises RulesConflict and RulesRefused as it does, but asks neither who nor why.
    """
    now_in_force = RuleBook.in_force()
    if now_in_force.version != expected:
        raise RulesConflict(now_in_force.version)
    rules, problems = _checked(now_in_force, values)
    if problems or rules is None:
        raise RulesRefused(problems)
    if replace(rules, version=expected) == now_in_force:
        raise RulesRefused({"": "Nothing is different from the rules in force."})
    return replace(rules, version=expected + 1)


def earlier_values(version: int) -> dict[str, Any]:
    """The rules of an earlier version as values to change to; RulesRefused where it never was."""
    earlier = {one.version: one.rules for one in rule_versions()}
    if version not in earlier:
        raise RulesRefused({"": f"There is no version {version} to go back to."})
    return {name: value for name, value in earlier[version].as_json().items() if name != "version"}


def go_back_to(
    *, version: int, why: str, lead: StaffMember, expected: int, now: datetime
) -> RuleBook:
    """Make an earlier version's rules the newest again; the ones between are kept.

    Raises as ``change_rules`` does, and RulesRefused for a version that never was.
    """
    values = earlier_values(version)
    return change_rules(values=values, why=why, lead=lead, expected=expected, now=now)


def rule_versions() -> tuple[RuleVersion, ...]:
    """Every version, the one in force first, down to the defaults: one query."""
    books = list(RuleBook.objects.select_related("changed_by"))
    found = [
        RuleVersion(book.version, Rules.from_json({**book.values, "version": book.version}), book)
        for book in books
    ]
    if all(one.version != Rules().version for one in found):
        found.append(RuleVersion(Rules().version, Rules(), None))
    return tuple(found)


def _checked(base: Rules, values: Mapping[str, Any]) -> tuple[Rules | None, dict[str, str]]:
    """The rules with these values, or what is wrong with them by field."""
    known = {field.name for field in fields(Rules)} - {"version"}
    problems = {name: "There is no such rule." for name in values if name not in known}
    plain = base.as_json()
    for name in known & set(values):
        problem = _problem(name, values[name], getattr(base, name))
        if problem:
            problems[name] = problem
        else:
            plain[name] = values[name]
    for low, high in RISING:
        if not {low, high} & set(problems) and plain[low] >= plain[high]:
            at = low if low in values else high
            problems[at] = "These must rise from the lower to the higher one: change one of them."
    if problems:
        return None, problems
    try:
        return Rules.from_json(plain), {}
    except (ValueError, TypeError, KeyError) as error:
        return None, {"": f"These rules do not go together: {error}."}


def _problem(name: str, value: Any, default: object) -> str:
    """What is wrong with one value on its own; empty where nothing is."""
    if name in LISTS:
        return _list_problem(name, value)
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return "Write a number."
    if name in SHARES:
        return "" if 0 < value < 1 else "Give a share above 0% and below 100%."
    if name == "challenge_shift":
        return "" if 0 <= value < 0.5 else "Give a share from 0% to below 50%."
    if isinstance(default, int):
        whole = isinstance(value, int) and 1 <= value <= MOST
        return "" if whole else f"Give a whole number from 1 to {MOST}."
    least = 0 if name == "walk_seconds" else 1
    return "" if least <= value <= MOST else f"Give a number from {least} to {MOST}."


def _list_problem(name: str, rows: Any) -> str:
    if not isinstance(rows, Sequence) or isinstance(rows, str):
        return "Give a list of rows."
    for row in rows:
        if not isinstance(row, Mapping) or set(row) != set(LISTS[name]):
            return "Every row needs both fields: fill in the other one, or empty the row."
    if name == "height_rules":
        return _height_problem(rows)
    ages = [row["up_to_age"] for row in rows]
    each = [row["children_per_adult"] for row in rows]
    if not all(isinstance(n, int) and 0 <= n <= 99 for n in ages):
        return "Give ages in whole years, from 0 to 99."
    if not all(isinstance(n, int) and 1 <= n <= MOST for n in each):
        return "Give at least 1 child for each adult, as a whole number."
    if not rows:
        return "Keep at least one band, or nobody can say how many adults are needed."
    if len(set(ages)) < len(ages):
        return "Two bands end at the same age: change one, or remove it."
    if ages != sorted(ages):
        return "Give the bands from the youngest up."
    return ""


def _height_problem(rows: Sequence[Mapping[str, Any]]) -> str:
    heights = [row["above_m"] for row in rows]
    if not all(isinstance(one, int | float) and isfinite(one) and one >= 0 for one in heights):
        return "Give heights in metres, 0 or more."
    if not all(row["needs"] and all(isinstance(s, str) for s in row["needs"]) for row in rows):
        return "Name at least one skill for every height."
    return ""
