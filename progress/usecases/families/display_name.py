"""A guardian chooses how the child's name is shown on paper and in mail."""

import unicodedata
from enum import Enum

from progress.models import Athlete, Guardian

LONGEST = 200
# They turn the text around them the other way, or cannot be seen at all.
STEERING = {*"\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\ufeff\u2060\u200b"}


class NameRefused(ValueError):
    """The name cannot be shown; ``why`` is ``empty`` or ``long``."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class ShownAs(Enum):
    """The ways a name may be shown."""

    GYM = "gym"
    FIRST = "first"
    OWN = "own"


def first_name(athlete: Athlete) -> str:
    """The first word of the gym's name for the child; their code where no name is kept."""
    words = str(athlete).split()
    return words[0] if words else athlete.code


def shown_name(athlete: Athlete) -> str:
    """The name for paper and mail: the family's choice, else the gym's."""
    return athlete.shown_as or str(athlete)


def chosen(athlete: Athlete) -> ShownAs:
    """Which of the ways is in use."""
    if not athlete.shown_as:
        return ShownAs.GYM
    return ShownAs.FIRST if athlete.shown_as == first_name(athlete) else ShownAs.OWN


def choose_name(*, athlete: Athlete, guardian: Guardian, way: ShownAs, own: str = "") -> Athlete:
    """Keep the choice. ``own`` is read only for a name of the family's own.

    The caller has checked whose child it is. Raises NameRefused where nothing could be seen of the
    name, or where it is longer than 200 characters.
    """
    if not guardian.guardianships.filter(athlete=athlete, may_see=True).exists():
        raise PermissionError("Only a guardian with rights for this child may choose.")
    shown = {ShownAs.GYM: "", ShownAs.FIRST: first_name(athlete)}.get(way)
    athlete.shown_as = tidied(own) if shown is None else shown
    athlete.save(update_fields=["shown_as"])
    return athlete


def tidied(typed: str) -> str:
    """A name on one line, in composed form, without marks that steer the text around it.

    Joiners stay: names in several scripts and many emoji need them.
    """
    kept = (
        " " if unicodedata.category(one) in {"Cc", "Zl", "Zp"} else one
        for one in unicodedata.normalize("NFC", typed)
        if one not in STEERING and unicodedata.category(one) != "Cs"
    )
    name = " ".join("".join(kept).split())
    if not any(unicodedata.category(one)[0] in "LNPS" for one in name):
        raise NameRefused("empty")
    if len(name) > LONGEST:
        raise NameRefused("long")
    return name
