"""The demo catalogue has the promised columns, counts and references."""

import csv
import re
from collections import Counter
from pathlib import Path

import pytest

from kb.terms import (
    LengthKind,
    Outcome,
    PartStatus,
    PartType,
    Position,
    ReplacementKind,
    SourceKind,
    ToolKind,
)

FOLDER = Path(__file__).resolve().parents[2] / "demo_catalog"

# Columns in the order of the catalogue format.
COLUMNS = {
    "sources": "source kind title edition locator",
    "engines": "engine family name designation strokes cooling bore_mm stroke_mm note source",
    "features": "engine quantity value unit how source",
    "vehicles": "make model year_from year_to engine note source",
    "drives": (
        "engine centre_distance_mm cord_depth_mm drive_angle_deg drive_outer_radius_mm drive_boss_radius_mm "
        "drive_gap_radius_mm drive_gap_open_mm drive_gap_closed_mm driven_angle_deg driven_outer_radius_mm "
        "driven_boss_radius_mm driven_gap_radius_mm driven_gap_open_mm driven_gap_closed_mm final_reduction "
        "tyre idle_rpm clutch_rpm shift_rpm max_rpm source"
    ),
    "belt_needs": (
        "engine length_mm length_kind top_width_mm angle_deg thickness_mm top_width_limit_mm source"
    ),
    "roller_needs": "engine diameter_mm width_mm mass_g count diameter_limit_mm source",
    "spring_needs": (
        "engine position count rated_rpm free_length_mm free_length_limit_mm wire_mm coil_mm active_coils "
        "installed_length_mm shortest_length_mm outer_space_mm inner_space_mm source"
    ),
    "size_needs": "engine position bore_mm outside_mm width_mm clearance form source",
    "wear_limits": "engine position quantity nominal limit sense unit source",
    "fasteners": (
        "engine position thread hand drive across_flats_mm count torque_min_nm torque_nm torque_max_nm "
        "locking single_use holding source"
    ),
    "parts": (
        "maker part_number part_type description gtin status length_mm length_kind top_width_mm angle_deg "
        "thickness_mm diameter_mm width_mm mass_g count rated_rpm free_length_mm wire_mm coil_mm "
        "active_coils bore_mm outside_mm clearance form thread across_flats_mm source"
    ),
    "fits": "maker part_number engine position outcome note seen_on source",
    "replacements": "maker part_number by_maker by_part_number kind source",
    "suppliers": "supplier name currency minimum_order lead_time_days note",
    "offers": (
        "supplier maker part_number supplier_sku price currency pack_size minimum_quantity lead_time_days "
        "seen_on"
    ),
    "stock": "location maker part_number on_hand counted_on",
    "demand": "location maker part_number date quantity",
    "jobs": "job title note",
    "job_steps": "job step text position needs_part fastener tool consumable caution",
    "tools": "tool kind size_mm min_nm max_nm owned note",
    "trade_names": "part_type name",
}

# What a row is known by: no two rows of a file share it, or the second import would change something.
KEYS = {
    "sources": "source",
    "engines": "engine",
    "features": "engine quantity source",
    "vehicles": "make model engine",
    "drives": "engine source",
    "belt_needs": "engine source",
    "roller_needs": "engine source",
    "spring_needs": "engine position source",
    "size_needs": "engine position source",
    "wear_limits": "engine position quantity source",
    "fasteners": "engine position source",
    "parts": "maker part_number",
    "fits": "maker part_number engine position source",
    "replacements": "maker part_number by_maker by_part_number",
    "suppliers": "supplier",
    "offers": "supplier maker part_number minimum_quantity",
    "stock": "location maker part_number",
    "demand": "location maker part_number date",
    "jobs": "job",
    "job_steps": "job step",
    "tools": "tool",
    "trade_names": "part_type name",
}


def read_rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = {name: read_rows(name) for name in COLUMNS}
ENGINES = {row["engine"] for row in ROWS["engines"]}
PARTS = {(row["maker"], row["part_number"]): row for row in ROWS["parts"]}


# --- form --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", COLUMNS)
def test_header_has_exactly_the_columns_of_the_format(name: str) -> None:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    assert header == COLUMNS[name].split()


def test_folder_holds_sheets_and_their_readme_but_no_code() -> None:
    found = {path.name for path in FOLDER.iterdir() if path.name != "__pycache__"}
    assert {f"{name}.csv" for name in COLUMNS} | {"README.md"} <= found
    assert {name for name in found if not name.endswith(".csv")} == {"README.md"}


@pytest.mark.parametrize("name", COLUMNS)
def test_file_is_utf8_with_plain_line_ends_and_full_rows(name: str) -> None:
    raw = (FOLDER / f"{name}.csv").read_bytes()
    assert b"\r" not in raw
    assert not raw.startswith(b"\xef\xbb\xbf")
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        assert {len(line) for line in csv.reader(file)} == {len(COLUMNS[name].split())}


@pytest.mark.parametrize("name", KEYS)
def test_no_two_rows_share_their_key(name: str) -> None:
    keys = Counter(tuple(row[column] for column in KEYS[name].split()) for row in ROWS[name])
    assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("name", COLUMNS)
def test_cells_with_a_unit_hold_plain_numbers(name: str) -> None:
    units = ("_mm", "_g", "_deg", "_rpm", "_nm", "_days", "_coils", "_reduction")
    plain = re.compile(r"\d+(\.\d+)?")
    bad = [
        (column, row[column])
        for row in ROWS[name]
        for column in row
        if column.endswith(units) and row[column] and not plain.fullmatch(row[column])
    ]
    assert bad == []


@pytest.mark.parametrize(
    ("name", "smallest"),
    [("engines", 22), ("vehicles", 40), ("parts", 650), ("fits", 350), ("offers", 700), ("trade_names", 120)],
)
def test_catalogue_is_large_enough_to_try_things(name: str, smallest: int) -> None:
    assert len(ROWS[name]) >= smallest


def test_every_part_type_has_articles_and_belts_and_rollers_have_many() -> None:
    counts = Counter(row["part_type"] for row in ROWS["parts"])
    assert set(counts) == {str(part_type) for part_type in PartType}
    assert counts["drive_belt"] >= 140
    assert counts["roller_set"] >= 120


def test_readme_states_the_row_count_of_every_file() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    stated = {name: int(count) for name, count in re.findall(r"\| `(\w+)\.csv` \| (\d+) \|", text)}
    assert stated == {name: len(rows) for name, rows in ROWS.items()}


def test_readme_names_only_parts_and_engines_of_the_catalogue() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    asked = re.findall(r"counterhand fit (\S+) \"(\w+) ([^\"]+)\"", text)
    assert len(asked) >= 10
    assert [ask for ask in asked if ask[0] not in ENGINES or ask[1:] not in PARTS] == []


# --- references --------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [name for name in COLUMNS if "source" in COLUMNS[name].split()])
def test_every_source_used_is_listed(name: str) -> None:
    known = {row["source"] for row in ROWS["sources"]}
    assert {row["source"] for row in ROWS[name] if row["source"]} <= known


@pytest.mark.parametrize("name", [name for name in COLUMNS if "engine" in COLUMNS[name].split()])
def test_every_engine_named_exists(name: str) -> None:
    assert {row["engine"] for row in ROWS[name]} <= ENGINES


@pytest.mark.parametrize("name", ["fits", "replacements", "offers", "stock", "demand"])
def test_every_part_named_exists(name: str) -> None:
    assert {(row["maker"], row["part_number"]) for row in ROWS[name]} <= set(PARTS)


def test_replacing_parts_suppliers_and_jobs_exist() -> None:
    assert {(row["by_maker"], row["by_part_number"]) for row in ROWS["replacements"]} <= set(PARTS)
    assert {row["supplier"] for row in ROWS["offers"]} <= {row["supplier"] for row in ROWS["suppliers"]}
    assert {row["job"] for row in ROWS["job_steps"]} == {row["job"] for row in ROWS["jobs"]}


@pytest.mark.parametrize(
    ("name", "column", "words"),
    [
        ("sources", "kind", SourceKind),
        ("parts", "part_type", PartType),
        ("parts", "status", PartStatus),
        ("parts", "length_kind", LengthKind),
        ("belt_needs", "length_kind", LengthKind),
        ("fits", "outcome", Outcome),
        ("fits", "position", Position),
        ("size_needs", "position", Position),
        ("spring_needs", "position", Position),
        ("wear_limits", "position", Position),
        ("fasteners", "position", Position),
        ("job_steps", "position", Position),
        ("replacements", "kind", ReplacementKind),
        ("tools", "kind", ToolKind),
        ("trade_names", "part_type", PartType),
    ],
)
def test_closed_words_are_those_of_the_program(name: str, column: str, words: type) -> None:
    assert {row[column] for row in ROWS[name] if row[column]} <= {str(word) for word in words}


def test_sources_are_of_all_six_kinds() -> None:
    assert {row["kind"] for row in ROWS["sources"]} == {str(kind) for kind in SourceKind} - {"not_stated"}


def test_tools_named_in_the_steps_hang_on_the_list() -> None:
    named = {row["tool"] for row in ROWS["job_steps"] if row["tool"]}
    assert named <= {row["tool"] for row in ROWS["tools"]}


def test_replacements_never_run_in_a_circle() -> None:
    follow: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for row in ROWS["replacements"]:
        follow.setdefault((row["maker"], row["part_number"]), []).append(
            (row["by_maker"], row["by_part_number"])
        )

    def reach(start: tuple[str, str]) -> set[tuple[str, str]]:
        seen: set[tuple[str, str]] = set()
        waiting = list(follow[start])
        while waiting:
            part = waiting.pop()
            if part not in seen:
                seen.add(part)
                waiting += follow.get(part, [])
        return seen

    assert [start for start in follow if start in reach(start)] == []


def test_superseded_parts_name_a_successor() -> None:
    replaced = {
        (row["maker"], row["part_number"]) for row in ROWS["replacements"] if row["kind"] == "supersedes"
    }
    assert {key for key, row in PARTS.items() if row["status"] == "superseded"} == replaced


def test_article_numbers_are_in_house_ones_with_a_right_check_digit() -> None:
    # GS1 General Specifications, from memory: from the right the digits before the check digit weigh
    # 3, 1, 3, 1; prefixes 02, 04 and 20 to 29 are for use inside one company.
    numbers = [row["gtin"] for row in ROWS["parts"] if row["gtin"]]
    assert len(numbers) == len(set(numbers)) > 300
    for number in numbers:
        assert re.fullmatch(r"(2\d|02|04)\d{11}", number), number
        weighed = sum(
            int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(number[:-1]))
        )
        assert (weighed + int(number[-1])) % 10 == 0, number


def test_some_part_numbers_belong_to_two_makers_and_some_differ_by_a_look_alike() -> None:
    makers = Counter(number for _, number in PARTS)
    assert sum(count > 1 for count in makers.values()) >= 3
    alike = Counter((maker, number.replace("O", "0")) for maker, number in PARTS)
    assert sum(count > 1 for count in alike.values()) >= 2


# --- shop --------------------------------------------------------------------------------------


def test_stock_lies_at_two_places_and_what_sells_was_counted_in_november() -> None:
    """What nobody asks for was counted at the end of a year, but for a few articles that are new."""
    assert {row["location"] for row in ROWS["stock"]} == {"counter", "branch"}
    asked = {(row["maker"], row["part_number"]) for row in ROWS["demand"]}
    sold = [row["counted_on"] for row in ROWS["stock"] if (row["maker"], row["part_number"]) in asked]
    idle = {
        (row["maker"], row["part_number"]): row["counted_on"]
        for row in ROWS["stock"]
        if (row["maker"], row["part_number"]) not in asked
    }
    assert {day[:7] for day in sold} == {"2026-11"}
    assert {day[5:] for day in idle.values() if day < "2026"} == {"12-30"}
    assert 10 <= sum(day > "2026" for day in idle.values()) <= 30


def test_demand_covers_three_years_and_two_places() -> None:
    dates = sorted(row["date"] for row in ROWS["demand"])
    assert (dates[0][:7], dates[-1][:7]) == ("2023-11", "2026-10")
    assert {row["location"] for row in ROWS["demand"]} == {"counter", "branch"}
    assert all(int(row["quantity"]) > 0 for row in ROWS["demand"])


def test_price_falls_as_the_minimum_quantity_rises_and_is_whole_packs() -> None:
    breaks: dict[tuple[str, str, str], list[tuple[int, float]]] = {}
    for row in ROWS["offers"]:
        assert re.fullmatch(r"\d+\.\d\d", row["price"])
        assert int(row["minimum_quantity"]) % int(row["pack_size"]) == 0, row
        key = (row["supplier"], row["maker"], row["part_number"])
        breaks.setdefault(key, []).append((int(row["minimum_quantity"]), float(row["price"])))
    assert sum(len(steps) > 1 for steps in breaks.values()) >= 50
    for steps in breaks.values():
        prices = [price for _, price in sorted(steps)]
        assert prices == sorted(prices, reverse=True)


def test_inch_socket_is_owned_where_the_38_mm_one_is_missing() -> None:
    owned = {row["tool"]: row["owned"] for row in ROWS["tools"]}
    assert owned["socket 38 mm"] == "0"
    assert owned["socket 1-1/2 in"] == "1"


def test_steps_under_the_spring_carry_the_caution() -> None:
    # Common practice, no source: the contra spring is compressed behind the clutch nut.
    steps = [row for row in ROWS["job_steps"] if row["position"] == "clutch_nut"]
    assert len(steps) >= 6
    assert all("spring pushes" in row["caution"] for row in steps)
