"""The look every table shares: our own template, a caption, sort states, labels for phones."""

from typing import Any

import django_tables2 as tables


class RuledTable(tables.Table):
    """A table with a caption, drawn by our own template.

    The template says scope and aria-sort and repeats each column's name in its cells, so that a
    phone can stack the rows without losing them. ``row_heading`` names the column that heads a row;
    ``even`` makes the columns equally wide.
    """

    caption = ""
    row_heading = "name"
    nobody = "Nobody here."
    even = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.caption = kwargs.pop("caption", self.caption)
        # Set here because a Meta is not handed down to tables that have none of their own.
        kwargs.setdefault("template_name", "progress/parts/table.html")
        kwargs.setdefault("empty_text", self.nobody)
        super().__init__(*args, **kwargs)
