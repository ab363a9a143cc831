"""The two commands: what they say, what they ask, and how they end."""

import stat
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command, load_command_class
from django.utils import timezone

from progress.management.commands import restore
from progress.models import Ladder
from tests import makers

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("stopped_clock", "ladders"),
]
Answer = Callable[[str], None]


@pytest.fixture
def ladders(transactional_db: None) -> None:
    """Something to keep."""
    makers.make_ladder("landing")
    makers.make_ladder("hanging")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A backup of the two ladders, after which one is renamed."""
    path = tmp_path / "gym.backup"
    assert run("backup", path)[2] is None
    Ladder.objects.filter(code="landing").update(name="Since then")
    return path


@pytest.fixture
def answer(monkeypatch: pytest.MonkeyPatch) -> Answer:
    """Type something when asked."""
    return lambda typed: monkeypatch.setattr("builtins.input", lambda prompt: typed)


def run(command: str, file: Path, *options: str) -> tuple[str, str, CommandError | None]:
    """What the command wrote to each of its outlets, and its error."""
    out, err = StringIO(), StringIO()
    try:
        call_command(command, str(file), *options, stdout=out, stderr=err)
    except CommandError as error:
        return out.getvalue(), err.getvalue(), error
    return out.getvalue(), err.getvalue(), None


def name_of_landing() -> str:
    return Ladder.objects.get(code="landing").name


def test_a_backup_says_what_it_holds_and_where_it_belongs(tmp_path: Path) -> None:
    out, _, error = run("backup", tmp_path / "gym.backup")
    assert error is None
    assert "progress_ladder: 2 rows" in out
    assert "children's data" in out
    assert "Encrypt it, keep it off this machine" in out
    assert stat.S_IMODE((tmp_path / "gym.backup").stat().st_mode) == 0o600


def test_a_backup_writes_over_a_file_only_with_a_word(file: Path) -> None:
    before = file.read_bytes()
    error = run("backup", file)[2]
    assert "add --force" in str(error)
    assert file.read_bytes() == before
    assert run("backup", file, "--force")[2] is None
    assert file.read_bytes() != before


def test_a_backup_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    error = run("backup", tmp_path / "nowhere" / "gym.backup")[2]
    assert "no backup was made" in str(error)
    assert "See that the folder is there" in str(error)


def test_the_help_says_what_is_left_out() -> None:
    for command in ("backup", "restore"):
        text = load_command_class("progress", command).help
        assert "secret key" in text.lower()
        assert "essions" in text


def test_rows_are_not_deleted_without_the_option(file: Path) -> None:
    _, err, error = run("restore", file)
    assert "The database is not empty: progress_ladder hold rows." in err
    assert "add --replace" in err
    assert str(error) == "Nothing was changed."
    assert name_of_landing() == "Since then"


@pytest.mark.parametrize("typed", ["", "yes", "REPLACE"])
def test_rows_are_not_deleted_when_another_word_is_typed(
    file: Path, answer: Answer, typed: str
) -> None:
    answer(typed)
    out, _, error = run("restore", file, "--replace")
    assert "2 rows of this database will be deleted" in out
    assert "as of 02 March 2026, 12:00" in out
    assert "not agreed" in str(error)
    assert name_of_landing() == "Since then"


def test_rows_are_not_deleted_where_nobody_can_answer(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", StringIO())
    assert "--yes" in str(run("restore", file, "--replace")[2])
    assert name_of_landing() == "Since then"


def test_typing_the_word_replaces_them(file: Path, answer: Answer) -> None:
    answer("replace")
    assert run("restore", file, "--replace")[2] is None
    assert name_of_landing() == "Landing"


def test_a_restore_says_what_is_there_and_what_is_not(file: Path) -> None:
    Session.objects.create(session_key="k", session_data="", expire_date=timezone.now())
    out, err, error = run("restore", file, "--replace", "--yes")
    assert (err, error) == ("", None)
    assert "progress_ladder: 2 rows" in out
    assert "as of 02 March 2026, 12:00" in out
    assert "everybody signs in again" in out
    assert "withdraw again" in out
    assert not Session.objects.exists()


def test_a_damaged_file_is_named_and_nothing_changes(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:500])
    _, err, error = run("restore", file, "--replace", "--yes")
    assert "not a whole one" in err
    assert str(error) == "Nothing was changed."
    assert name_of_landing() == "Since then"


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    assert "cannot be read" in str(run("restore", tmp_path / "nowhere")[2])


def test_a_backup_by_another_engine_asks_for_a_calibration(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(restore, "VERSION", "another")
    assert "run `manage.py calibrate`" in run("restore", file, "--replace", "--yes")[0]


class TestErasures:
    """People who were erased since the backup must not come back with it."""

    def with_command(self, monkeypatch: pytest.MonkeyPatch, act: Callable[..., Any]) -> None:
        monkeypatch.setattr(restore, "get_commands", lambda: {"reapply_erasures": "progress"})
        monkeypatch.setattr(restore, "call_command", act)

    def test_they_are_applied_again_after_the_restore(
        self, file: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        seen = []
        self.with_command(monkeypatch, lambda name, **_: seen.append((name, name_of_landing())))
        run("restore", file, "--replace", "--yes")
        assert seen == [("reapply_erasures", "Landing")]

    def test_not_after_a_refusal(self, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        seen = []
        self.with_command(monkeypatch, lambda name, **_: seen.append(name))
        run("restore", file)
        assert seen == []

    def test_it_is_said_loudly_when_that_fails(
        self, file: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(name: str, **_: object) -> None:
            raise CommandError("no list.")

        self.with_command(monkeypatch, fails)
        error = run("restore", file, "--replace", "--yes")[2]
        assert "people erased since then may be back: no list." in str(error)

    def test_they_are_asked_for_where_there_is_no_such_command(
        self, file: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(restore, "get_commands", dict)
        out = run("restore", file, "--replace", "--yes")[0]
        assert "Now run `manage.py reapply_erasures`." in out
