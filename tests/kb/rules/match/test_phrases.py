"""Concepts from phrases. The names are trade words: common practice, no source."""

import pytest

from kb.rules.match.phrases import PhraseTable, split_words, stem_word

TABLE = PhraseTable(
    [
        ("drive_belt", "drive belt"),
        ("drive_belt", "transmission belt"),
        ("drive_belt", "v-belt"),
        ("contra_spring", "driven pulley spring"),
        ("torque_driver", "driven pulley"),
        ("drive_face", "drive face"),
        ("drive_face", "fixed half pulley"),
        ("gasket", "cover gasket"),
        ("gasket_set", "gasket set"),
        ("roller_set", "variator rollers"),
        ("variator", "variator"),
        ("", "rear"),
    ]
)


def code_of(text):
    found = TABLE.find_concepts({stem_word(word): 1.0 for word in split_words(text)})
    return [concept.code for concept in found]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("transmission belt", "drive_belt"),
        ("belt drive", "drive_belt"),
        ("V-belt", "drive_belt"),
        ("spring pulley driven", "contra_spring"),
        ("driven pulley", "torque_driver"),
        ("variator rollers", "roller_set"),
        ("variator", "variator"),
        ("face drive", "drive_face"),
    ],
)
def test_the_phrase_that_explains_most_words_wins(text, code):
    assert code_of(text)[0] == code


@pytest.mark.parametrize("text", ["", "rear", "drive", "banana"])
def test_too_few_words_name_nothing(text):
    assert code_of(text) == []


def test_near_ties_are_kept():
    assert set(code_of("cover gasket set")) == {"gasket", "gasket_set"}


def test_descriptive_words_name_no_article():
    assert TABLE.plain_words == {"rear"}
    assert "rear" not in TABLE.trade_words


def test_a_doubtful_word_lowers_the_coverage():
    (sure,) = TABLE.find_concepts({"drive": 1.0, "belt": 1.0})
    (doubtful,) = TABLE.find_concepts({"drive": 1.0, "belt": 0.8})
    assert sure.coverage == 1.0
    assert 0.8 < doubtful.coverage < 1.0
