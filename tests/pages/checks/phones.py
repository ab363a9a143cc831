"""What a test does on a phone: opens the bare sheet, talks to its queue, looks into its store."""

from collections.abc import Callable
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from tests.pages.checks.conftest import Hall

Phone = Callable[[Hall, str], BrowserContext]
SHEET = "/classes/monday/checks/"
EVERY_CELL = """async ({ children, skills, round }) => {
  for (let child = 0; child < children; child += 1) {
    for (let skill = 0; skill < skills; skill += 1) {
      await window.gymQueue.put(window.newEntry({
        athlete: `A${String(child).padStart(2, "0")}`, skill: `SKILL-${skill}`, result: round,
      }));
    }
  }
  await window.newsIsFresh();
}"""
GONE = """async (path) => {
  for (const name of await caches.keys()) {
    if (await (await caches.open(name)).match(path)) { return false; }
  }
  return true;
}"""


def open_sheet(context: BrowserContext, hall: Hall, path: str = SHEET) -> Page:
    """Open the sheet and wait until the queue can be talked to."""
    page = context.new_page()
    page.goto(hall.url + path)
    ready(page)
    return page


def ready(page: Page) -> None:
    expect(page.locator("html[data-ready=yes]")).to_be_attached()


def record_all(page: Page, result: str = "clean") -> None:
    """Twelve children at six skills."""
    page.evaluate(EVERY_CELL, {"children": 12, "skills": 6, "round": result})


def put(page: Page, **entry: Any) -> str:
    """One try; answers its uid."""
    entry = {"athlete": "A00", "skill": "SKILL-0", "result": "clean", **entry}
    script = """async (said) => {
      const entry = window.newEntry(said);
      await window.gymQueue.put(entry);
      await window.newsIsFresh();
      return entry.uid;
    }"""
    return str(page.evaluate(script, entry))


def says(page: Page, news: str) -> None:
    expect(page.locator("#news")).to_contain_text(news)


def ask(page: Page, call: str, *values: object) -> Any:
    return page.evaluate(f"(values) => window.gymQueue.{call}(...values)", list(values))


def is_gone(page: Page, path: str = SHEET) -> None:
    """Wait until the worker keeps no copy of the page; it deletes in its own time."""
    page.wait_for_function(GONE, arg=path)


def kept(page: Page) -> list[dict[str, Any]]:
    """Everything in the browser's store, as it lies there."""
    script = """() => new Promise((resolve) => {
      indexedDB.open("gym-tries").onsuccess = ({ target }) => {
        const store = target.result.transaction("tries").objectStore("tries");
        store.getAll().onsuccess = (event) => {
          target.result.close();
          resolve(event.target.result);
        };
      };
    })"""
    return list(page.evaluate(script))
