"""The floor's limits in words: what each is, how it is counted, where its default is from."""

from dataclasses import dataclass

from progress.engine.rules import AgeRatio, Rules
from progress.engine.safety_facts import Status

RATIOS = "ratios"
CPSU = (
    "NSPCC Child Protection in Sport Unit, thecpsu.org.uk. Its rows 0-2 and 2-3 share the second"
    " birthday; the stricter one is taken for all of that year."
)


@dataclass(frozen=True)
class Item:
    """One rule as the page says it. ``percent``: stored as a share, written as a percentage."""

    name: str
    label: str
    unit: str
    source: str
    status: Status
    percent: bool = False
    help: str = ""

    @property
    def whole(self) -> bool:
        """Whether it is counted and not measured."""
        return isinstance(getattr(Rules(), self.name), int)

    def shown(self, rules: Rules) -> float | int:
        """The number that a person reads and writes."""
        value = getattr(rules, self.name)
        if not self.percent:
            return int(value) if self.whole or value == int(value) else float(value)
        percentage = round(100 * value, 2)
        return int(percentage) if percentage == int(percentage) else float(percentage)

    def stored(self, written: float) -> float | int:
        """The number that the rules keep."""
        return round(written / 100, 6) if self.percent else written

    def in_words(self, rules: Rules) -> str:
        """``8 children``, ``40%``."""
        number = f"{self.shown(rules):g}"
        return f"{number}%" if self.percent else f"{number} {self.unit}"


@dataclass(frozen=True)
class Group:
    """Items under one heading, with a sentence what they do."""

    title: str
    about: str
    items: tuple[Item, ...]


LANES = Item(
    "children_per_lane",
    "Most children on one variant, for each lane",
    "children",
    "Gymnastics guidance in the UK names eight at one station; seen on a club’s page.",
    Status.SECOND_HAND,
)
ACTIVE = Item(
    "least_active_share",
    "Warn when children are on a station for less of the time than",
    "%",
    "What coaches commonly aim for.",
    Status.CUSTOM,
    percent=True,
)
WAIT = Item("longest_wait", "Warn when a child waits longer than", "seconds", "", Status.CUSTOM)
WALK = Item(
    "walk_seconds",
    "Walking from one station to the next takes",
    "seconds",
    "",
    Status.CUSTOM,
    help="Time it once in your hall.",
)
ADULTS = Item(
    "least_adults",
    "Never fewer adults than",
    "adults",
    "NSPCC Child Protection in Sport Unit, thecpsu.org.uk.",
    Status.READ,
)
MATS = Item(
    "mat_check_days",
    "A mat is worth a look when nobody has checked it for",
    "days",
    "",
    Status.PROPOSAL,
    help="The floor check on the printed sheet comes before every day’s first class all the same.",
)
LOW = Item("target_low", "Aim for a chance of clean from", "%", "", Status.PROPOSAL, percent=True)
CENTRE = Item(
    "target_centre",
    "Best of all at",
    "%",
    "A design choice. The often quoted 85% was worked out for tasks with two answers, not for"
    " children on a beam.",
    Status.PROPOSAL,
    percent=True,
)
HIGH = Item("target_high", "and up to", "%", "", Status.PROPOSAL, percent=True)
SHIFT = Item(
    "challenge_shift",
    "“Gentler” and “bolder” move that band by",
    "%",
    "",
    Status.PROPOSAL,
    percent=True,
    help="In percentage points: 10 moves 85 to 95 or to 75.",
)

GROUPS = (
    Group(
        "Lines and waiting",
        "Used when a class’s plan shares children out, and in its warnings about standing in line.",
        (LANES, ACTIVE, WAIT, WALK),
    ),
    Group("Mats", "Used in the cautions about a floor.", (MATS,)),
    Group(
        "How hard practice should be",
        "Used to choose a variant for each child.",
        (LOW, CENTRE, HIGH, SHIFT),
    ),
    Group(
        "Adults",
        "The youngest child in the class decides which band holds. Above the last band its figure"
        " holds on.",
        (ADULTS,),
    ),
)
ITEMS = tuple(item for group in GROUPS for item in group.items)


def children_for(age: int, ratios: tuple[AgeRatio, ...]) -> int:
    """Most children for one adult at this age; above the last band its figure holds on."""
    fitting = [one for one in ratios if age <= one.up_to_age] or [ratios[-1]]
    return fitting[0].children_per_adult


def weaker_ages(band: AgeRatio, ratios: tuple[AgeRatio, ...]) -> tuple[int, ...]:
    """Ages in a band of ``ratios`` for which it asks for fewer adults than the rows that were read.

    The rows that were read end at 18, so later ages are compared with that row.
    """
    before = [one.up_to_age for one in ratios if one.up_to_age < band.up_to_age]
    ages = range(before[-1] + 1 if before else 0, band.up_to_age + 1)
    read = Rules().ratios
    return tuple(age for age in ages if band.children_per_adult > children_for(age, read))


def ratio_words(ratios: tuple[AgeRatio, ...]) -> str:
    """``up to 2: 3; up to 3: 4``, children for one adult."""
    return "; ".join(f"up to {one.up_to_age}: {one.children_per_adult}" for one in ratios)


def differences(before: Rules, after: Rules) -> list[str]:
    """What one version changed against the one before, in words; other pages' rules by name."""
    said = {item.name: item for item in ITEMS}
    found = []
    old, new = before.as_json(), after.as_json()
    for name in new:
        if name == "version" or old[name] == new[name]:
            continue
        if name in said:
            item = said[name]
            found.append(f"{item.label}: {item.in_words(before)} → {item.in_words(after)}")
        elif name == RATIOS:
            was, now = ratio_words(before.ratios), ratio_words(after.ratios)
            found.append(f"Children for one adult: {was} → {now}")
        else:
            found.append(f"{name.replace('_', ' ').capitalize()} (see the rules page)")
    return found
