"""Codes for what is made new.

What the log taught about a variant goes by its code, in every setup. So a copy keeps its codes, and
something new gets one that nothing has had before.
"""

from collections.abc import Collection
from itertools import count

from django.utils.text import slugify

from progress.models import Loop, Setup, Station, Variant

LONGEST = 40  # room for a number after it, within the 60 letters of the records


def fresh(word: str, taken: Collection[str]) -> str:
    """``word``, or ``word-2``, ``word-3``, ... where that is taken."""
    if word not in taken:
        return word
    return next(code for n in count(2) if (code := f"{word}-{n}") not in taken)


def loop_code(setup: Setup, name: str) -> str:
    """A code no loop of this setup has."""
    word = slugify(name)[:LONGEST] or "loop"
    taken = Loop.objects.filter(setup=setup, code__startswith=word)
    return fresh(word, set(taken.values_list("code", flat=True)))


def station_code(name: str) -> str:
    """A code no station of any setup has."""
    word = slugify(name)[:LONGEST] or "station"
    taken = Station.objects.filter(code__startswith=word).order_by()
    return fresh(word, set(taken.values_list("code", flat=True).distinct()))


def variant_codes(words: Collection[str]) -> list[str]:
    """For each word a code that no variant of any setup has; one query for each word."""
    given: list[str] = []
    for word in words:
        known = Variant.objects.filter(code__startswith=word[:LONGEST]).order_by()
        taken = {*known.values_list("code", flat=True).distinct(), *given}
        given.append(fresh(word[:LONGEST], taken))
    return given


def step_word(step: int) -> str:
    """``base``, ``easier``, ``harder-2`` and so on, as part of a code."""
    if step == 0:
        return "base"
    word = "easier" if step < 0 else "harder"
    return word if abs(step) == 1 else f"{word}-{abs(step)}"
