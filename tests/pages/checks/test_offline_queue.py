"""The queue of the check sheet by itself, on a bare page in a real browser: each try once."""

import pytest
from playwright.sync_api import BrowserContext

from tests.pages.checks.conftest import Hall
from tests.pages.checks.phones import Phone, ask, kept, open_sheet, put, record_all, says


@pytest.fixture
def kims(bare_hall: Hall, phone: Phone) -> BrowserContext:
    """Kim's phone."""
    return phone(bare_hall, "kim")


def test_a_try_sends_itself_and_leaves_nothing_on_the_phone(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = open_sheet(kims, bare_hall)

    put(page, result="assisted")

    says(page, "saved, 0 waiting")
    assert bare_hall.stored() == [("A00", "SKILL-0", "assisted", "kim")]
    assert kept(page) == []


def test_a_class_recorded_without_a_network_is_stored_once_it_is_back(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = open_sheet(kims, bare_hall)
    kims.set_offline(True)
    record_all(page)
    says(page, "offline, 72 waiting")
    assert bare_hall.stored() == []

    kims.set_offline(False)

    says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == len(set(bare_hall.stored())) == 72


def test_without_a_network_the_phone_holds_ids_results_and_times_and_no_name(
    bare_hall: Hall, kims: BrowserContext
) -> None:
    page = open_sheet(kims, bare_hall)
    kims.set_offline(True)
    put(page, name="Child 00", note="shy", reason="")

    [record] = kept(page)

    assert set(record) == {
        *("number", "uid", "athlete", "skill", "result", "variant", "at", "supersedes"),
        *("taken_back", "reason", "class_code", "send_url", "by", "tried", "refused"),
    }
    assert "Child" not in str(record)
    assert "shy" not in str(record)


@pytest.mark.parametrize("moment", ["before-commit", "before-answer"])
def test_a_server_struck_down_midway_stores_each_try_once_when_it_is_back(
    bare_hall: Hall, kims: BrowserContext, moment: str
) -> None:
    page = open_sheet(kims, bare_hall)
    kims.set_offline(True)
    record_all(page)
    bare_hall.die(moment)

    kims.set_offline(False)
    assert bare_hall.died() == 9
    assert len(bare_hall.stored()) == (72 if moment == "before-answer" else 0)
    bare_hall.start()

    says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == len(set(bare_hall.stored())) == 72


def test_a_double_tap_puts_one_try(bare_hall: Hall, kims: BrowserContext) -> None:
    page = open_sheet(kims, bare_hall)
    uid = "ab" * 16

    for _ in range(2):
        put(page, uid=uid)
    ask(page, "send")

    says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == 1


def test_a_restored_phone_that_sends_again_stores_nothing_new(
    bare_hall: Hall, kims: BrowserContext, phone: Phone
) -> None:
    for context in (kims, phone(bare_hall, "kim")):
        page = open_sheet(context, bare_hall)
        put(page, uid="cd" * 16)
        says(page, "saved, 0 waiting")

    assert len(bare_hall.stored()) == 1


def test_two_tabs_send_one_phone_full_once(bare_hall: Hall, kims: BrowserContext) -> None:
    pages = [open_sheet(kims, bare_hall) for _ in range(2)]
    posts: list[str] = []
    kims.on("request", lambda sent: posts.append(sent.url) if sent.method == "POST" else None)
    kims.set_offline(True)
    for page in pages:
        record_all(page)
    kims.set_offline(False)
    for page in pages:
        page.evaluate("() => { window.gymQueue.send(); window.gymQueue.send(); }")

    for page in pages:
        says(page, "saved, 0 waiting")
    assert len(bare_hall.stored()) == 144
    assert len(posts) == 1
