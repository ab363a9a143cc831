"""What was moved just now, kept from the tap until the page is drawn again."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from django.http import HttpRequest

from progress.models import Loop, Station, Variant
from progress.pages.shared.words import step_word
from progress.usecases.plans.move_athlete import Change, Move, Moved
from progress.usecases.see_class import ClassTonight

KEY = "plan_moved"
MOST_CHANGES = 6


@dataclass(frozen=True)
class Notice:
    """By codes and keys, so that the session keeps no names.

    ``refused``: why nothing was stored. ``said``: something else to say at the same place.
    """

    gym_class: str
    day: str
    athlete: str
    station: str
    to: str | None = None
    made: int | None = None
    earlier: int | None = None
    changes: list[dict[str, Any]] = field(default_factory=list)
    refused: str = ""
    said: str = ""

    def keep(self, request: HttpRequest) -> None:
        """Until the page is drawn."""
        request.session[KEY] = asdict(self)


def notice_of(gym_class: str, day: str, athlete: str, move: Move, moved: Moved) -> Notice:
    """What to say after a move."""
    return Notice(
        gym_class,
        day,
        athlete,
        move.station,
        move.to,
        moved.made.pk if moved.made else None,
        moved.earlier.pk if moved.earlier else None,
        [asdict(change) for change in moved.changes],
    )


def pop_notice(request: HttpRequest, gym_class: str, day: str) -> Notice | None:
    """The notice for this page, once."""
    kept = request.session.get(KEY)
    if not kept or (kept["gym_class"], kept["day"]) != (gym_class, day):
        return None
    del request.session[KEY]
    return Notice(**kept)


@dataclass(frozen=True)
class MovedWords:
    """A notice in words; ``more``: changes left out. ``can_undo``: whether there is a move."""

    notice: Notice
    headline: str
    changes: tuple[str, ...]
    more: int
    can_undo: bool


def in_words(notice: Notice, tonight: ClassTonight) -> MovedWords:
    """The notice with the names of the class and the floor."""
    naming = Naming.of(tonight)
    changes = [naming.change(Change(**one)) for one in notice.changes]
    moved = not (notice.refused or notice.said)
    return MovedWords(
        notice,
        notice.refused or notice.said or naming.headline(notice),
        tuple(changes[:MOST_CHANGES]),
        max(len(changes) - MOST_CHANGES, 0),
        moved,
    )


@dataclass(frozen=True)
class Naming:
    """Names of athletes, loops, stations and variants by their codes."""

    athletes: Mapping[str, str]
    loops: Mapping[str, Loop]
    stations: Mapping[str, Station]
    variants: Mapping[tuple[str, str], Variant]

    @classmethod
    def of(cls, tonight: ClassTonight) -> "Naming":
        """For one class on its floor."""
        stations = {
            stop.station.code: stop.station for loop in tonight.loops for stop in loop.stops.all()
        }
        return cls(
            {each.athlete.code: str(each.athlete) for each in tonight.athletes},
            {loop.code: loop for loop in tonight.loops},
            stations,
            {
                (station.code, variant.code): variant
                for station in stations.values()
                for variant in station.variants.all()
            },
        )

    def headline(self, notice: Notice) -> str:
        """What the tap did."""
        who = self.athletes.get(notice.athlete, notice.athlete)
        if notice.to is None:
            where = f" at {self.station(notice.station)}" if notice.station else ""
            return f"{who}{where}: left to the engine again."
        if not notice.station:
            return f"{who} starts on {self.loop(notice.to)}."
        if not notice.to:
            return f"{who} leaves {self.station(notice.station)} out."
        return f"{who} at {self.station(notice.station)}: {self.step(notice.station, notice.to)}."

    def change(self, change: Change) -> str:
        """One thing that is planned otherwise now."""
        who = self.athletes.get(change.athlete, change.athlete)
        if not change.station:
            return f"{who} starts on {self.loop(change.after or '–')}"
        station = self.station(change.station)
        if change.after is None:
            return f"{who} finds no place at {station}"
        return f"{who} moves to {self.step(change.station, change.after)} at {station}"

    def loop(self, code: str) -> str:
        """A loop's name."""
        return str(self.loops.get(code, code))

    def station(self, code: str) -> str:
        """A station's name."""
        return str(self.stations.get(code, code))

    def step(self, station: str, variant: str | None) -> str:
        """``easier (low line)``."""
        found = self.variants.get((station, variant or ""))
        return f"{step_word(found.step)} ({found})" if found else str(variant)
