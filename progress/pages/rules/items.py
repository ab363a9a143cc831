"""Every rule in plain words: what it does, how it is counted, where its default is from."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from progress.engine.rules import AgeRatio, HeightRule, Rules
from progress.engine.safety_facts import Status

HEIGHTS, RATIOS = "height_rules", "ratios"


class Unit(Enum):
    """How a rule is counted: for one, and for several."""

    PERCENT = ("%", "%")
    DAYS = ("day", "days")
    TRIES = ("try", "tries")
    COACHES = ("coach", "coaches")
    CHECKS = ("check", "checks")
    CHILDREN = ("child", "children")
    ADULTS = ("adult", "adults")
    SECONDS = ("second", "seconds")


@dataclass(frozen=True)
class Item:
    """One rule as the page says it, with a sentence what it does. Shares are written as %."""

    name: str
    label: str
    unit: Unit
    about: str = ""
    status: Status = Status.PROPOSAL

    @property
    def percent(self) -> bool:
        """Whether it is stored as a share."""
        return self.unit is Unit.PERCENT

    @property
    def many(self) -> str:
        """The unit beside the field."""
        return self.unit.value[1]

    def shown(self, rules: Rules) -> float | int:
        """The number that a person reads and writes."""
        value = getattr(rules, self.name)
        number = round(100 * value, 2) if self.percent else value
        return int(number) if number == int(number) else float(number)

    def stored(self, written: float) -> float | int:
        """The number that the rules keep."""
        return round(written / 100, 6) if self.percent else written

    def in_words(self, rules: Rules) -> str:
        """``70%``, ``5 tries``, ``56 days (8 weeks)``."""
        number = self.shown(rules)
        if self.percent:
            return f"{number:g}%"
        words = f"{number:g} {self.unit.value[0 if number == 1 else 1]}"
        weeks, rest = divmod(number, 7)
        if self.unit is not Unit.DAYS or rest or weeks < 2:
            return words
        return f"{words} ({weeks:g} weeks)"


@dataclass(frozen=True)
class Group:
    """Items under one heading, with a sentence what they do together."""

    key: str
    title: str
    about: str
    items: tuple[Item, ...]


SECURE = Group(
    "secure",
    "When a skill counts as secure",
    "A skill is secure when the tool is sure enough and the tries below are on record. The tries"
    " are few on purpose: children are checked seldom.",
    (
        Item(
            "secure_confidence",
            "How sure the tool must be that the child reaches the standard",
            Unit.PERCENT,
            "Higher: fewer children are called secure by mistake, and more wait for checks.",
        ),
        Item(
            "nearly_confidence",
            "Called “nearly” from",
            Unit.PERCENT,
            "Below it a skill is “building”. A safety skill of an earlier tier that falls below it"
            " in fresh checks stops the move up.",
        ),
        Item("clean_attempts", "Clean tries, at least", Unit.TRIES, "Counted over the whole log."),
        Item(
            "clean_days", "Spread over at least", Unit.DAYS, "So that one good day is not enough."
        ),
        Item(
            "fresh_days",
            "A skill must have been shown within",
            Unit.DAYS,
            "After nine months of gymnastics, some skills were clearly worse two months later"
            " (Kezic 2023). So after 8 weeks a skill needs a fresh look.",
        ),
    ),
)
GATES = Group(
    "gates",
    "Safety skills",
    "A safety skill is never waived, so it asks for more: clean tries in a row, all of them fresh.",
    (
        Item(
            "gate_clean_in_a_row",
            "Clean tries in a row, at least",
            Unit.TRIES,
            "A single miss starts again.",
        ),
        Item(
            "gate_days",
            "Spread over at least",
            Unit.DAYS,
            "Two days show more than one good evening.",
        ),
        Item(
            "gate_coaches",
            "Seen by at least",
            Unit.COACHES,
            "Where the gym has fewer coaches, all of them.",
        ),
    ),
)
READY = Group(
    "ready",
    "Ready and building",
    "How likely it must be that a child holds all skills their tier asks for, all together.",
    (
        Item(
            "ready_at",
            "Suggested as ready from",
            Unit.PERCENT,
            "Every safety skill must be secure as well. You decide, child by child.",
        ),
        Item(
            "building_at",
            "Called building up to",
            Unit.PERCENT,
            "Between the two: nearly, or needs checks where too little is on record.",
        ),
    ),
)
BREAKS = Group(
    "breaks",
    "After a break",
    "A child who comes back is given a step easier for a while.",
    (
        Item(
            "absence_days",
            "A child counts as back from a break after more than",
            Unit.DAYS,
            "Counted from the last time the register has them present.",
        ),
        Item(
            "easing_days",
            "After a hold is lifted, ease back for",
            Unit.DAYS,
            "The tool never lifts a hold. A person does.",
        ),
    ),
)
CHECKS = Group(
    "checks",
    "Checks",
    "How many checks the tool suggests for a class, and whom it puts first.",
    (
        Item(
            "checks_per_class",
            "Suggested for one class, at most",
            Unit.CHECKS,
            "What one coach can do beside the class.",
            Status.CUSTOM,
        ),
        Item(
            "checks_per_athlete",
            "Suggested for one child, at most",
            Unit.CHECKS,
            "So that nobody spends the class being checked.",
        ),
        Item(
            "unseen_days",
            "A child counts as not seen after",
            Unit.DAYS,
            "They get a check before others get a second one.",
        ),
    ),
)
GROUPS = (SECURE, GATES, READY, BREAKS, CHECKS)
ITEMS = tuple(item for group in GROUPS for item in group.items)

# Changed among the floor's limits; shown here, and named where versions are compared.
BAND = (
    Item("target_low", "Aim for a chance of clean from", Unit.PERCENT),
    Item("target_centre", "Best of all at", Unit.PERCENT),
    Item("target_high", "Up to", Unit.PERCENT),
    Item("challenge_shift", "“Gentler” and “bolder” move the band by", Unit.PERCENT),
)
FLOOR = (
    Item("children_per_lane", "Most children on one variant, for each lane", Unit.CHILDREN),
    Item("least_active_share", "Warn when time on a station is below", Unit.PERCENT),
    Item("longest_wait", "Warn when a child waits longer than", Unit.SECONDS),
    Item("walk_seconds", "Walking between two stations takes", Unit.SECONDS),
    Item("least_adults", "Never fewer adults than", Unit.ADULTS),
    Item("mat_check_days", "A mat is worth a look after", Unit.DAYS),
)
# With its group where the label alone would not say what it is about.
SAID = {item.name: f"{group.title}: {item.label}" for group in GROUPS for item in group.items}
SAID |= {item.name: f"How hard practice should be: {item.label}" for item in BAND}
SAID |= {item.name: item.label for item in FLOOR}
SAID |= {HEIGHTS: "Heights", RATIOS: "Children for one adult"}


def height_words(rules: Iterable[HeightRule]) -> str:
    """``above 0.6 m: LAND-2, DOWN-1; above 1 m: LAND-3``."""
    words = [f"above {rule.above_m:g} m: {', '.join(rule.needs)}" for rule in rules]
    return "; ".join(words) or "no rule"


def ratio_words(ratios: Iterable[AgeRatio]) -> str:
    """``up to 2: 3; up to 3: 4``."""
    return "; ".join(f"up to {one.up_to_age}: {one.children_per_adult}" for one in ratios)


def differences(before: Rules, after: Rules) -> list[str]:
    """What one set of rules has otherwise than the other, a line for each rule."""
    found = []
    for item in (*ITEMS, *BAND, *FLOOR):
        was, now = item.in_words(before), item.in_words(after)
        if getattr(before, item.name) != getattr(after, item.name):
            found.append(f"{SAID[item.name]}: {was} → {now}")
    if before.height_rules != after.height_rules:
        was, now = height_words(before.height_rules), height_words(after.height_rules)
        found.append(f"{SAID[HEIGHTS]}: {was} → {now}")
    if before.ratios != after.ratios:
        was, now = ratio_words(before.ratios), ratio_words(after.ratios)
        found.append(f"{SAID[RATIOS]}: {was} → {now}")
    return found
