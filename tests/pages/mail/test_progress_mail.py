"""The mail as it is drawn: plain HTML without styles, the same words as text."""

import re

import pytest

from progress.models import Guardian, Skill
from progress.pages.mail.progress_mail import draw_mail
from progress.usecases.families.progress_mail import ChildLines, ProgressMail


def drawn(child: ChildLines, language: str = "") -> tuple[str, str, str]:
    guardian = Guardian(name="Pat", email="pat@example.org", language=language)
    mail = draw_mail(ProgressMail(guardian, (child,)))
    return str(mail.subject), str(mail.body), str(mail.alternatives[0][0])


SKILL = Skill(code="LAND-1", name="Land still")


@pytest.mark.parametrize(
    ("child", "said", "unsaid"),
    [
        (ChildLines("Ada", (SKILL,), (), ()), "Can do lately", "Working on"),
        (ChildLines("Ada", (), (SKILL,), ()), "Working on", "Can do lately"),
        (ChildLines("Ada", (), (), (SKILL,)), "Next", "Working on"),
        (ChildLines("Ada", (), (), ()), "Nothing new is written down", "Working on"),
    ],
)
def test_it_says_what_there_is_and_nothing_else(child: ChildLines, said: str, unsaid: str) -> None:
    subject, text, html = drawn(child)
    assert subject == "News from the gym"
    for body in (text, html):
        assert said in body
        assert unsaid not in body
        assert "Ada" in body
        assert "take back your yes" in body


def test_text_and_html_say_the_same_words() -> None:
    _, text, html = drawn(ChildLines("Ada", (SKILL,), (SKILL,), (SKILL,)))
    words = re.sub(r"<title>.*?</title>|<[^>]+>", " ", html).split()
    assert words == text.replace("- ", "").split()


def test_it_styles_and_loads_nothing() -> None:
    _, _, html = drawn(ChildLines("Ada", (SKILL,), (), ()))
    assert not re.search(r"style|<img|<script|<link|http", html)
