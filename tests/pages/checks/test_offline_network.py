"""The queue and what surrounds it: other days and classes, no locks, a network that lies."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Route

from tests.pages.checks.conftest import Hall
from tests.pages.checks.phones import Phone, ask, open_sheet, put, record_all, says

NO_LOCKS = "Object.defineProperty(Navigator.prototype, 'locks', { get: () => undefined })"
TUESDAY = "/classes/tuesday/checks/"


@pytest.fixture
def kims(bare_hall: Hall, phone: Phone) -> BrowserContext:
    """Kim's phone."""
    return phone(bare_hall, "kim")


def test_tries_of_earlier_days_are_sent_and_of_last_month_refused(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = open_sheet(kims, bare_hall)
    for days in (3, 30):
        put(page, at=(datetime.now(UTC) - timedelta(days=days)).isoformat())

    says(page, "refused, 0 waiting, 1 refused")
    assert "more than 14 days ago" in page.evaluate("window.gymNews.refused[0].what[0]")
    assert len(bare_hall.stored()) == 1


def test_tries_of_another_class_are_sent_along(bare_hall: Hall, kims: BrowserContext) -> None:
    tuesday = open_sheet(kims, bare_hall, TUESDAY)
    monday = open_sheet(kims, bare_hall)
    kims.set_offline(True)
    put(tuesday, athlete="B00")
    says(monday, "1 elsewhere")
    tuesday.close()
    kims.set_offline(False)

    says(monday, "0 elsewhere")
    assert bare_hall.stored() == [("B00", "SKILL-0", "clean", "kim")]


def test_without_locks_two_tabs_still_send_everything_once(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    """As on a page without HTTPS."""
    kims.add_init_script(NO_LOCKS)
    pages = [open_sheet(kims, bare_hall) for _ in range(2)]
    assert pages[0].evaluate("navigator.locks === undefined")
    posts: list[str] = []
    kims.on("request", lambda r: posts.append(r.url) if r.method == "POST" else None)
    kims.set_offline(True)
    for page in pages:
        record_all(page)
    kims.set_offline(False)

    for page in pages:
        says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == 144
    assert len(posts) == 1


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 200, "content_type": "text/html", "body": "Welcome to our wireless"},
        {"status": 302, "headers": {"Location": "http://127.0.0.1:9/welcome"}},
        {"status": 200, "content_type": "application/json", "body": '{"stored": ['},
    ],
    ids=["welcome-page", "redirect", "cut-off"],
)
def test_a_wireless_network_that_answers_for_the_gym_is_not_believed(
    bare_hall: Hall, kims: BrowserContext, answer: dict[str, Any]
) -> None:
    page = open_sheet(kims, bare_hall)
    kims.route("**/checks/send/", lambda route: route.fulfill(**answer))
    put(page)
    says(page, "offline, 1 waiting")
    kims.unroute("**/checks/send/")
    ask(page, "send")

    says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == 1


def test_an_answer_that_names_other_uids_lets_go_of_nothing(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = open_sheet(kims, bare_hall)
    sent: list[int] = []

    def answer(route: Route) -> None:
        sent.append(len(json.loads(route.request.post_data or "")["entries"]))
        route.fulfill(json={"stored": ["ff" * 16], "before": 0})

    kims.route("**/checks/send/", answer, times=1)
    put(page)
    ask(page, "send")

    assert sent == [1]
    says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == 1
