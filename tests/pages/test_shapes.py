"""The sprite holds every shape that the pages name."""

from xml.etree import ElementTree

from django.contrib.staticfiles import finders

from progress.pages.shared import shapes

NAMED = [
    *shapes.RESULTS.values(),
    *shapes.STATES.values(),
    *shapes.FAMILY_STATES.values(),
    *shapes.DECISIONS.values(),
    shapes.HOLD,
    shapes.GATE,
    *(shapes.CHECK, shapes.MISSING, shapes.GATE_NOT_HELD),
    *(shapes.HERE, shapes.AWAY, shapes.REFUSED),
]


def symbols() -> dict[str, str]:
    found = finders.find("progress/shapes.svg")
    assert isinstance(found, str)
    root = ElementTree.parse(found).getroot()
    return {one.attrib["id"]: ElementTree.tostring(one).decode() for one in root}


def test_every_shape_that_is_named_is_in_the_sprite() -> None:
    assert {mark.shape for mark in NAMED} - symbols().keys() == set()


def test_no_two_shapes_are_drawn_alike() -> None:
    drawn = [text.partition(">")[2] for text in symbols().values()]

    assert len(set(drawn)) == len(drawn)


def test_shapes_take_the_colour_of_the_text_beside_them() -> None:
    for text in symbols().values():
        assert "#" not in text
        assert "currentColor" in text
