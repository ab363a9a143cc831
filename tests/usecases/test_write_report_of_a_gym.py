"""The report on a whole made-up gym: it says what the pages say, and survives a round trip."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection, transaction
from pytest_django.plugin import DjangoDbBlocker

from progress.models import Athlete, Attempt, Calibration, GymClass, Hold, Tier
from progress.usecases.load_folder import load_folder
from progress.usecases.make_gym import make_gym
from progress.usecases.save_folder import save_folder
from progress.usecases.see_athlete import see_athlete
from progress.usecases.see_class import AthleteTonight, see_class
from progress.usecases.write_report import write_report

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)  # a Wednesday
ROUNDED = 0.00005 + 1e-9  # what four digits may hide
Rows = list[dict[str, str]]


@dataclass(frozen=True)
class Report:
    """The rows of the four files."""

    estimates: Rows
    readiness: Rows
    suggestions: Rows
    next_checks: Rows

    @classmethod
    def read(cls, folder: Path) -> "Report":
        return cls(
            **{
                path.stem: list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
                for path in folder.iterdir()
            }
        )

    def of(self, athlete: str) -> "Report":
        """The rows of one athlete."""
        mine = {
            name: [row for row in found if row["athlete"] == athlete]
            for name, found in vars(self).items()
        }
        return Report(**mine)

    def whose(self) -> list[str]:
        return [row["athlete"] for row in self.readiness]


@pytest.fixture(scope="module")
def report(
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Report]:
    """A made-up gym, there until the last test of this file is done, and the report on it.

    One class practises gentler, another bolder than usual.
    """
    folder = tmp_path_factory.mktemp("report")
    with django_db_blocker.unblock(), transaction.atomic():
        make_gym(seed=11, today=TODAY)
        for gym_class, asked in zip(GymClass.objects.all(), ("gentler", "bolder"), strict=False):
            GymClass.objects.filter(pk=gym_class.pk).update(challenge=asked)
        write_report(folder=folder, as_of=TODAY)
        yield Report.read(folder)
        transaction.set_rollback(True)


def empty_the_database() -> None:
    """Take every record of the gym away; what points where is only looked at in the end."""
    with connection.cursor() as cursor:
        for model in apps.get_app_config("progress").get_models(include_auto_created=True):
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")
    assert not Attempt.objects.exists()


def near(written: str, said: float | None) -> bool:
    """Whether a chance in a file is this one; an empty cell is none."""
    if not written or said is None:
        return not written and said is None
    return abs(float(written) - said) <= ROUNDED


def agrees(mine: Report, row: AthleteTonight) -> None:
    """Whether the report says of an athlete what the page of the class says."""
    (ready,) = mine.readiness
    said = row.readiness
    assert (ready["decision"], ready["why"]) == (said.decision, said.why)
    assert ready["holding_back"].split() == list(said.holding_back)
    assert near(ready["p_ready"], said.p_ready)
    for written in mine.estimates:
        told = row.estimates[written["skill"]]
        assert near(written["p_clean"], told.chance)
        assert (near(written["low"], told.low), near(written["high"], told.high)) == (True, True)
        last = "" if told.last is None else date.fromordinal(told.last).isoformat()
        assert (int(written["attempts"]), int(written["days"])) == (told.attempts, told.days)
        assert (written["last_at"], written["state"]) == (last, told.state)
    plans = sorted(
        (plan for each in row.suggestions.values() for plan in each), key=lambda p: p.loop
    )
    for written, plan in zip(mine.suggestions, plans, strict=True):
        assert (written["loop"], written["station"]) == (plan.loop, plan.station)
        assert (written["variant"], written["why"]) == (plan.variant or "", plan.why)
        assert near(written["p_clean"], plan.chance)
    checks = [(check.skill, str(check.rank), check.why) for check in row.checks]
    assert [(row["skill"], row["rank"], row["why"]) for row in mine.next_checks] == checks


def test_it_says_of_every_class_what_the_page_of_the_class_says(report: Report) -> None:
    told = []
    for gym_class in GymClass.objects.all():
        for row in see_class(gym_class=gym_class, today=TODAY).athletes:
            agrees(report.of(row.athlete.code), row)
            told.append(row.athlete.code)

    assert sorted(told) == report.whose()


def test_it_says_of_an_athlete_what_the_athletes_page_says(report: Report) -> None:
    """Every ninth, because each page replays a log of its own; the held ones are among them."""
    held = list(Hold.objects.values_list("athlete__code", flat=True))
    some = [*report.whose()[::9], *held]
    for athlete in Athlete.objects.filter(code__in=some):
        page, mine = see_athlete(athlete=athlete, today=TODAY), report.of(athlete.code)
        (ready,) = mine.readiness
        assert (ready["decision"], ready["why"]) == (page.readiness.decision, page.readiness.why)
        assert near(ready["p_ready"], page.readiness.p_ready)
        told = {r.skill.code: r.estimate for ladder in page.ladders for r in ladder.rungs}
        for written in mine.estimates:
            assert written["state"] == told[written["skill"]].state
            assert near(written["p_clean"], told[written["skill"]].chance)


def test_there_is_something_of_every_kind_in_it(report: Report) -> None:
    """Or the tests of this file would show little."""
    assert {row["decision"] for row in report.readiness} == {
        "ready",
        "nearly",
        "building",
        "needs_checks",
    }
    assert {row["state"] for row in report.estimates} == {
        "secure",
        "nearly",
        "building",
        "stale",
        "unchecked",
    }
    left = Athlete.objects.filter(left__isnull=False)
    assert left.exists()
    assert not set(left.values_list("code", flat=True)) & set(report.whose())
    assert len(report.readiness) == Athlete.objects.count() - left.count()
    held = Hold.objects.get(lifted=None).athlete.code
    assert {row["variant"] for row in report.of(held).suggestions} == {""}
    assert report.of(held).next_checks == []
    assert [row for row in report.suggestions if row["why"].startswith("easing back")]


def test_two_runs_are_the_same_to_the_byte(report: Report, tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_report(folder=tmp_path / name, as_of=TODAY)

    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()
    assert Report.read(tmp_path / "one") == report


def test_a_gym_saved_and_loaded_into_an_empty_place_gets_the_same_answers(
    report: Report, tmp_path: Path
) -> None:
    """All that a folder does not hold is allowed for: holds, leaving days, ages for tiers.

    Who ever had a hold has other numbers without it, because certainty fades faster in a hold.
    Who has left is back, because only a leaving day keeps them out. The youngest age of a tier is
    set again by hand. Registers are not in a folder either, but change neither of the two files:
    they only ease variants.
    """
    held = set(Hold.objects.values_list("athlete__code", flat=True))
    left = set(Athlete.objects.filter(left__isnull=False).values_list("code", flat=True))
    ages = list(Tier.objects.values_list("number", "minimum_age"))
    save_folder(folder=tmp_path / "saved")
    empty_the_database()
    load_folder(folder=tmp_path / "saved", now=datetime(2026, 11, 25, 20, tzinfo=UTC))
    for number, age in ages:
        Tier.objects.filter(number=number).update(minimum_age=age)

    write_report(folder=tmp_path / "report", as_of=TODAY)

    again = Report.read(tmp_path / "report")
    assert Calibration.objects.count() == 1
    assert set(again.whose()) == set(report.whose()) | left
    assert len(held) == 2
    compared = [code for code in report.whose() if code not in held]
    for code in compared:
        assert again.of(code).estimates == report.of(code).estimates
        assert again.of(code).readiness == report.of(code).readiness
    assert len(compared) > 100
