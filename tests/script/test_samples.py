"""A phrase is said on sample values, in every way that its ifs may turn."""

from __future__ import annotations

import pytest

from cuegen.errors import PhraseError, Where
from cuegen.plan.model import Audience
from cuegen.script.book import BookLine
from cuegen.script.fields import FIELDS
from cuegen.script.kinds import CueKind
from cuegen.script.phrase import compile_phrase
from cuegen.script.samples import OTHERWISE, sample_texts, words_of


def texts(source: str, audience: Audience | None = None) -> tuple[str, ...]:
    phrase = compile_phrase(source, CueKind.GOAL, "en", Where())
    return sample_texts(BookLine(CueKind.GOAL, (phrase,), audience=audience), phrase)


def test_values_are_the_samples() -> None:
    assert texts("Hold {{ split | split }}.") == ("Hold two oh four point five.",)


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("{% if step == 'up' %}More.{% else %}Less.{% endif %}", ("More.", "Less.")),
        ("{% if rate == last_rate %}As before.{% endif %}", ("As before.",)),
        ("{% if rate == previous_rate %}As now.{% endif %}", ("As now.",)),
        ("{% if piece == pieces %}Last.{% endif %}", ("Last.",)),
        ("{% if piece == 1 %}First.{% endif %}", ("First.",)),
        ("{{ 'All.' if audience == 'group' else 'You.' }}", ("All.", "You.")),
        ("{% if 1 == 2 %}Never.{% endif %}", ()),
    ],
)
def test_an_if_is_tried_each_way(source: str, said: tuple[str, ...]) -> None:
    assert texts(source) == said


def test_a_line_for_one_audience_is_said_to_it_alone() -> None:
    source = "{{ 'All.' if audience == 'group' else 'You.' }}"
    assert texts(source, Audience.SOLO) == ("You.",)


def test_what_cannot_be_said_in_one_way_is_an_error() -> None:
    with pytest.raises(PhraseError, match="cannot be spoken"):
        texts("{% if step == 'down' %}{{ rate }}{% endif %}")


def test_words_are_what_stands_outside_the_brackets() -> None:
    source = "Hold {{ split | split }}{% if step == 'up' %}, now 2 up{% endif %}."
    phrase = compile_phrase("Hold {{ split | split }}.", CueKind.GOAL, "en", Where())
    assert words_of(phrase) == "Hold ."
    templated = compile_phrase(source.replace("2", "two"), CueKind.GOAL, "en", Where())
    assert words_of(templated) == "Hold , now two up ."


def test_the_sample_is_the_first_of_what_is_tried() -> None:
    for name, values in OTHERWISE.items():
        assert values[0] == FIELDS[name].sample
