"""Whatever a child is called, the page is drawn, nothing of the name is taken for markup, and its
letters turn no neighbour round."""

from dataclasses import replace

import pytest
from django.contrib.auth.models import AnonymousUser
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.utils import translation
from django.utils.html import escape
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from progress.models import Athlete
from progress.pages.family.views import on_page
from progress.usecases.see_family import ChildProgress, see_family
from tests import makers

LETTERS = st.characters(exclude_categories=("Cs", "Cc"))
NAMES = st.text(LETTERS, min_size=1, max_size=200).filter(lambda name: name.strip())


@pytest.fixture
def of_ada(ada: Athlete) -> ChildProgress:
    """Ada's page, put together once."""
    (progress,) = see_family(children=[ada], today=makers.TODAY)
    return progress


def drawn(progress: ChildProgress, name: str) -> str:
    request = RequestFactory().get("/family/")
    request.user = AnonymousUser()
    request.resolver_match = None
    named = replace(progress, athlete=Athlete(pk=progress.athlete.pk, name=name, code="c"))
    context = {"children": [on_page(named)]}
    return render_to_string("progress/family/page.html", context, request=request)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(name=NAMES, language=st.sampled_from(["en", "es"]))
@example(name="Zoë 🧗🏽‍♀️", language="en")
@example(name="e" + "\u0301" * 40, language="es")
@example(name="נועה לוי", language="en")
@example(name="\u202eAda", language="es")
@example(name="<b>&\"'{{ x }}%(day)s", language="en")
@example(name="x" * 200, language="es")
@example(name="Q", language="en")
def test_any_name_is_shown_whole_escaped_and_on_its_own(
    of_ada: ChildProgress, name: str, language: str
) -> None:
    with translation.override(language):
        page = drawn(of_ada, name)

    shown = f"<bdi>{escape(name)}</bdi>"
    assert f'tabindex="-1">{shown}</h1>' in page
    assert page.count(escape(name)) >= page.count(shown) >= 2
    assert page.count("<h1") == 1


def test_the_name_the_family_chose_stands_for_the_other(ada: Athlete) -> None:
    ada.shown_as = "Captain A"
    (progress,) = see_family(children=[ada], today=makers.TODAY)
    page = drawn(progress, "Ada")
    assert progress.name == "Captain A"
    assert "<bdi>Ada</bdi>" in page
