"""Writing the records into a folder of CSV files that ``load_folder`` takes in again."""

from dataclasses import dataclass
from pathlib import Path

from django.db import transaction

from progress.usecases.folders.layout import ATHLETES, ATTEMPTS, FILES, FLOOR, LAYOUTS, SKILLS
from progress.usecases.folders.lines import (
    athlete_lines,
    attempt_lines,
    floor_lines,
    floors_to_save,
    skill_lines,
)
from progress.usecases.folders.problems import Problems, some_of
from progress.usecases.folders.write import Writer

MOST_REMARKS = 20


class FilesInTheWay(FileExistsError):
    """The folder holds such files already, and nobody said that they may be replaced."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        super().__init__(f"The folder already holds {some_of(names)}.")


@dataclass(frozen=True)
class Saved:
    """Rows written, by file, and what a person should know about them."""

    files: dict[str, int]
    remarks: tuple[str, ...]


def save_folder(*, folder: Path, replace: bool = False) -> Saved:
    """Write skills, athletes, standing attempts and published floors into ``folder``.

    The same records always give the same bytes. The folder is made if it is not there. Raises
    FilesInTheWay if it holds one of the files and ``replace`` is not set, and OSError if it cannot
    be written; then the files that were there are as before.
    """
    folder.mkdir(parents=True, exist_ok=True)
    there = sorted(path for path in folder.iterdir() if path.name.casefold() in FILES)
    if there and not replace:
        raise FilesInTheWay([path.name for path in there])
    problems = Problems()
    left_out: set[str] = set()
    writers: dict[str, Writer] = {}
    try:
        for layout in LAYOUTS:
            writers[layout.file] = Writer(layout, folder, problems)
        write_all(writers, left_out)
        for writer in writers.values():
            writer.place()
    finally:
        for writer in writers.values():
            writer.clear()
    for path in there:
        # A file under the same name in capitals would be read in the place of the new one.
        written = folder / path.name.casefold()
        if path.name not in FILES and path.exists() and not path.samefile(written):
            path.unlink()
    files = {file: writer.rows for file, writer in writers.items()}
    return Saved(files, tuple(remarks(problems, left_out)))


def write_all(writers: dict[str, Writer], left_out: set[str]) -> None:
    """Write the four files from one state of the records."""
    with transaction.atomic():
        floors = floors_to_save()
        variants = {
            variant.code
            for plan in floors
            for station in plan.stations
            for variant in station.variants
        }
        writers[SKILLS.file].write(skill_lines())
        writers[ATHLETES.file].write(athlete_lines())
        writers[ATTEMPTS.file].write(attempt_lines(variants, left_out))
        writers[FLOOR.file].write(floor_lines(floors))


def remarks(problems: Problems, left_out: set[str]) -> list[str]:
    """What to say about the files."""
    said = []
    if left_out:
        said.append(
            f"attempts.csv: variants of floors that are not published are left out:"
            f" {some_of(left_out)}."
        )
    if problems.total:
        said += problems.refusal(FILES).lines(MOST_REMARKS)
    return said
