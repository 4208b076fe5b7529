"""Whole look-ups on a few rows: order, certainty, explanations. Makers and numbers are invented."""

from dataclasses import replace

import pytest

from kb.rules.match.explain import format_why
from kb.rules.match.look_up import look_up
from kb.rules.match.score import score_candidate
from kb.rules.match.tokens import Candidate, Group, GroupKind, Reading, RowText
from kb.rules.match.trade import build_trade_analyser, list_ruled_out_concepts
from kb.terms import Certainty

ROWS = [
    RowText("ZI18 12928", "Béluna", "V-belt 788 x 17 x 28", codes=("plover-50-s",)),
    RowText("QQ.5512.78", "Tarvik Nord", "roller weights 16x13 7 g"),
    RowText("QQ.5512.79", "Tarvik Nord", "roller weights 16x13 8 g, set of 6"),
    RowText("BK-100200", "Béluna", "starter battery 6V 12Ah"),
    RowText("BK-100300", "Béluna", "starter battery 12V 9Ah"),
    RowText("77010-445", "Ostmark", "bearing 6203 2RS"),
    RowText("77010-446", "Ostmark", "clutch drum dia 105 mm RS50M"),
    RowText(
        "RAW-900100",
        "Ostmark",
        "article without a name",
        concepts=("drive_belt",),
        sizes=((669.0, "mm"), (18.0, "mm")),
    ),
]


@pytest.fixture(scope="module")
def ask(make_store):
    store, analyser = make_store(ROWS)
    return lambda text: look_up(store, analyser.analyse_question(text)).matches


@pytest.mark.parametrize(
    ("text", "part_number", "certainty"),
    [
        ("zi1812928", "ZI18 12928", Certainty.SURE),
        ("Z118 I2928", "ZI18 12928", Certainty.SURE),
        ("zi18129", "ZI18 12928", Certainty.PROBABLE),
        ("zi1812628", "ZI18 12928", Certainty.PROBABLE),
        ("clutchdrum 105 mm RS50M", "77010-446", Certainty.SURE),
        ("belt 28x17x788", "ZI18 12928", Certainty.SURE),
        ("transmission belt seven eighty eight by seventeen by twenty eight", "ZI18 12928", Certainty.SURE),
        ('cvt belt 31.02 x 0.67"', "ZI18 12928", Certainty.SURE),
        ("belt plover 50 s", "ZI18 12928", Certainty.SURE),
        ("variator rollers 16 13 7g", "QQ.5512.78", Certainty.SURE),
        ("weights 16x13 8 gram tarvik", "QQ.5512.79", Certainty.SURE),
        ("17 40 12 bearing", "77010-445", Certainty.SURE),
        ("drive belt 669 18", "RAW-900100", Certainty.SURE),
        ("clutch bell RS50M", "77010-446", Certainty.SURE),
        ("have you got ZI18 12928 please", "ZI18 12928", Certainty.SURE),
    ],
)
def test_the_row_that_is_meant_comes_first(ask, text, part_number, certainty):
    first = ask(text)[0]
    assert (first.candidate.part_number, first.certainty) == (part_number, certainty)


@pytest.mark.parametrize(
    "text",
    [
        "belt 787 17 28",
        "clutch bell RS60M",
        "roller weights 16x13 7.5 g",
        "drive belt 788 17 28 RS50M",
        "oil seal 30 47",
    ],
)
def test_a_size_or_code_that_is_not_there_is_never_more_than_unsure(ask, text):
    assert all(match.certainty is Certainty.UNSURE for match in ask(text))


def test_volt_and_ampere_hours_are_not_mixed_up(ask):
    assert ask("battery 6V 12Ah")[0].certainty is Certainty.SURE
    assert ask("battery 12V 6Ah")[0].certainty is Certainty.UNSURE


@pytest.mark.parametrize("text", ["rollers 16x7 13 g", "rollers 16x13 16 g", "rollers 7x13 16 g"])
def test_a_mass_is_not_answered_by_a_width(ask, text):
    assert all(match.certainty is Certainty.UNSURE for match in ask(text))


def test_one_wrong_unit_is_found_but_not_sure(ask):
    first = ask("roller weights 16x13 7 kg")[0]
    assert first.candidate.part_number == "QQ.5512.78"
    assert first.certainty is Certainty.PROBABLE
    assert "The row gives another unit for '7 kg'." in first.why


def test_a_word_not_understood_is_named_and_keeps_the_answer_from_being_sure(ask):
    first = ask("belt 788 17 28 Zorbeqqua")[0]
    assert first.certainty is Certainty.PROBABLE
    assert "Not understood: 'zorbeqqua'." in first.why


def test_a_maker_that_was_only_guessed_is_not_sure(ask):
    first = ask("belt 788 17 28 Belunka")[0]
    assert first.candidate.part_number == "ZI18 12928"
    assert first.certainty is Certainty.PROBABLE


def test_the_explanation_names_what_agrees_and_what_is_missing(ask):
    first = ask("belt 788 17 29 beluna")[0]
    assert first.why == (
        "Agrees: kind of part 'drive belt'; size '788', '17'; maker 'Beluna'. Not in this row: size '29'."
    )


def test_a_part_number_explains_itself(ask):
    assert ask("qq551278")[0].why == "The part number agrees."


def test_rows_with_fewer_other_numbers_come_first(make_store):
    store, analyser = make_store(
        [RowText("A-20001", "", "seal 20 35 7 11 99"), RowText("B-20002", "", "seal 20 35 7")]
    )
    found = look_up(store, analyser.analyse_question("oil seal 20x35x7"))
    assert [match.candidate.part_number for match in found.matches] == ["B-20002", "A-20001"]


def test_only_as_many_rows_as_wanted(make_store):
    store, analyser = make_store([RowText(f"A-2000{n}", "", "seal 20 35 7") for n in range(9)])
    assert len(look_up(store, analyser.analyse_question("seal 20 35 7"), limit=4).matches) == 4


def test_the_same_row_gives_the_same_keys_whatever_else_is_stored(make_store):
    row = RowText("A-1", "Oldra", "brk pad set 12V quadrnt")
    _, few = make_store([row])
    _, many = make_store([*ROWS, row, RowText("A-2", "Brk", "quadrnt brk 77")])
    assert few.analyse_row(row) == many.analyse_row(row)


def test_known_sizes_are_added_with_their_units_and_not_twice(make_store):
    row = RowText("A-1", "", "rollers 16x13 7", sizes=((16.0, "mm"), (13.0, "mm"), (7.0, "g")))
    _, analyser = make_store([row])
    tokens = analyser.analyse_row(row).tokens
    assert sorted(token for token in tokens if token[0] == "n") == ["n13", "n16", "n7", "n7g"]


def test_a_known_size_that_repeats_a_number_counts_twice(make_store):
    row = RowText("A-1", "", "rollers 25", sizes=((25.0, "mm"), (18.0, "mm"), (25.0, "g")))
    _, analyser = make_store([row])
    tokens = analyser.analyse_row(row).tokens
    assert sorted(token for token in tokens if token[0] == "n") == ["n18", "n25", "n25g", "n25x2"]


def test_an_inch_size_is_not_answered_by_the_same_number_of_degrees(make_store):
    store, analyser = make_store([RowText("A-30001", "", "belt 807 x 23.5 x 30")])
    first = look_up(store, analyser.analyse_question('belt 30.00 x 0.93"')).matches[0]
    assert first.certainty is not Certainty.SURE


def test_a_unit_that_the_text_already_says_is_not_added_again(make_store):
    row = RowText("A-1", "", "rollers 7 g", sizes=((7.0, "g"),))
    _, analyser = make_store([row])
    tokens = analyser.analyse_row(row).tokens
    assert sorted(token for token in tokens if token[0] == "n") == ["n7", "n7g"]


def test_a_unit_that_contradicts_the_text_is_kept_out_of_it(make_store):
    row = RowText("A-1", "", "rollers 7 cm", sizes=((7.0, "g"),))
    _, analyser = make_store([row])
    tokens = analyser.analyse_row(row).tokens
    assert sorted(token for token in tokens if token[0] == "n") == ["n7", "n7cm"]


def test_a_code_with_a_look_alike_character_finds_its_row(ask):
    assert ask("clutch bell RS5OM")[0].candidate.part_number == "77010-446"


def test_many_wrong_words_do_not_hide_the_size(ask):
    wrong = "zzqa zzqb zzqc zzqd zzqe zzqf zzqg zzqh zzqi zzqj zzqk"
    first = ask(f"{wrong} belt 788 17 28")[0]
    assert first.candidate.part_number == "ZI18 12928"
    assert first.certainty is not Certainty.SURE


def test_a_row_that_only_lacks_what_was_asked_agrees_in_nothing():
    size = Group(GroupKind.NUMBER, "12", 1.6, (("n12", 1.0),))
    row = Candidate(1, frozenset())
    assert format_why(score_candidate(Reading((size,)), row)) == "Not in this row: size '12'."


def test_part_type_outranks_what_the_description_seems_to_name():
    analyser = build_trade_analyser()
    text = "paint roller"
    typed = RowText("A-1", "", text, ruled_out=list_ruled_out_concepts("consumable"))
    assert analyser.analyse_row(RowText("A-1", "", text)).concepts == ("roller_set",)
    assert analyser.analyse_row(typed).concepts == ()
    assert "prollerset" in analyser.analyse_row(typed).tokens
    assert "kthreadlock" in analyser.analyse_row(replace(typed, description="thread lock 10 ml")).tokens
    bell = RowText("A-2", "", "nut for clutch bell", ("nut",), list_ruled_out_concepts("nut"))
    assert analyser.analyse_row(bell).concepts == ("nut",)


def test_row_that_only_names_the_kind_asked_for_comes_last_and_says_so(make_store):
    remover = RowText("A-1", "", "gasket remover", ruled_out=list_ruled_out_concepts("consumable"))
    store, analyser = make_store([remover, RowText("B-1", "", "cover gasket 12 mm", ("gasket",))])
    matches = look_up(store, analyser.analyse_question("gasket")).matches
    assert [match.candidate.part_number for match in matches] == ["B-1", "A-1"]
    assert matches[1].certainty is Certainty.UNSURE
    assert "It names 'gasket' but is recorded as another kind of part." in matches[1].why
    first = look_up(store, analyser.analyse_question("gasket remover")).matches[0]
    assert first.candidate.part_number == "A-1"
    assert first.certainty is not Certainty.SURE


@pytest.mark.parametrize("text", ["A/12 3", "a123", "Tarvik & Nord A/12 3", "tarvik & nord a-12-3"])
def test_a_short_part_number_is_found_letter_by_letter_also_behind_its_maker(make_store, text):
    rows = [RowText("A/12 3", "Tarvik & Nord", "drum"), RowText("A/12 4", "Tarvik & Nord", "drum"), *ROWS]
    store, analyser = make_store(rows)
    first = look_up(store, analyser.analyse_question(text)).matches[0]
    assert (first.candidate.part_number, first.certainty) == ("A/12 3", Certainty.PROBABLE)


NUTS = [
    RowText("N-1", "Beck", "Nut, bell M10x1.25 AF17"),
    RowText("N-2", "Beck", "Flange nut M10x1.25 LH AF17"),
    RowText("N-3", "Beck", "Nut M12x1.25 AF19 grade 10"),
    RowText("N-4", "Beck", "Nut, crank M10x1.25 AF17"),
    RowText("N-5", "Beck", "Nut M10x1.25 AF17"),
]


@pytest.mark.parametrize(
    ("asked", "sure", "differs"),
    [
        # A thread without a word for its hand runs to the right. Source: ISO 965-1, from memory.
        ("nut M10x1.25", {"N-1", "N-4", "N-5"}, {"N-2": ("left-hand thread",)}),
        ("nut M10x1.25 left hand thread", {"N-2"}, {}),
        # Nuts of the crankshaft and of the clutch are two articles: common practice, no source.
        ("variator nut M10x1.25", {"N-4", "N-5"}, {"N-1": ("place 'bell'",)}),
        ("clutch nut M10x1.25", {"N-1", "N-5"}, {"N-4": ("place 'crank'",)}),
        # Fine pitch 1.25 belongs to M10 and M12 (ISO 261); the 10 of "grade 10" is a strength class.
        ("nut 10x1.25", {"N-1", "N-4", "N-5"}, {"N-2": ("left-hand thread",)}),
        ("nut 12x1.25", {"N-3"}, {}),
    ],
)
def test_a_row_that_says_otherwise_is_not_sure_and_comes_later(make_store, asked, sure, differs):
    store, analyser = make_store(NUTS)
    found = look_up(store, analyser.analyse_question(asked)).matches
    surely = [match.candidate.part_number for match in found if match.certainty is Certainty.SURE]
    assert set(surely) == sure
    assert [match.candidate.part_number for match in found[: len(sure)]] == surely
    said = {match.candidate.part_number: match.scored.contradictions for match in found}
    assert {number: said[number] for number in differs} == differs


def test_few_rows_wanted_are_those_that_say_nothing_against_the_question(make_store):
    store, analyser = make_store(NUTS)
    question = analyser.analyse_question("variator nut M10x1.25")
    for limit in (1, 2):
        found = look_up(store, question, limit=limit).matches
        assert [match.certainty for match in found] == [Certainty.SURE] * limit


def test_a_part_that_has_one_place_only_is_not_asked_for_it(make_store):
    store, analyser = make_store([RowText("S-1", "Beck", "Contra spring driven pulley 34x120")])
    (match,) = look_up(store, analyser.analyse_question("variator contra spring 34x120")).matches
    assert match.scored.contradictions == ()
