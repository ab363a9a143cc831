"""A full class: any number of athletes, loops and stations, all names made up."""

from datetime import timedelta

from progress.models import GymClass, ResultChoice, Setup, Skill, StationKind
from tests import makers

FIRST = (
    *("Alma", "Bruno", "Cora", "Dario", "Edda", "Falk", "Greta", "Hanno", "Ines", "Jonte"),
    *("Kira", "Levin", "Maila", "Nuno", "Orla", "Pelle", "Quirin", "Runa", "Silas", "Tilda"),
    *("Ulf", "Vera", "Wanda", "Xenia", "Yoris", "Zora", "Alma", "Bruno", "Cora", "Dario"),
)
LAST = ("Ahrendt", "Birkholm", "Castellan", "Dunmoor", "Eastbrook")
STATIONS = (
    ("Low line", StationKind.BEAM, ("wide board", "narrow board", "turning line")),
    ("Drop", StationKind.DROP, ("from the mat", "from the box", "from the high box")),
    ("Hanging walk", StationKind.OVERHEAD, ("feet help", "two rungs", "every second rung")),
    ("Climbing net", StationKind.CLIMB, ("leaning net", "steep net", "steep net, no feet")),
    ("Stepping blocks", StationKind.BLOCKS, ("close", "spaced", "spaced and high")),
    ("Long roll", StationKind.ROLL, ("down the wedge", "on the flat", "over a roll")),
)


def fill_hall(
    skills: dict[str, Skill], *, athletes: int = 30, loops: int = 2, spotters: int | None = 2
) -> GymClass:
    """The Monday class ``full`` on a floor of ``loops`` x six stations x three variants."""
    setup = makers.make_setup(name="Week of the long drop")
    for number in range(loops):
        _loop(setup, number, skills)
    gym_class = makers.make_class("full", name="Monday big ones", adults=5, spotters=spotters)
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (3, 2, 1)]
    results = (ResultChoice.CLEAN, ResultChoice.CLEAN, ResultChoice.ASSISTED, ResultChoice.MISS)
    for number in range(athletes):
        name = f"{FIRST[number % 30]} {LAST[number % 5]}"
        athlete = makers.make_athlete(f"c{number:02d}", name=name)
        makers.enrol(athlete, gym_class)
        for skill in ("LAND-1", "HANG-1"):
            tries = [results[0 if number % 3 else (number + n) % 4] for n in range(8)]
            makers.make_attempts(athlete, skills[skill], tries, days=days)
    return gym_class


def _loop(setup: Setup, number: int, skills: dict[str, Skill]) -> None:
    stations = []
    for place, (name, kind, words) in enumerate(STATIONS):
        code = f"s{number}-{place}"
        station = makers.make_station(setup, code, name=name, kind=kind)
        for step, word in zip((-1, 0, 1), words, strict=True):
            hard = "LAND-2" if place % 2 else "HANG-2"
            easy = "LAND-1" if place % 2 else "HANG-1"
            makers.make_variant(
                station,
                skills[hard if step > 0 else easy],
                f"{code}{step:+d}",
                step=step,
                name=f"{name}, {word}",
                height_m=0.3 + 0.2 * max(step, 0) if place % 2 else None,
                spotter=step > 0,
                seconds=None if place == 5 else 20.0 + 10 * place,
                places=6 if step > 0 else None,
            )
        stations.append(station)
    makers.make_loop(
        setup,
        f"loop-{number}",
        name=f"{('North', 'South', 'Far')[number]} round",
        order=number,
        stations=stations,
    )
