"""Why a decision about a tier or a place is not stored, and how to mend it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from progress.engine.terms import Decision
from progress.models import Athlete, Role, SignOff, StaffMember

LONGEST = 300
FEWEST_WORDS = 3  # of a reason of its own
SENTENCE = "Say in a sentence why, for whoever reads it next year."


@dataclass(frozen=True)
class Obstacle:
    """What stands in the way for one athlete, and what would mend it: two sentences."""

    what: str
    mend: str


class SignOffRefused(ValueError):
    """Nothing is stored. ``of`` says by athlete code what stands in the way.

    ``problems`` are about the sending itself, by field: "sentence", "although:ada",
    "sentence:ada", or empty for all of it.
    """

    def __init__(
        self,
        problems: Mapping[str, str],
        of: Mapping[str, Sequence[Obstacle]] | None = None,
        names: Mapping[str, str] | None = None,
    ) -> None:
        self.problems = dict(problems)
        self.of = {code: tuple(found) for code, found in (of or {}).items()}
        called = names or {}
        lines = [
            f"{called.get(code, code)}: {one.what} {one.mend}"
            for code, found in self.of.items()
            for one in found
        ]
        super().__init__(" ".join([*self.problems.values(), *lines]))


class EngineSaysOtherwise(ValueError):
    """The engine's suggestion is another one than the lead saw; nothing is stored.

    ``now`` holds by athlete code what it says by now.
    """

    def __init__(self, now: Mapping[str, Decision]) -> None:
        self.now = dict(now)
        super().__init__("The suggestion has changed since you opened this page. Look again.")


class MovedMeanwhile(ValueError):
    """Some are in another tier than the lead saw; nothing is stored.

    ``by`` holds for each of them the decision that stands now, None where there is none.
    """

    def __init__(self, by: Mapping[Athlete, SignOff | None]) -> None:
        self.by = dict(by)
        names = ", ".join(str(athlete) for athlete in self.by)
        super().__init__(f"Already in another tier: {names}. Nothing was moved twice.")


def check_lead(person: StaffMember) -> None:
    """Refuse whoever is not a lead in service."""
    if not person.active or person.role != Role.LEAD:
        raise SignOffRefused({"": "Only the programme lead may do this."})


def day_words(day: date) -> str:
    """``3 Mar 2026``."""
    return f"{day.day} {day:%b %Y}"


def one_line(text: str) -> str:
    """The words with single spaces between them."""
    return " ".join(text.split())


def sentence_problem(sentence: str) -> str:
    """What is wrong with a sentence why; empty where nothing is."""
    if not sentence:
        return SENTENCE
    if len(sentence) > LONGEST:
        return f"Keep it to {LONGEST} characters; this has {len(sentence)}."
    return ""


def although_problem(reason: str, sentence: str) -> str:
    """What is wrong with a reason for moving up although the engine says building."""
    if len(reason.split()) < FEWEST_WORDS:
        return "The tool says building. Say in a few words why they move up all the same."
    if reason == sentence:
        return "Say here what makes the difference, not the same sentence again."
    return sentence_problem(reason)
