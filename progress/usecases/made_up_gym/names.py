"""The made-up children's names and guardians."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from progress.usecases.made_up_gym.people import DAYS_IN_YEAR, ChildPlan
from progress.usecases.made_up_gym.scenario import Scenario

SIBLING_PAIRS = 11


@dataclass(frozen=True)
class GuardianPlan:
    """A made-up adult and the codes of the children they may see."""

    name: str
    email: str
    athletes: tuple[str, ...]


@dataclass(frozen=True)
class Family:
    """A child's names and their guardian's; no ``surname`` where the name is written whole."""

    given: str
    surname: str
    guardian: str

    @property
    def child(self) -> str:
        """The child's full name."""
        return f"{self.given} {self.surname}".strip()


def name_everyone(
    rng: np.random.Generator, scenario: Scenario, children: list[ChildPlan]
) -> tuple[list[ChildPlan], list[GuardianPlan]]:
    """Give every child a name and a guardian; some are siblings, one child has two guardians."""
    families = draw_families(rng, scenario, len(children))
    guardian_of = list(range(len(children)))
    for first, second in draw_siblings(rng, children, families):
        families[second] = replace(families[first], given=families[second].given)
        guardian_of[second] = first
    named = [
        replace(child, name=family.child) for child, family in zip(children, families, strict=True)
    ]
    adults = [
        (families[first].guardian, [n for n, adult in enumerate(guardian_of) if adult == first])
        for first in sorted(set(guardian_of))
    ]
    adults.append((scenario.words["second_guardian"], [0]))
    guardians = [
        GuardianPlan(
            name, f"guardian-{number:03d}@example.org", tuple(named[n].code for n in theirs)
        )
        for number, (name, theirs) in enumerate(adults, start=1)
    ]
    return named, guardians


def draw_families(rng: np.random.Generator, scenario: Scenario, number: int) -> list[Family]:
    """Draw names: no full name twice, some written their own way, most put together."""
    words = scenario.words
    own = words["written_their_own_way"]
    whole = dict(zip(rng.permutation(number)[: len(own)].tolist(), own, strict=True))
    given = rng.permutation(words["given_names"]).tolist()
    surnames = rng.permutation(words["family_names"]).tolist()
    families = []
    for place in range(number):
        if place in whole:
            families.append(Family(whole[place]["child"], "", whole[place]["guardian"]))
            continue
        # The lists differ in length, so the second time round they pair up differently.
        surname = surnames[place % len(surnames)]
        adult = words["adult_names"][int(rng.integers(len(words["adult_names"])))]
        families.append(Family(given[place % len(given)], surname, f"{adult} {surname}"))
    return families


def draw_siblings(
    rng: np.random.Generator, children: list[ChildPlan], families: list[Family]
) -> Iterator[tuple[int, int]]:
    """Draw pairs of children from different classes, born at least a year apart."""
    order = [n for n in rng.permutation(len(children)).tolist() if families[n].surname]
    given = Counter(family.given for family in families)
    # A given name that comes twice keeps its surname, so that full names stay different.
    order = [n for n in order if given[families[n].given] == 1]
    for _ in range(SIBLING_PAIRS):
        one = order.pop()
        other = next(n for n in order if may_be_siblings(children[one], children[n]))
        order.remove(other)
        yield one, other


def may_be_siblings(one: ChildPlan, other: ChildPlan) -> bool:
    """Whether two children could share a home: a year apart, and so in different classes here."""
    apart = abs((one.birth - other.birth).days) > DAYS_IN_YEAR
    return apart and one.class_ is not other.class_
