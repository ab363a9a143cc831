"""The page of the report card: verdict first, numbers below, a bad card in its own frame."""

import json
import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.engine.predictions import Predictions
from progress.engine.report_card import Against, ReportCard, marks
from progress.models import Skill
from progress.pages.report_card.charts import LARGEST, SMALLEST, reliability_figure
from progress.usecases import see_report_card as room
from progress.usecases.see_report_card import Judged

DAY = timedelta(days=1)


def page_of(client: Client) -> str:
    response = client.get(reverse("report_card"))
    assert response.status_code == 200
    return response.content.decode()


def card_of(said: float = 0.0) -> ReportCard:
    """Of 2,000 attempts; ``said`` is how much more it says than is true."""
    dice = np.random.default_rng(5)
    true = dice.uniform(0.3, 0.85, 2000)
    clean = (dice.random(2000) < true).astype(np.int64)
    who = np.arange(2000) % 40
    all_of_it = Predictions(np.arange(2000), np.clip(true + said, 0.01, 0.99), clean, who, who)
    whole, part = marks(all_of_it), marks(all_of_it.only(who < 10))
    names = ("base_rate", "running_rate", "elo", "logistic")
    against = {name: Against(0.6, 0.21, 0.03, 0.02, 0.04) for name in names}
    return ReportCard(1, whole, {"landing": part}, {1: whole}, ("hanging", 2), against)


@pytest.fixture
def judged(today: date, small_catalogue: dict[str, Skill]) -> Judged:
    return Judged(today - DAY, today - 60 * DAY, 3000, 2000, 40, 40, 0, card_of())


def show(monkeypatch: pytest.MonkeyPatch, client: Client, judged: Judged) -> str:
    monkeypatch.setattr(room, "judge_engine", lambda until: judged)
    return page_of(client)


class TestAGoodCard:
    @pytest.fixture
    def page(self, lead_client: Client, judged: Judged, monkeypatch: pytest.MonkeyPatch) -> str:
        return show(monkeypatch, lead_client, judged)

    def test_the_verdict_comes_first(self, page: str) -> None:
        assert page.index("Its numbers hold here") < page.index('id="curve"')
        assert "On this gym’s last 2,000 attempts, when it said about" in page
        assert "verdict-bad" not in page

    def test_the_curve_stands_in_a_table_too(self, page: str, judged: Judged) -> None:
        assert judged.card is not None
        curve = page.partition('id="curve"')[2].partition("</section>")[0]
        rows = re.findall(r'scope="row"[^>]*>about (\d+%)', curve)
        assert rows == [f"{round(100 * one.said)}%" for one in judged.card.overall.curve]

    def test_the_chart_gets_the_same_points(self, page: str, judged: Judged) -> None:
        assert judged.card is not None
        told = re.findall(r'<script id="reliability-figure"[^>]*>(.*?)</script>', page)[0]
        _, points = json.loads(told)["data"]
        assert points["y"] == pytest.approx([one.seen for one in judged.card.overall.curve])

    def test_ladders_and_tiers_go_by_their_names(self, page: str) -> None:
        ladders = page.partition('id="ladders"')[2].partition("</section>")[0]
        tiers = page.partition('id="tiers"')[2].partition("</section>")[0]
        assert "Landing" in ladders
        assert "500" in ladders
        assert "Tier 1" in tiers
        assert "Too few tries to say: Hanging, Tier 2." in tiers

    def test_the_measures_are_explained_with_their_values(self, page: str, judged: Judged) -> None:
        assert judged.card is not None
        assert f"Log loss, {judged.card.overall.log_loss:.3f}" in page
        assert f"Brier score, {judged.card.overall.brier:.3f}" in page
        for word in ("Reliability", "Resolution", "Uncertainty"):
            assert f"<dt>{word}, 0." in page

    def test_it_says_what_it_learnt_from(self, page: str) -> None:
        assert "learnt from the 3000 attempts before 1 January 2026" in page
        assert "All 40 children" in page


def test_a_bad_card_is_framed_and_says_so(
    lead_client: Client, judged: Judged, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = show(monkeypatch, lead_client, replace(judged, card=card_of(said=0.14)))
    assert 'class="verdict verdict-bad"' in page
    assert "Do not rely on its numbers here" in page
    assert "whoever looks after this site" in page


def test_children_drawn_by_lot_are_told(
    lead_client: Client, judged: Judged, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = show(monkeypatch, lead_client, replace(judged, of_children=900))
    assert "40 of 900 children were drawn by lot" in page


def test_an_empty_gym_says_how_much_is_needed_and_draws_nothing(lead_client: Client) -> None:
    page = page_of(lead_client)
    assert "Too little to say yet" in page
    assert "About 500 more are needed" in page
    assert "plotly" not in page


def test_it_takes_few_queries_once_it_is_kept(lead_client: Client, judged: Judged) -> None:
    page_of(lead_client)
    with CaptureQueriesContext(connection) as asked:
        page_of(lead_client)
    assert len(asked) <= 15


class TestChart:
    def test_the_bars_are_the_bounds_and_the_dashed_line_is_where_both_agree(self) -> None:
        curve = card_of().overall.curve
        figure = reliability_figure(curve)
        assert figure is not None
        bars, points = figure["data"]
        assert list(bars["y"][:3]) == [curve[0].low, curve[0].high, None]
        assert [one["dash"] for one in (figure["layout"]["shapes"][0]["line"],)] == ["dash"]
        ends = figure["layout"]["shapes"][0]
        assert (ends["x0"], ends["y0"], ends["x1"], ends["y1"]) == (0, 0, 1, 1)
        sizes = list(points["marker"]["size"])
        assert max(sizes) == LARGEST
        assert min(sizes) > SMALLEST
        most = max(range(len(curve)), key=lambda place: curve[place].attempts)
        assert sizes[most] == LARGEST

    def test_without_points_there_is_none(self) -> None:
        assert reliability_figure(()) is None
