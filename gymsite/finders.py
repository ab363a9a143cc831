"""Serve plotly's own script from the installed package: no copy in the tree, no outside host."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import plotly
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage

FOLDER = Path(plotly.__file__).parent / "package_data"
NAME = "plotly.min.js"


class PlotlyFinder(BaseFinder):
    """Find exactly one file, ``plotly.min.js``."""

    def check(self, **kwargs: Any) -> list[Any]:
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        # A finder with nothing to offer must answer [], or the look-up breaks.
        if path != NAME:
            return []
        found = str(FOLDER / NAME)
        return [found] if find_all else found

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[Any]:
        yield NAME, FileSystemStorage(location=str(FOLDER))
