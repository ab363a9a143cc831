"""Say on which machine, and print figures in columns."""

import os
import platform
import sys
from collections.abc import Sequence

import numpy as np
import scipy


def machine() -> str:
    """Processor count, load, and versions: what a figure depends on."""
    load = os.getloadavg()[0]
    return (
        f"{platform.machine()}, {os.cpu_count()} cores, load {load:.1f}; Python "
        f"{platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}"
    )


def show(title: str, columns: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Print a table; numbers are rounded to four places."""
    cells = [list(columns), *([_text(value) for value in row] for row in rows)]
    widths = [max(len(row[at]) for row in cells) for at in range(len(columns))]
    print(f"\n{title}\n  [{machine()}]")
    for row in cells:
        line = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        print("  " + "  ".join(line).rstrip())
    sys.stdout.flush()


def met(good: bool) -> str:
    """Whether a target was met, in a word."""
    return "met" if good else "NOT MET"


def _text(value: object) -> str:
    if isinstance(value, float | np.floating):
        return f"{value:,.4f}" if abs(value) < 100 else f"{value:,.0f}"
    return f"{value:,}" if isinstance(value, int) else str(value)
