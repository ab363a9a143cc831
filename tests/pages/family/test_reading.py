"""How hard the family's English is to read, by a published measure.

Flesch-Kincaid grade level: Kincaid, Fishburne, Rogers, Chissom 1975, as the package
``readability`` counts it. A grade is a year of US school; grade 6 is about age 11. It counts
words a sentence and syllables a word and knows nothing of sense: a ceiling, not an aim.
"""

import re

import pytest
import readability

from progress.usecases.load_catalogue import starter_catalogue
from tests.spoken import sayings

HARDEST = 6.0
FAMILY = "progress/family/"
STANDS_FOR = {
    "day": "3 May",
    "month": "May",
    "tier": "Getting steady",
    "name": "Ada",
    "n": "3",
    "age": "5",
}


def sentences_of(texts: list[str]) -> list[str]:
    """Whole sentences, one an entry."""
    parts = (part for text in texts for part in re.split(r"(?<=[.?!:;])\s+", text))
    return [part.strip() for part in parts if part.strip()]


def packages_grade(texts: list[str]) -> float:
    """The grade as the package counts it: one sentence a line, marks apart from words."""
    lines = "\n".join(re.sub(r"([.,?!:;])", r" \1", line) for line in sentences_of(texts))
    return float(readability.getmeasures(lines, lang="en")["readability grades"]["Kincaid"])


def grade(texts: list[str]) -> float:
    """The same measure with no word under one syllable.

    The package gives words such as "the" none and so flatters; here every group of vowels counts
    but a silent e at the end.
    """
    lines = sentences_of(texts)
    words = [word for line in lines for word in re.findall(r"[a-z0-9’']+", line.lower())]
    syllables = sum(
        max(1, len(re.findall(r"[aeiouy]+", re.sub(r"(?<=[^l])e$", "", word)))) for word in words
    )
    return 0.39 * len(words) / len(lines) + 11.8 * syllables / len(words) - 15.59


def page_texts() -> list[str]:
    """Sentences of the family's pages with something in each gap; labels are no sentences."""
    said = [one for one in sayings().values() if one.where.startswith(FAMILY)]
    texts = [text for one in said for text in (one.text, one.plural) if text]
    whole = [text for text in texts if text.rstrip()[-1] in ".?!:"]
    return [re.sub(r"%\((\w+)\)s", lambda gap: STANDS_FOR[gap[1]], text) for text in whole]


def test_the_measure_is_the_published_one() -> None:
    """0.39 words a sentence + 11.8 syllables a word - 15.59, counted by hand."""
    by_hand = 0.39 * 7 + 11.8 * 10 / 7 - 15.59  # seven words of ten syllables in one sentence
    assert grade(["The little cat sat on the windowsill."]) == pytest.approx(by_hand)


def test_a_hard_text_is_found_to_be_hard() -> None:
    hard = ["Progression necessitates demonstrable consolidation of preliminary competencies."]
    assert grade(hard) > HARDEST
    assert packages_grade(hard) > HARDEST


def test_the_pages_read_at_grade_six_or_below() -> None:
    texts = page_texts()
    assert len(texts) > 25
    assert max(grade(texts), packages_grade(texts)) <= HARDEST


@pytest.mark.parametrize("part", ["text", "caution"])
def test_ideas_for_home_read_at_grade_six_or_below(part: str) -> None:
    ideas = [idea[part] for idea in starter_catalogue()["home_ideas"]]
    assert len(ideas) >= 15
    assert max(grade(ideas), packages_grade(ideas)) <= HARDEST


def test_no_sentence_of_a_page_is_long() -> None:
    """More than 20 words is a sentence to get lost in; common practice, no source."""
    for text in page_texts():
        for sentence in re.split(r"(?<=[.?!])\s+", text):
            assert len(sentence.split()) <= 20, sentence
