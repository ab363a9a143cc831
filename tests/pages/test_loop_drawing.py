"""The picture of the floor: everything in its place, nothing over anything else."""

import re
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from django.template.loader import render_to_string
from hypothesis import given, settings

from progress.pages.shared.loop_cards import FloorStation, width_of
from progress.pages.shared.loop_drawing import FloorLoop, LoopDrawing, draw_floor
from tests.pages.drawn_floors import (
    FLOORS,
    Floor,
    Rectangle,
    both,
    cross,
    floors,
    points_of,
    rectangles,
)


def check_nothing_overlaps(drawing: LoopDrawing) -> None:
    """No two cards or names meet, everything lies inside, lines touch only what they join."""
    places = rectangles(drawing)
    sheet = Rectangle(0.0, 0.0, drawing.width, drawing.height)
    named = sorted(places.items())
    for number, (name, place) in enumerate(named):
        assert sheet.holds(place.left, place.top), name
        assert sheet.holds(place.right, place.foot), name
        for other, second in named[number + 1 :]:
            assert not place.meets(second), (name, other)
    for path in drawing.paths:
        start = f"start {path.loop}"
        joined = {path.here or start, path.there or start}
        points = points_of(path.d)
        for x, y in [*points, *points_of(path.arrow)]:
            assert sheet.holds(x, y), (path, x, y)
        for name, place in places.items():
            slack = -1.0 if name in joined else 2.0
            inside = [point for point in points if place.holds(*point, slack=slack)]
            assert not inside, (path.here, path.there, name)
        assert places[path.here or start].holds(*points[0], slack=0.02)
        assert places[path.there or start].holds(*points[-1], slack=0.02)


def check_writing_stays_on_cards(drawing: LoopDrawing) -> None:
    for card in drawing.cards:
        for text in card.face.texts:
            bold = text.css == "floor-name"
            wide = width_of(text.words, 14.0 if bold else 12.5, bold=bold)
            assert text.x + wide <= card.width - 6
            assert text.y + 3 <= card.height
        for badge in card.face.badges:
            assert badge.number_x + width_of(badge.number, 14.0, bold=True) <= card.width - 4
            assert badge.y + 20 <= card.height
        for tick in card.face.ticks:
            assert tick.x <= card.width - 6
            assert tick.foot <= card.height
        lines = sorted(text.y for text in card.face.texts)
        apart = [below - above for above, below in pairwise(lines)]
        assert all(gap == 0 or gap >= 14 for gap in apart), lines


class TestNothingOverlaps:
    @pytest.mark.parametrize("case", FLOORS.values(), ids=FLOORS.keys())
    def test_on_the_floors_coaches_build(self, case: Floor) -> None:
        for drawing in both(case):
            check_nothing_overlaps(drawing)
            check_writing_stays_on_cards(drawing)

    @settings(max_examples=60, deadline=None)
    @given(floors())
    def test_on_any_floor(self, case: Floor) -> None:
        for drawing in both(case):
            check_nothing_overlaps(drawing)
            check_writing_stays_on_cards(drawing)

    @pytest.mark.parametrize("case", FLOORS.values(), ids=FLOORS.keys())
    def test_a_phone_shows_these_floors_without_moving_sideways(self, case: Floor) -> None:
        tall, _ = both(case)
        if len(case[0]) <= 3:
            assert tall.width <= 358
            assert not tall.broad


class TestTheDrawingSaysWhatTheFloorIs:
    def test_a_shared_station_is_drawn_once_with_every_loop_s_number(self) -> None:
        for drawing in both(FLOORS["three loops sharing a middle"]):
            cards = [card for card in drawing.cards if card.code == "m"]
            assert len(cards) == 1
            assert [(b.letter, b.number) for b in cards[0].face.badges] == [
                ("A", "3"),
                ("B", "3"),
                ("C", "3"),
            ]

    def test_a_station_passed_twice_says_both_numbers(self) -> None:
        for drawing in both(FLOORS["a station passed twice"]):
            card = next(card for card in drawing.cards if card.code == "a")
            assert card.face.badges[0].number == "1, 4"

    @pytest.mark.parametrize("case", FLOORS.values(), ids=FLOORS.keys())
    def test_every_step_of_every_loop_is_a_line_and_the_way_round_a_light_one(
        self, case: Floor
    ) -> None:
        for drawing in both(case):
            for loop in case[0]:
                stops: list[str | None] = [None, *loop.stops]
                steps = [(p.here, p.there) for p in drawing.paths if p.loop == loop.code]
                wanted = list(pairwise(stops))
                round_again = [(loop.stops[-1], None)] if len(set(loop.stops)) > 1 else []
                assert sorted(steps, key=str) == sorted([*wanted, *round_again], key=str)
                backs = [(p.here, p.there) for p in drawing.paths if p.back and p.loop == loop.code]
                assert backs == round_again

    def test_loops_run_down_the_phone_and_across_the_laptop(self) -> None:
        tall, wide = both(FLOORS["one loop of three"])
        assert [card.code for card in sorted(tall.cards, key=lambda card: card.y)] == list("abc")
        assert [card.code for card in sorted(wide.cards, key=lambda card: card.x)] == list("abc")
        assert tall.labels[0].y < tall.cards[0].y
        assert wide.labels[0].x < wide.cards[0].x

    @pytest.mark.parametrize("name", ["three loops of eight", "a split and a rejoin"])
    def test_loops_that_need_not_cross_do_not(self, name: str) -> None:
        for drawing in both(FLOORS[name]):
            ways = [(p.loop, points_of(p.d)) for p in drawing.paths if not p.back]
            for number, (loop, points) in enumerate(ways):
                for other, others in ways[number + 1 :]:
                    assert loop == other or not cross(points, others)

    def test_swapped_stations_are_joined_both_ways(self) -> None:
        for drawing in both(FLOORS["two stations swapped"]):
            steps = {(p.loop, p.here, p.there) for p in drawing.paths}
            assert {("A", "b", "c"), ("B", "c", "b")} <= steps

    def test_an_arrow_points_at_where_the_line_ends(self) -> None:
        for drawing in both(FLOORS["two stations swapped"]):
            for path in drawing.paths:
                points, arrow = points_of(path.d), points_of(path.arrow)
                assert arrow[0] == points[-1]
                tip, foot = arrow[0], arrow[-1]
                before = points[-6]
                assert (tip[0] - foot[0]) * (tip[0] - before[0]) >= 0
                assert (tip[1] - foot[1]) * (tip[1] - before[1]) >= 0

    def test_loops_differ_by_letter_shape_and_line(self) -> None:
        for drawing in both(FLOORS["three loops of eight"]):
            faces = [label.face.badge for label in drawing.labels]
            assert [face.letter for face in faces] == ["A", "B", "C"]
            assert len({face.outline for face in faces}) == 3
            assert len({path.pattern for path in drawing.paths}) == 3

    def test_loops_with_longer_codes_get_letters_in_order(self) -> None:
        loops = [FloorLoop("main-1", "", ("a",)), FloorLoop("main-2", "", ("a",))]
        picture = draw_floor(loops, [FloorStation("a", "Beam")])
        assert [loop.letter for loop in picture.loops] == ["A", "B"]

    def test_a_long_name_is_cut_and_told_in_full(self) -> None:
        name = "A very long name for a station that nobody would ever paint on a sign"
        for drawing in both(([FloorLoop("A", "", ("a",))], [FloorStation("a", name)])):
            face = drawing.cards[0].face
            lines = [text.words for text in face.texts if text.css == "floor-name"]
            assert len(lines) == 2
            assert lines[-1].endswith("…")
            assert face.full_words == name

    def test_steps_are_named_where_they_fit_and_are_strokes_where_they_do_not(self) -> None:
        short = FloorStation("a", "Beam", ((-1, "easier"), (0, "base"), (1, "harder")))
        long = FloorStation(
            "a", "Beam", tuple((step, "quite a long name") for step in range(-2, 9))
        )
        loops = [FloorLoop("A", "", ("a",))]
        for drawing in both((loops, [short])):
            face = drawing.cards[0].face
            words = " ".join(text.words for text in face.texts if text.css == "floor-small")
            assert words == "easier · base · harder"
            assert face.ticks == ()
        tall, _ = both((loops, [long]))
        ticks = tall.cards[0].face.ticks
        assert [tick.base for tick in ticks] == [False, False, True, *[False] * 8]
        assert ticks[2].foot - ticks[2].top > ticks[0].foot - ticks[0].top

    def test_a_spotter_and_several_lanes_stand_on_the_card(self) -> None:
        stations = [FloorStation("a", "Net", spotter=True, lanes=2), FloorStation("b", "Box")]
        for drawing in both(([FloorLoop("A", "", ("a", "b"))], stations)):
            net, box = (card.face for card in drawing.cards)
            assert net.spotter is not None
            assert [text.words for text in net.texts] == ["Net", "spotter", "2 lanes"]
            assert net.full_words == "Net. spotter. 2 lanes"
            assert box.spotter is None
            assert [text.words for text in box.texts] == ["Box"]

    def test_a_station_on_no_loop_still_stands_there(self) -> None:
        loops, stations = FLOORS["one loop of three"]
        picture = draw_floor(loops, [*stations, FloorStation("spare", "Spare mat")])
        assert picture.alone == ("Spare mat",)
        for drawing in both((loops, [*stations, FloorStation("spare", "Spare mat")])):
            assert "spare" in {card.code for card in drawing.cards}
            check_nothing_overlaps(drawing)

    def test_drawing_twice_gives_the_same(self) -> None:
        for case in FLOORS.values():
            assert draw_floor(*case) == draw_floor(*case)


class TestWhatCannotBeDrawn:
    def test_an_empty_floor_is_said_in_words(self) -> None:
        picture = draw_floor([], [])
        assert picture.tall is None
        assert "No stations" in render_to_string(
            "progress/parts/loop_picture.html", {"picture": picture}
        )

    def test_a_loop_without_stops_is_left_out(self) -> None:
        loops, stations = FLOORS["one loop of three"]
        assert draw_floor([*loops, FloorLoop("Z", "Empty", ())], stations) == draw_floor(
            loops, stations
        )

    def test_a_stop_nobody_described_is_named(self) -> None:
        with pytest.raises(ValueError, match="loop A stops at ghost"):
            draw_floor([FloorLoop("A", "", ("ghost",))], [])

    def test_two_stations_of_one_code_are_refused(self) -> None:
        with pytest.raises(ValueError, match="share a code"):
            draw_floor([], [FloorStation("a", "One"), FloorStation("a", "Two")])


class TestThePage:
    def test_it_says_the_floor_as_lists_and_styles_nothing_inline(self) -> None:
        page = rendered(FLOORS["two stations swapped"])
        assert page.count('role="img"') == 2
        assert page.count("<ol>") == 2
        assert " style=" not in page
        assert "<script" not in page
        stops = re.findall(r"<ol>(.*?)</ol>", page, re.DOTALL)
        assert [re.findall(r"(\w)[.<]", stop)[0] for stop in stops] == ["a", "a"]

    def test_what_a_coach_typed_is_written_as_words(self) -> None:
        case = ([FloorLoop("A", "<b>x", ("a",))], [FloorStation("a", "<i>Beam & bar")])
        page = rendered(case)
        assert "<b>" not in page
        assert "<i>" not in page

    def test_every_element_is_closed(self) -> None:
        for case in FLOORS.values():
            parser = Balanced()
            parser.feed(rendered(case))
            assert parser.open == []


class Balanced(HTMLParser):
    """Keeps the elements that are open."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def rendered(case: Floor) -> str:
    return render_to_string("progress/parts/loop_picture.html", {"picture": draw_floor(*case)})
