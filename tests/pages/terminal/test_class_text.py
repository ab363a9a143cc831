"""Tonight's class in a terminal: the three answers, whole and within a hundred columns."""

import re
from datetime import timedelta

import pytest

from progress.engine.terms import Decision
from progress.models import Athlete, GymClass, Setup, Skill
from progress.pages.terminal.class_text import WORDS, class_as_text
from progress.usecases.see_class import see_class
from tests import makers

pytestmark = pytest.mark.django_db

HEADINGS = (
    "WHO IS READY FOR THE NEXT TIER",
    "WHICH VARIANT OF EACH STATION",
    "WHAT TO CHECK TONIGHT",
)
# A tool that suggests must not sound as if it had decided, nor turn children's skills into a race.
NEVER_SAID = re.compile(
    r"\b(safe|safely|cleared?|guaranteed?|certain|proven|points?|stars?|streak|rank|level up)\b",
    re.IGNORECASE,
)


def text_of(gym_class: GymClass) -> str:
    return class_as_text(see_class(gym_class=gym_class, today=makers.TODAY))


def part(text: str, heading: str) -> list[str]:
    """The lines of one answer, up to the next."""
    lines = text.splitlines()
    first = next(n for n, line in enumerate(lines) if line.startswith(heading))
    ends = [
        n for n, line in enumerate(lines) if n > first and line.startswith((*HEADINGS, "These"))
    ]
    return [line for line in lines[first + 1 : ends[0]] if line]


def line_of(lines: list[str], name: str) -> str:
    (found,) = (line for line in lines if name in line)
    return found


class TestTheWhole:
    def test_it_has_three_answers_and_ends_with_who_decides(
        self, monday_class: GymClass, floor: Setup
    ) -> None:
        text = text_of(monday_class)

        places = [text.index(heading) for heading in HEADINGS]
        assert places == sorted(places)
        assert " ".join(text.split("\n\n")[-1].split()) == (
            "These are suggestions. A qualified person on the floor decides; the equipment maker's "
            "instructions and local rules come first."
        )

    def test_it_says_which_class_which_day_how_many_and_on_which_floor(
        self, monday_class: GymClass, floor: Setup
    ) -> None:
        assert text_of(monday_class).splitlines()[:2] == [
            "Monday class, Monday 02 March 2026: 2 athletes",
            "Floor: This week",
        ]

    def test_without_a_floor_it_says_so_and_still_answers_the_rest(
        self, monday_class: GymClass
    ) -> None:
        text = text_of(monday_class)

        assert "Floor: no floor published for this week" in text
        assert part(text, HEADINGS[1]) == []
        assert line_of(part(text, HEADINGS[0]), "Ada")
        assert part(text, HEADINGS[2])

    def test_it_never_sounds_as_if_it_had_decided(
        self, monday_class: GymClass, bo: Athlete, cy: Athlete, floor: Setup
    ) -> None:
        makers.enrol(cy, monday_class)
        makers.make_hold(bo)

        assert NEVER_SAID.findall(text_of(monday_class)) == []
        assert NEVER_SAID.findall(" ".join(WORDS.values())) == []

    def test_a_class_that_nobody_is_in_can_be_shown(self, floor: Setup) -> None:
        text = text_of(makers.make_class("empty", name="Empty class"))
        assert "0 athletes" in text
        assert "Nothing would change an answer tonight." in text

    def test_no_line_is_longer_than_a_terminal_is_wide(self, monday_class: GymClass) -> None:
        """Long names, many skills that hold a child back, and loops of up to five stations."""
        skills = [
            makers.make_skill(
                f"LONG-{n}", ladder="long", name=f"{n} " + "a very long name of it " * 8
            )
            for n in range(6)
        ]
        makers.enrol(makers.make_athlete("long", name="Bartholomea " * 6), monday_class)
        setup = makers.make_setup(name="Floor")
        for size in (1, 3, 4, 5):
            stations = [
                makers.make_station(setup, variants=[skill], name="A station with a long name")
                for skill in skills[:size]
            ]
            makers.make_loop(setup, stations=stations)

        lines = text_of(monday_class).splitlines()
        assert max(map(len, lines)) <= 100
        assert any("Bartholomea Bartholome…" in line for line in lines)
        assert not any(line != line.rstrip() for line in lines)


class TestWhoIsReady:
    def test_a_row_has_name_tier_suggestion_chance_and_why(self, monday_class: GymClass) -> None:
        lines = part(text_of(monday_class), HEADINGS[0])

        assert re.fullmatch(
            r"Ada +1 +looks ready +92%  2 of 2 skills of tier 1 secure", line_of(lines, "Ada")
        )
        assert re.match(r"Bo +1 +building +\d+%  0 of 2 skills", line_of(lines, "Bo"))
        assert "held back by" in " ".join(lines)

    def test_who_looks_ready_comes_first(self, monday_class: GymClass, cy: Athlete) -> None:
        Athlete.objects.filter(pk=cy.pk).update(name="Aa")
        makers.enrol(cy, monday_class)

        lines = part(text_of(monday_class), HEADINGS[0])
        order = [line.split()[0] for line in lines[1:] if not line.startswith(" ")]
        assert order == ["Ada", "Aa", "Bo"]

    def test_every_decision_has_a_word(self) -> None:
        assert set(WORDS) == set(Decision)
        assert len(set(WORDS.values())) == len(Decision)

    def test_a_child_without_a_name_goes_by_the_code(self, monday_class: GymClass) -> None:
        makers.enrol(makers.make_athlete("a-17", name=""), monday_class)
        assert line_of(part(text_of(monday_class), HEADINGS[0]), "a-17")


class TestWhichVariant:
    def test_each_station_has_a_step_in_a_word_and_a_chance(
        self, monday_class: GymClass, floor: Setup
    ) -> None:
        loop, header, ada, bo = part(text_of(monday_class), HEADINGS[1])

        assert loop == "Loop First (Main)"
        assert header.split() == ["Athlete", "Jump", "down", "Bars"]
        assert re.fullmatch(r"\* Ada +(easier|base|harder) \d+% +(easier|base|harder) \d+%", ada)
        assert re.fullmatch(r"\* Bo +(easier|base) \d+% +easier \d+%", bo)

    def test_steps_further_off_are_numbered(
        self, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        setup = makers.make_setup()
        station = makers.make_station(setup)
        makers.make_variant(station, small_catalogue["LAND-1"], step=-2)
        makers.make_loop(setup, stations=[station])

        assert re.search(r"Ada +step -2 \d+%", text_of(monday_class))

    def test_where_nothing_fits_the_coach_is_needed(
        self, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        setup = makers.make_setup()
        stations = [makers.make_station(setup, variants=[small_catalogue["HANG-3"]])]
        makers.make_loop(setup, stations=stations)

        assert re.search(r"\* Bo +- with coach\n", text_of(monday_class))

    def test_a_star_marks_the_loop_to_start_on_once_for_each(
        self, monday_class: GymClass, floor: Setup, cy: Athlete
    ) -> None:
        makers.enrol(cy, monday_class)
        for _ in range(2):
            makers.make_loop(floor, stations=floor.stations.all())

        lines = part(text_of(monday_class), HEADINGS[1])
        for name in ("Ada", "Bo", "Cy"):
            rows = [line for line in lines if line[2:].startswith(f"{name} ")]
            assert sorted(line[0] for line in rows) == [" ", " ", "*"]

    def test_who_is_held_is_not_sent_anywhere(
        self, monday_class: GymClass, bo: Athlete, floor: Setup
    ) -> None:
        makers.make_hold(bo, starts=makers.TODAY - timedelta(days=1))
        text = text_of(monday_class)

        held = line_of(part(text, HEADINGS[1]), "Bo")
        assert held.split() == ["Bo", "on", "hold:", "ask", "the", "lead"]
        assert "on hold: ask the lead" in " ".join(part(text, HEADINGS[0]))
        assert not any("Bo" in line for line in part(text, HEADINGS[2]))


class TestWhatToCheck:
    def test_checks_are_numbered_in_their_order_with_who_what_and_why(
        self, monday_class: GymClass, cy: Athlete
    ) -> None:
        makers.enrol(cy, monday_class)
        tonight = see_class(gym_class=monday_class, today=makers.TODAY)
        said = " ".join(" ".join(part(class_as_text(tonight), HEADINGS[2])).split())

        assert len(tonight.checks) > 1
        assert said == " ".join(
            f"{check.rank}. {check.athlete.capitalize()} {tonight.skills[check.skill]} {check.why}"
            for check in tonight.checks
        )

    def test_it_says_so_where_nothing_is_to_be_checked(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete
    ) -> None:
        for athlete in (ada, bo):
            makers.make_hold(athlete)

        assert part(text_of(monday_class), HEADINGS[2]) == [
            "Nothing would change an answer tonight."
        ]
