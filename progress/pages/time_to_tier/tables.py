"""The table beneath each tier's picture."""

import django_tables2 as tables

from progress.pages.shared.tables import RuledTable


class TimesTable(RuledTable):
    """How many set out, how many are there, and by when half were."""

    caption = "Counts of children. Nobody is named and nobody is put in order."

    name = tables.Column(verbose_name="Who", orderable=False)
    children = tables.Column(verbose_name="At the start", orderable=False)
    reached = tables.Column(verbose_name="Reached it", orderable=False, default="–")
    under_way = tables.Column(verbose_name="Still under way", orderable=False, default="–")
    left = tables.Column(verbose_name="Left first", orderable=False, default="–")
    half = tables.Column(verbose_name="Half are there by", orderable=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, orderable=False, **kwargs)
