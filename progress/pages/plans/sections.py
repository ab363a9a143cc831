"""The plan as it is drawn: a section a loop, a row an athlete, a cell a station."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from progress.engine.answers import Suggestion
from progress.engine.variants import in_words
from progress.models import Athlete, Challenge, Loop, PlanChoice, Station, Variant
from progress.pages.shared.words import step_word
from progress.usecases.plans.options import StationOptions
from progress.usecases.see_class import AthleteTonight, ClassTonight


@dataclass(frozen=True)
class Button:
    """One answer to a tap: what it sends, and its words; ``now``: it is so already."""

    value: str
    words: str
    small: str = ""
    now: bool = False


@dataclass(frozen=True)
class Barred:
    """A variant that cannot be chosen, and why."""

    words: str
    against: str


@dataclass(frozen=True)
class Cell:
    """One athlete at one station. ``choice``: fixed by hand and followed; ``aside``: not."""

    station: Station
    number: int
    suggestion: Suggestion | None
    variant: Variant | None
    choice: PlanChoice | None
    aside: PlanChoice | None
    step: str
    chance: str
    buttons: tuple[Button, ...]
    barred: tuple[Barred, ...]

    @property
    def left_out(self) -> bool:
        """Whether a coach chose that the athlete leaves the station out."""
        return self.choice is not None and self.variant is None


@dataclass(frozen=True)
class Row:
    """An athlete of a group with the cells of one loop and what can be changed about them."""

    each: AthleteTonight
    cells: tuple[Cell, ...]
    loop_choice: PlanChoice | None
    loops: tuple[Button, ...]
    challenges: tuple[Button, ...]

    @property
    def athlete(self) -> Athlete:
        """Who it is."""
        return self.each.athlete


@dataclass(frozen=True)
class Section:
    """A loop and the group on it; ``came_from``: the loop that group started on."""

    loop: Loop
    stations: tuple[Station, ...]
    came_from: Loop
    rows: tuple[Row, ...]


def stations_in_order(loop: Loop) -> tuple[Station, ...]:
    """As children meet them."""
    stops = sorted(loop.stops.all(), key=lambda stop: stop.position)
    return tuple(stop.station for stop in stops)


def tap(athlete: Athlete, station: str, to: str) -> str:
    """What a button of a move sends."""
    return urlencode({"athlete": athlete.code, "station": station, "to": to})


class Drawing:
    """Makes the sections of one class's plan."""

    def __init__(self, tonight: ClassTonight, options: StationOptions) -> None:
        self.tonight, self.options = tonight, options
        self.choices: dict[tuple[int, str], PlanChoice] = {}
        # Newest first, so what was chosen last is what remains.
        for choice in reversed(tonight.setting.choices):
            at = choice.station.code if choice.station else ""
            self.choices[choice.athlete_id, at] = choice

    def sections(self, changes: int) -> Iterator[Section]:
        """Where the groups are after ``changes`` of loop: each has gone on by so many."""
        loops = self.tonight.loops
        for place, loop in enumerate(loops):
            stations = stations_in_order(loop)
            start = loops[(place - changes) % len(loops)]
            rows = tuple(
                self._row(row, each, loop, stations)
                for row, each in enumerate(self.tonight.athletes)
                if each.starts_on == start.code
            )
            yield Section(loop, stations, start, rows)

    def _row(self, row: int, each: AthleteTonight, loop: Loop, stations: Sequence[Station]) -> Row:
        here = {one.station: one for one in each.suggestions.get(loop.code, ())}
        cells = tuple(
            self._cell(row, each.athlete, station, number, here.get(station.code))
            for number, station in enumerate(stations, start=1)
        )
        choice = self.choices.get((each.athlete.pk, ""))
        return Row(each, cells, choice, self._loops(each, choice), _challenges(each.athlete))

    def _cell(
        self, row: int, athlete: Athlete, station: Station, number: int, told: Suggestion | None
    ) -> Cell:
        variants = {variant.code: variant for variant in station.variants.all()}
        variant = variants.get(told.variant or "") if told else None
        choice = self.choices.get((athlete.pk, station.code))
        followed = choice is not None and (choice.variant.code if choice.variant else None) == (
            variant.code if variant else None
        )
        buttons, barred = self._options(row, athlete, station, variants, variant, choice)
        return Cell(
            station=station,
            number=number,
            suggestion=told,
            variant=variant,
            choice=choice if followed else None,
            aside=choice if choice and not followed else None,
            step=step_word(variant.step) if variant else "",
            chance="" if told is None or told.chance is None else in_words(told.chance),
            buttons=buttons,
            barred=barred,
        )

    def _options(
        self,
        row: int,
        athlete: Athlete,
        station: Station,
        variants: Mapping[str, Variant],
        now: Variant | None,
        choice: PlanChoice | None,
    ) -> tuple[tuple[Button, ...], tuple[Barred, ...]]:
        buttons, barred = [], []
        for option in self.options.at(row, station.code):
            variant = variants[option.variant]
            words = f"{step_word(variant.step).capitalize()}: {variant}"
            if option.chance is None:
                barred.append(Barred(words, option.against))
                continue
            small = in_words(option.chance) + (", adult stands here" if variant.spotter else "")
            value = tap(athlete, station.code, f"code:{variant.code}")
            buttons.append(Button(value, words, small, choice is not None and variant == now))
        out = tap(athlete, station.code, "code:")
        left_out = choice is not None and choice.variant is None
        buttons.append(Button(out, "Leaves this station out", now=left_out))
        engine = tap(athlete, station.code, "engine")
        buttons.append(Button(engine, "Leave it to the engine", now=choice is None))
        return tuple(buttons), tuple(barred)

    def _loops(self, each: AthleteTonight, choice: PlanChoice | None) -> tuple[Button, ...]:
        chosen = choice.loop.code if choice and choice.loop else None
        loops = [
            Button(
                tap(each.athlete, "", f"code:{loop.code}"),
                f"Start on {loop}",
                now=loop.code == chosen,
            )
            for loop in self.tonight.loops
        ]
        engine = Button(
            tap(each.athlete, "", "engine"), "Leave it to the engine", now=choice is None
        )
        return (*loops, engine)


def _challenges(athlete: Athlete) -> tuple[Button, ...]:
    return tuple(
        Button(
            urlencode({"athlete": athlete.code, "challenge": one.value}),
            str(one.label),
            now=athlete.challenge == one,
        )
        for one in Challenge
    )
