"""What a catalogue folder is refused for, each by file, line, column and value.

Plausible ranges are those of the cases that reliability asks for: angle 0 to 90°, length at least five top
widths, mass of a roller 0.4 to 100 g, sizes above zero.
"""

from itertools import pairwise

import pytest
from sqlalchemy import text

SOURCES = "source,kind\nbook,manual\nlist,supplier\n"
ENGINES = "engine\nfinch-50\nfinch-80\n"
PARTS = "maker,part_number,part_type\nWren,B-743,drive_belt\nWren,B-750,drive_belt\nWren,B743,drive_belt\n"
BASE = {"sources": SOURCES, "engines": ENGINES, "parts": PARTS}
SUPPLIERS = "supplier,currency\nalder,EUR\nbirch,\n"

# kind of sheet, its content, and the one problem: line, column, value, part of the message
REFUSALS = [
    ("sources", "source,kind\nbook,pamphlet\n", (2, "kind", "pamphlet", "accepted are manual, standard")),
    ("sources", "source,kind\n,manual\n", (2, "source", "", "must be filled in")),
    ("sources", "source,kind\nbook,manual\nbook,manual\n", (3, "source", None, "same thing as line 2")),
    ("sources", "source,kind\nbook,not_stated\n", (2, "kind", "not_stated", "accepted are")),
    ("engines", "engine\nFinch-50\n", (2, "engine", "Finch-50", "write 'finch-50'")),
    ("engines", "engine\nfinch-50\n\nfinch-50\n", (4, "engine", None, "same thing as line 2")),
    ("engines", "engine\n..\n", (2, "engine", "..", "cannot stand in an address")),
    ("engines", "engine,strokes\nfinch-50,3\n", (2, "strokes", "3", "write 2 or 4")),
    ("engines", "engine,bore_mm\nfinch-50,-40\n", (2, "bore_mm", "-40", "above 0 to 200 mm")),
    ("engines", "engine,source\nfinch-50,boook\n", (2, "source", "boook", "nearest spelling is 'book'")),
    ("features", "engine,quantity,value\nfinsh-50,x,1\n", (2, "engine", "finsh-50", "nearest spelling")),
    ("features", "engine,quantity,value,unit\nfinch-50,x,long,mm\n", (2, "value", "long", "not a number")),
    ("features", "engine,quantity,value\nfinch-50,,1\n", (2, "quantity", "", "must be filled in")),
    (
        "vehicles",
        "make,model,year_from,year_to,engine\nLark,Hop,2012,2008,finch-50\n",
        (2, "year_to", "2008", "year_to 2008 is below year_from 2012"),
    ),
    (
        "vehicles",
        "make,model,year_from,engine\nLark,Hop,12,finch-50\n",
        (2, "year_from", "12", "1885 to 2199"),
    ),
    ("drives", "engine,drive_angle_deg\nfinch-50,90.5\n", (2, "drive_angle_deg", "90.5", "above 0 to 90 °")),
    (
        "drives",
        "engine,drive_gap_open_mm,drive_gap_closed_mm\nfinch-50,13,23\n",
        (2, "drive_gap_open_mm", "13", "below drive_gap_closed_mm 23"),
    ),
    ("belt_needs", "engine,angle_deg\nfinch-50,91\n", (2, "angle_deg", "91", "above 0 to 90 °")),
    ("belt_needs", "engine,angle_deg\nfinch-50,0\n", (2, "angle_deg", "0", "above 0 to 90 °")),
    ("belt_needs", 'engine,length_mm\nfinch-50,"743,5"\n', (2, "length_mm", "743,5", "write 743.5")),
    ("belt_needs", "engine,length_mm\nfinch-50,743 mm\n", (2, "length_mm", "743 mm", "without a unit")),
    (
        "belt_needs",
        "engine,length_mm,top_width_mm\nfinch-50,20,743\n",
        (2, "top_width_mm", "743", "above 0 to 100 mm"),
    ),
    (
        "belt_needs",
        "engine,length_mm,top_width_mm\nfinch-50,99.9,20\n",
        (2, "length_mm", "99.9", "less than 5 times top_width_mm 20"),
    ),
    (
        "belt_needs",
        "engine,length_kind\nfinch-50,outer\n",
        (2, "length_kind", "outer", "outside, pitch, inside"),
    ),
    ("roller_needs", "engine,mass_g\nfinch-50,0.39\n", (2, "mass_g", "0.39", "0.4 to 100 g")),
    ("roller_needs", "engine,mass_g\nfinch-50,100.1\n", (2, "mass_g", "100.1", "0.4 to 100 g")),
    ("roller_needs", "engine,count\nfinch-50,6.0\n", (2, "count", "6.0", "whole number")),
    (
        "spring_needs",
        "engine,position\nfinch-50,drive_belt\n",
        (2, "position", "drive_belt", "accepted are clutch_springs, contra_spring"),
    ),
    (
        "spring_needs",
        "engine,position,free_length_mm,installed_length_mm\nfinch-50,contra_spring,60,62\n",
        (2, "free_length_mm", "60", "below installed_length_mm 62"),
    ),
    (
        "size_needs",
        "engine,position\nfinch-50,cover_baring\n",
        (2, "position", "cover_baring", "cover_bearing"),
    ),
    (
        "wear_limits",
        "engine,position,quantity,nominal,limit,sense\nfinch-50,drive_belt,top_width,18,19,min\n",
        (2, "nominal", "18", "below limit 19"),
    ),
    (
        "fasteners",
        "engine,position,torque_min_nm,torque_nm,torque_max_nm\nfinch-50,crank_nut,35,50,41\n",
        (2, "torque_max_nm", "41", "torque_max_nm 41 is below torque_nm 50"),
    ),
    (
        "fasteners",
        "engine,position,torque_nm\nfinch-50,crank_nut,540\n",
        (2, "torque_nm", "540", "0 to 400 N·m"),
    ),
    ("fasteners", "engine,position,single_use\nfinch-50,crank_nut,yes\n", (2, "single_use", "yes", "0 or 1")),
    ("parts", "maker,part_number,part_type\nWren,B-1,belt\n", (2, "part_type", "belt", "drive_belt")),
    ("parts", "maker,part_number,part_type\nWren,,nut\n", (2, "part_number", "", "must be filled in")),
    (
        "parts",
        "maker,part_number,part_type,gtin\nWren,B-1,nut,2900000012348\n",
        (2, "gtin", "2900000012348", "check digit"),
    ),
    (
        "parts",
        "maker,part_number,part_type\nWren,B-1\u202e,nut\n",
        (2, "part_number", "B-1\\u202e", "U+202E"),
    ),
    (
        "parts",
        "maker,part_number,part_type\nWren,B-1,nut\nWren,B-1,nut\n",
        (3, "part_number, source", None, "line 2"),
    ),
    (
        "parts",
        "maker,part_number,part_type,source\nWren,B-1,nut,book\nWren,B-1,washer,list\n",
        (3, "part_type", "washer", "line 2 as 'nut', here it is 'washer'"),
    ),
    (
        "fits",
        "maker,part_number,engine,position,outcome\nWrem,B-743,finch-50,drive_belt,fits\n",
        (2, "maker", "Wrem", "nearest spelling is 'Wren'"),
    ),
    (
        "fits",
        "maker,part_number,engine,position,outcome\nWren,B-751,finch-50,drive_belt,fits\n",
        (2, "part_number", "B-751", "nearest spellings are 'B-750'"),
    ),
    (
        "fits",
        "maker,part_number,engine,position,outcome\nWren,b 743,finch-50,drive_belt,fits\n",
        (2, "part_number", "b 743", "may mean 'B-743', 'B743'"),
    ),
    (
        "fits",
        "maker,part_number,engine,position,outcome,seen_on\nWren,B-743,finch-50,drive_belt,fits,30.1.2026\n",
        (2, "seen_on", "30.1.2026", "YYYY-MM-DD"),
    ),
    (
        "replacements",
        "maker,part_number,by_maker,by_part_number,kind\nWren,B-743,Wren,B-743,supersedes\n",
        (2, "by_part_number", None, "its own replacement"),
    ),
    (
        "replacements",
        "maker,part_number,by_maker,by_part_number,kind\n"
        "Wren,B-743,Wren,B-750,supersedes\nWren,B-743,Wren,B743,supersedes\n",
        (3, "by_part_number", None, "'B-743' has two successors: line 2 names 'B-750'"),
    ),
    (
        "replacements",
        "maker,part_number,by_maker,by_part_number,kind\n"
        "Wren,B-743,Wren,B-750,supersedes\nWren,B-750,Wren,B743,supersedes\nWren,B743,Wren,B-743,supersedes\n",
        (4, "by_part_number", None, "loop: 'B-743' → 'B-750' → 'B743' → 'B-743'"),
    ),
    ("suppliers", "supplier,currency\nalder,Euro\n", (2, "currency", "Euro", "three capital letters")),
    ("suppliers", "supplier,minimum_order\nalder,50\n", (2, "currency", None, "has no currency")),
    ("offers", "supplier,maker,part_number\naldr,Wren,B-743\n", (2, "supplier", "aldr", "'alder'")),
    (
        "offers",
        "supplier,maker,part_number,price\nalder,Wren,B-743,12.345\n",
        (2, "price", "12.345", "more decimals than EUR"),
    ),
    (
        "offers",
        "supplier,maker,part_number,price\nbirch,Wren,B-743,12\n",
        (2, "currency", None, "no currency"),
    ),
    (
        "offers",
        "supplier,maker,part_number,pack_size\nalder,Wren,B-743,0\n",
        (2, "pack_size", "0", "1 to 1000000"),
    ),
    (
        "stock",
        "location,maker,part_number,on_hand\ncounter,Wren,B-743,ten\n",
        (2, "on_hand", "ten", "not a number"),
    ),
    (
        "stock",
        "location,maker,part_number,on_hand\ncounter,Wren,B-743,-1\n",
        (2, "on_hand", "-1", "0 to 1000000"),
    ),
    (
        "stock",
        "location,maker,part_number,on_hand\ncounter,Wren,B-743,\n",
        (2, "on_hand", "", "must be filled in"),
    ),
    (
        "stock",
        "location,maker,part_number,on_hand,counted_on\ncounter,Wren,B-743,1,\ncounter,Wren,B-743,1,\n",
        (3, "location, part_number, counted_on", None, "line 2"),
    ),
    (
        "demand",
        "location,maker,part_number,date,quantity\ncounter,Wren,B-743,2026-02-30,1\n",
        (2, "date", "2026-02-30", "day of the calendar"),
    ),
    (
        "replacements",
        "maker,part_number,by_maker,by_part_number,kind\nWren,B-743,Wren,B-750,\n",
        (
            2,
            "kind",
            "",
            "must be filled in: write supersedes (it takes the place of the old number), same_size",
        ),
    ),
    (
        "replacements",
        "maker,part_number,by_maker,by_part_number\nWren,B-743,Wren,B-750\n",
        (1, None, None, "in 'kind' write supersedes"),
    ),
    ("job_steps", "job,step,text\nbelt,1,Look\n", (2, "job", "belt", "not in the catalogue")),
    (
        "job_steps",
        "job,step,text\nbelt,1,\n",
        (2, "text", "", "must be filled in: write what is done in this step"),
    ),
    ("tools", "tool,kind,min_nm,max_nm\nw,torque_wrench,60,10\n", (2, "max_nm", "10", "below min_nm 60")),
    ("tools", "tool,kind,min_nm,max_nm\ns,torque_stick,60,70\n", (2, "max_nm", "70", "write it in both")),
    ("trade_names", "part_type,name\nbelt,rubber\n", (2, "part_type", "belt", "drive_belt")),
    ("symptom_causes", "symptom,order,cause\nslow,1,Worn\n", (2, "symptom", "slow", "not in the catalogue")),
    # headings and rows as a whole
    (
        "engines",
        "engine,bore\nfinch-50,40\n",
        (1, "bore", "bore", "not known here; the nearest is 'bore_mm'"),
    ),
    ("engines", "engine,id\nfinch-50,40\n", (1, "id", "id", "not known here")),
    ("engines", "engine,\nfinch-50,40\n", (1, None, "", "no name in the heading")),
    ("engines", "engine,name,name\nfinch-50,a,b\n", (1, None, None, "'name' stands twice")),
    (
        "engines",
        "name\nFinch\n",
        (1, None, None, "lacks 'engine'; engines.csv has the columns engine, family"),
    ),
    ("engines", "engine,name\nfinch-50\n", (2, None, None, "1 cells but the heading has 2")),
    ("engines", "engine,name\nfinch-50,a,b\n", (2, None, None, "3 cells but the heading has 2")),
    ("engines", "", (1, None, None, "is empty")),
    ("engines", 'engine\n"finch\n', (2, None, None, "never closed")),
    (
        "engines",
        "engine,name\nfinch-50," + "x" * 33_000 + "\n",
        (2, "name", "x" * 79 + "…", "33000 characters"),
    ),
]


@pytest.mark.parametrize(("kind", "content", "expected"), REFUSALS, ids=lambda value: str(value)[:40])
def test_row_is_refused_by_line_column_and_value(sqlite_engine, load_files, kind, content, expected):
    files = BASE | {kind: content} | ({"suppliers": SUPPLIERS} if kind == "offers" else {})
    if kind in ("sources", "engines", "parts"):
        files = {name: files[name] for name in ("sources", kind)}
    report = load_files(sqlite_engine, **files)
    problems = [(file.file, problem) for file in report.files for problem in file.problems]
    assert len(problems) == 1, problems
    file, problem = problems[0]
    line, column, value, message = expected
    assert (file, problem.line, problem.column, problem.value) == (f"{kind}.csv", line, column, value)
    assert message in problem.message
    assert problem.message.endswith(".")
    with sqlite_engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM source")).scalar() == 0


def test_all_bad_cells_of_all_rows_are_listed(sqlite_engine, load_files):
    report = load_files(sqlite_engine, engines="engine,strokes,bore_mm\nA,5,x\nfinch-50,2,40\nfinch-80,,y\n")
    [file] = report.files
    assert (file.added, file.refused, file.problem_count) == (1, 2, 4)
    assert [(problem.line, problem.column) for problem in file.problems] == [
        (2, "engine"), (2, "strokes"), (2, "bore_mm"), (4, "bore_mm"),
    ]  # fmt: skip


def test_of_many_problems_a_hundred_are_listed_and_all_are_counted(sqlite_engine, load_files):
    report = load_files(sqlite_engine, engines="engine\n" + "".join(f"E{n}\n" for n in range(250)))
    [file] = report.files
    assert (file.refused, file.problem_count, len(file.problems)) == (250, 250, 100)


def test_reference_to_a_refused_row_says_so(sqlite_engine, load_files):
    report = load_files(
        sqlite_engine,
        engines="engine,strokes\nfinch-50,3\n",
        features="engine,quantity,value\nfinch-50,case_length,402\n",
    )
    assert "rows of its own file were refused; correct those first" in report.files[1].problems[0].message


def test_second_successor_beside_a_stored_one_is_refused(sqlite_engine, load_files):
    heading = "maker,part_number,by_maker,by_part_number,kind\n"
    load_files(sqlite_engine, **BASE, replacements=heading + "Wren,B-743,Wren,B-750,supersedes\n")
    report = load_files(sqlite_engine, replacements=heading + "Wren,B-743,Wren,B743,supersedes\n")
    assert "two successors: the catalogue has 'B-750'" in report.files[0].problems[0].message


def test_two_sources_may_name_different_successors(sqlite_engine, load_files):
    rows = "Wren,B-743,Wren,B-750,supersedes,book\nWren,B-743,Wren,B743,supersedes,list\n"
    report = load_files(
        sqlite_engine, **BASE, replacements="maker,part_number,by_maker,by_part_number,kind,source\n" + rows
    )
    assert not report.has_problems, report.as_json()


def test_parts_of_the_same_size_may_name_each_other(sqlite_engine, load_files):
    rows = "Wren,B-743,Wren,B-750,same_size\nWren,B-750,Wren,B-743,same_size\n"
    report = load_files(
        sqlite_engine, **BASE, replacements="maker,part_number,by_maker,by_part_number,kind\n" + rows
    )
    assert not report.has_problems, report.as_json()


def test_part_stored_with_another_type_is_refused(sqlite_engine, load_files):
    load_files(sqlite_engine, **BASE)
    report = load_files(sqlite_engine, parts="maker,part_number,part_type\nWren,B-743,nut\n")
    assert "'B-743' is stored as 'drive_belt', here it is 'nut'" in report.files[0].problems[0].message


@pytest.mark.parametrize("closed", [False, True], ids=["chain", "loop"])
def test_chain_of_5000_successors(sqlite_engine, load_files, closed):
    numbers = [f"B-{n}" for n in range(5_001)]
    parts = "maker,part_number,part_type\n" + "".join(f"Wren,{number},nut\n" for number in numbers)
    pairs = [*pairwise(numbers), *([(numbers[-1], numbers[0])] if closed else [])]
    report = load_files(
        sqlite_engine,
        parts=parts,
        replacements="maker,part_number,by_maker,by_part_number,kind\n"
        + "".join(f"Wren,{number},Wren,{by},supersedes\n" for number, by in pairs),
    )
    messages = [problem.message for problem in report.files[1].problems]
    assert len(messages) == int(closed)
    assert all("'B-0' → 'B-1' → 'B-2'" in message and "4991 more" in message for message in messages)
