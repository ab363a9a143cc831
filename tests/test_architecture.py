"""The shape of the project, held: one direction, small pieces, no clock and no dice below.

``urls, admin, management -> pages -> usecases -> models -> engine``, each free to use what comes
after it. Everything is read from the source, so nothing is imported here but the engine, once,
in a process of its own.
"""

import ast
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator
from graphlib import TopologicalSorter
from pathlib import Path

from django.apps import apps

from tests.source import (
    APP,
    ROOT,
    calls_of,
    files_below,
    functions_of,
    imports_of,
    kept_entries,
    module_of,
    references_of,
    short,
)

LAYERS = ("engine", "models", "usecases", "pages")  # from the inside out
OUTERMOST = {"admin", "apps", "management", "migrations", "templatetags", "urls"}
MODELS_MAY_ASK = {"progress.engine.terms", "progress.engine.rules"}
ENGINE_MAY_ASK = {"numpy", "scipy", "numba", *sys.stdlib_module_names}
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml"),
    *("progress", "gymsite", "tests", "fixtures"),
}
UNMIRRORED = {"bench"}  # test folders that stand for no folder of the source
VAGUE = {"service", "services", "util", "utils", "helper", "helpers", "manager", "managers"}
MOST_LINES_OF_A_FILE, MOST_LINES_OF_A_FUNCTION = 300, 40

CLOCKS = {
    *("datetime.datetime.now", "datetime.datetime.today", "datetime.datetime.utcnow"),
    *("datetime.date.today", "django.utils.timezone.now", "django.db.models.functions.Now"),
    *("time.time", "time.time_ns", "time.monotonic", "time.perf_counter", "time.gmtime"),
}
# These read the clock only when they are not told a moment.
CLOCKS_UNTOLD = {
    "django.utils.timezone.localdate",
    "django.utils.timezone.localtime",
    "time.localtime",
}
SEEDED = {"random.Random", "numpy.random.default_rng", "numpy.random.SeedSequence"}
DICE_TYPES = {"numpy.random.Generator", "numpy.random.BitGenerator"}
DICE = ("random", "numpy.random", "secrets", "uuid.uuid1", "uuid.uuid4", "os.urandom")

SOURCE = [path for path in files_below(APP, ".py") if "migrations" not in path.parts]
ENGINE = files_below(APP / "engine", ".py")
SITE = [*files_below(ROOT / "gymsite", ".py"), ROOT / "manage.py"]
TESTS = files_below(ROOT / "tests", ".py")
TEMPLATES = files_below(APP / "templates")


def place_of(module: str) -> str:
    """``pages`` for ``progress.pages.checks.views``; empty for ``progress`` itself."""
    return [*module.split("."), ""][1]


def room_of(module: str) -> str:
    """``checks`` for ``progress.pages.checks.views``; empty outside the pages."""
    parts = [*module.split("."), "", ""]
    return parts[2] if parts[1] == "pages" else ""


def below(name: str, tops: Iterable[str]) -> bool:
    """Whether a dotted name is one of ``tops`` or lies below one."""
    return any(f"{name}.".startswith(f"{top}.") for top in tops)


def own_imports(path: Path) -> Iterator[str]:
    """What a file imports from the project's app."""
    return (name for name in imports_of(path) if name.partition(".")[0] == "progress")


def rank(place: str) -> int:
    return LAYERS.index(place) if place in LAYERS else len(LAYERS)


class TestWhoMayImportWhom:
    def test_every_file_has_a_place(self) -> None:
        known = {*LAYERS, *OUTERMOST, ""}
        assert [short(path) for path in SOURCE if place_of(module_of(path)) not in known] == []

    def test_imports_point_inwards(self) -> None:
        wrong = []
        for path in SOURCE:
            own = place_of(module_of(path))
            others = [(name, place_of(name)) for name in own_imports(path)]
            wrong += [
                f"{short(path)} imports {name}"
                for name, other in others
                if own != other and rank(other) >= rank(own)
            ]
        assert wrong == []

    def test_models_take_words_and_rules_from_the_engine_and_nothing_else(self) -> None:
        wrong = [
            f"{short(path)} imports {name}"
            for path in files_below(APP / "models", ".py")
            for name in own_imports(path)
            if place_of(name) != "models" and not below(name, MODELS_MAY_ASK)
        ]
        assert wrong == []

    def test_a_room_reaches_into_no_other_room(self) -> None:
        wrong = [
            f"{short(path)} imports {name}"
            for path in files_below(APP / "pages", ".py")
            for name in own_imports(path)
            if room_of(name) not in {"", "shared", room_of(module_of(path))}
        ]
        assert wrong == []

    def test_the_engine_stands_alone(self) -> None:
        wrong = [
            f"{short(path)} imports {name}"
            for path in ENGINE
            for name in imports_of(path)
            if name.partition(".")[0] not in ENGINE_MAY_ASK and not below(name, ["progress.engine"])
        ]
        assert wrong == []

    def test_the_engine_loads_where_there_is_no_django(self) -> None:
        names = ", ".join(module_of(path) for path in ENGINE)
        code = f"import sys; sys.modules['django'] = None; import {names}"
        told = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, check=False, capture_output=True, text=True
        )
        assert told.returncode == 0, told.stderr

    def test_the_site_knows_nothing_of_gyms(self) -> None:
        """Settings and addresses name the app as text; nothing of it is imported."""
        assert [name for path in SITE for name in own_imports(path)] == []

    def test_imports_stand_at_the_top_and_are_written_in_full(self) -> None:
        wrong = []
        for path in [*SOURCE, *SITE]:
            wrong += [f"{short(path)}: {name}" for name in imports_of(path) if name[0] == "."]
            hidden = (node for function in functions_of(path) for node in ast.walk(function))
            wrong += [
                f"{short(path)}, line {node.lineno}"
                for node in hidden
                if isinstance(node, ast.Import | ast.ImportFrom)
            ]
            late = {"importlib.import_module", "importlib.__import__"}
            wrong += [f"{short(path)}: {name}" for _, name in references_of(path) if name in late]
        assert wrong == []

    def test_no_import_comes_round_to_its_start(self) -> None:
        known = {module_of(path): path for path in SOURCE}

        def file_of(name: str) -> str:
            while name and name not in known:
                name = name.rpartition(".")[0]
            return name

        graph = {
            module: {file_of(name) for name in own_imports(path)} - {module, ""}
            for module, path in known.items()
        }
        TopologicalSorter(graph).prepare()  # CycleError names the circle


def is_told(node: ast.expr, calls: dict[ast.expr, ast.Call]) -> bool:
    """Whether this is called with something, not counting a plain None."""
    if node not in calls:
        return False
    given = [*calls[node].args, *(word.value for word in calls[node].keywords)]
    return any(not (isinstance(one, ast.Constant) and one.value is None) for one in given)


class TestNoClockAndNoDice:
    def test_below_the_pages_the_day_is_told_and_never_asked(self) -> None:
        """A model may name the clock as a field's default, for the moment a row is stored."""
        wrong = []
        for path in SOURCE:
            place = place_of(module_of(path))
            if rank(place) >= rank("pages"):
                continue
            calls = calls_of(path)
            words = [word for call in calls.values() for word in call.keywords]
            defaults = {word.value for word in words if word.arg == "default"}
            for node, name in references_of(path):
                untold = name in CLOCKS_UNTOLD and not is_told(node, calls)
                stored_at = place == "models" and node in defaults
                if (name in CLOCKS or untold) and not stored_at:
                    wrong.append(f"{short(path)}, line {node.lineno}: {name}")
        assert wrong == []

    def test_the_engine_rolls_only_dice_it_was_given_a_seed_for(self) -> None:
        wrong = []
        for path in ENGINE:
            calls = calls_of(path)
            for node, name in references_of(path):
                seeded = name in SEEDED and is_told(node, calls)
                harmless = name in {"random", "numpy.random"} or name in DICE_TYPES
                if below(name, DICE) and not seeded and not harmless:
                    wrong.append(f"{short(path)}, line {node.lineno}: {name}")
            wrong += [
                f"{short(path)}, line {call.lineno}: rvs without random_state"
                for called, call in calls.items()
                if isinstance(called, ast.Attribute)
                and called.attr == "rvs"
                and "random_state" not in {word.arg for word in call.keywords}
            ]
        assert wrong == []


class TestSizesAndNames:
    def test_files_and_functions_stay_small(self) -> None:
        wrong = []
        for path in [*SOURCE, *SITE, *TESTS]:
            lines = path.read_text(encoding="utf-8").count("\n")
            if lines > MOST_LINES_OF_A_FILE:
                wrong.append(f"{short(path)} has {lines} lines")
            for function in functions_of(path):
                length = (function.end_lineno or 0) - function.lineno + 1
                if length > MOST_LINES_OF_A_FUNCTION:
                    wrong.append(f"{short(path)}: {function.name} has {length} lines")
        assert wrong == []

    def test_a_name_says_what_a_file_does(self) -> None:
        names = [short(path.with_suffix("")) for path in [*SOURCE, *SITE, *TESTS]]
        assert [name for name in names if VAGUE & set(re.split("[/_]", name.lower()))] == []

    def test_every_test_folder_stands_for_a_folder_of_the_source(self) -> None:
        folders = {path.parent.relative_to(ROOT / "tests") for path in TESTS}
        own = {one for one in folders if one.parts and one.parts[0] not in UNMIRRORED}
        assert [str(one) for one in sorted(own) if not (APP / one).is_dir()] == []

    def test_the_top_of_the_repository_stays_clear(self) -> None:
        names = {path.name for path in kept_entries(ROOT)}
        assert {name for name in names if not name.startswith(".")} - TOP_LEVEL == set()

    def test_every_constraint_is_tested(self) -> None:
        """Each one is named by a test that sees the database refuse a row."""
        told = "".join(path.read_text() for path in files_below(ROOT / "tests" / "models", ".py"))
        ours = apps.get_app_config("progress").get_models()
        named = [str(one.name) for model in ours for one in model._meta.constraints]
        assert [name for name in named if f'"{name}"' not in told] == []


# An address on one machine means nothing on another, and tells of people's machines.
MACHINE = re.compile(r"(?<![\w/.-])/(?:work|root)/|(?<![\w/.-])/(?:home|Users)/[a-z]+/")
UNPUBLISHED = re.compile(r"work.{0,3}shared", re.IGNORECASE)
INLINE = re.compile(
    r"<style\b|<[^>]*\s(?:style|on[a-z]+)\s*=|javascript:"
    r"|<script\b(?![^>]*\b(?:src=|type=\"application/json\"))",
    re.IGNORECASE,
)
ELSEWHERE = re.compile(
    r"<(?:script|link|img|iframe|source)\b[^>]*https?://|url\(\s*[\"']?https?:|@import",
    re.IGNORECASE,
)


def found_in(paths: Iterable[Path], *patterns: re.Pattern[str]) -> list[str]:
    """Where any of these patterns stands in any of these files."""
    texts = ((path, path.read_bytes().decode(errors="ignore")) for path in paths)
    return [
        f"{short(path)}: {match.group()}"
        for path, text in texts
        for pattern in patterns
        for match in pattern.finditer(text)
    ]


class TestWhatFilesSay:
    def test_no_file_names_a_place_on_somebodys_machine(self) -> None:
        assert found_in(files_below(ROOT), MACHINE, UNPUBLISHED) == []

    def test_no_template_styles_or_runs_anything_inline(self) -> None:
        """The content security policy would stop it, so it would not even work."""
        assert found_in(TEMPLATES, INLINE) == []

    def test_nothing_is_fetched_from_another_host(self) -> None:
        assert found_in([*TEMPLATES, *files_below(APP / "static")], ELSEWHERE) == []
