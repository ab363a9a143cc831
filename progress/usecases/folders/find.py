"""Which files of a folder are ours."""

from pathlib import Path

from progress.usecases.folders.layout import FILES, LAYOUTS, Layout
from progress.usecases.folders.problems import Problems, some_of

NAME_ONE_FOLDER = "Name the folder that holds the CSV files."
ONE_OF_A_NAME = "Leave one of them in the folder."
AT_LEAST_ONE = f"Put at least one of {', '.join(FILES)} into it."


def find_files(folder: Path, problems: Problems) -> list[tuple[Layout, Path]]:
    """The files to read, in the order of the format; capital letters in names do not matter.

    Other files are remarked on and left alone; hidden ones, which systems strew, are not
    mentioned.
    """
    try:
        if not folder.is_dir():
            what = "is not a folder." if folder.exists() else "does not exist."
            problems.add(str(folder), None, None, what, NAME_ONE_FOLDER)
            return []
        entries = sorted(folder.iterdir())
    except OSError as error:
        what = f"cannot be read ({error.strerror or type(error).__name__})."
        problems.add(str(folder), None, None, what, NAME_ONE_FOLDER)
        return []
    found = []
    for layout in LAYOUTS:
        named = [path for path in entries if path.name.casefold() == layout.file]
        found += [(layout, path) for path in named[:1]]
        if len(named) > 1:
            what = f"the folder holds {some_of([path.name for path in named])}."
            problems.add(layout.file, None, None, what, ONE_OF_A_NAME)
    if not found:
        problems.add(str(folder), None, None, "holds none of the files.", AT_LEAST_ONE)
    others = [path.name for path in entries if path.name.casefold() not in FILES]
    note_others([name for name in others if not name.startswith((".", "~"))], problems)
    return found


def note_others(names: list[str], problems: Problems) -> None:
    """Remark on what is left alone; a spreadsheet's own file is most likely a slip."""
    if not names:
        return
    remark = f"Left alone, because not part of the format: {some_of(names)}."
    if any(name.casefold().endswith((".xls", ".xlsx", ".ods", ".numbers")) for name in names):
        remark += " Only CSV files are read: save each sheet as CSV UTF-8."
    problems.remarks.append(remark)
