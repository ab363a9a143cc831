"""Where the plan is not full: who finds no place where, and which limit to relax."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from progress.engine.shortfalls import Limit, Shortfall
from progress.pages.plans.moved import Naming
from progress.pages.shared.words import step_word
from progress.usecases.plans.options import StationOptions
from progress.usecases.see_class import ClassTonight


@dataclass(frozen=True)
class Short:
    """At ``station`` of ``loop`` these children find no place; ``relax`` says what would help."""

    loop: str
    station: str
    who: str
    relax: tuple[str, ...]


def shorts(tonight: ClassTonight, options: StationOptions) -> list[Short]:
    """Every place where somebody whom a variant fits was left without one, by loop and station."""
    naming = Naming.of(tonight)
    found = []
    for (loop, station), rows in _turned_away(tonight, options).items():
        why = [
            one
            for one in tonight.shortfalls
            if (one.loop, one.station) == (loop, station) and set(one.rows) & set(rows)
        ]
        relax = tuple(dict.fromkeys(_relax(naming, why)))
        found.append(
            Short(
                naming.loop(loop),
                naming.station(station),
                in_a_row([str(tonight.athletes[row].athlete) for row in rows]),
                relax or ("More places and more adults at stations are both needed.",),
            )
        )
    return found


def _turned_away(
    tonight: ClassTonight, options: StationOptions
) -> dict[tuple[str, str], list[int]]:
    left_out = {
        (choice.athlete_id, choice.station.code)
        for choice in tonight.setting.choices
        if choice.station is not None and choice.variant is None
    }
    found: dict[tuple[str, str], list[int]] = defaultdict(list)
    for row, each in enumerate(tonight.athletes):
        for loop, plans in each.suggestions.items():
            for plan in plans:
                wanted = (each.athlete.pk, plan.station) not in left_out
                if plan.variant is None and wanted and options.any_fits(row, plan.station):
                    found[loop, plan.station].append(row)
    return found


def _relax(naming: Naming, shortfalls: Sequence[Shortfall]) -> Iterator[str]:
    for short in shortfalls:
        if short.limit is Limit.SPOTTERS:
            adults = f"{short.has} adult{'' if short.has == 1 else 's'}"
            yield f"{adults} at stations on this loop; with {short.needs} everybody has a place."
            continue
        variant = naming.variants.get((short.station, short.variant or ""))
        word = step_word(variant.step) if variant else short.variant
        places = f"{short.has} place{'' if short.has == 1 else 's'}"
        yield (
            f"{naming.station(short.station)}, {word}: {places}; with {short.needs} places "
            "everybody has one."
        )


def in_a_row(names: Sequence[str]) -> str:
    """``Ada, Bo and Cy``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
