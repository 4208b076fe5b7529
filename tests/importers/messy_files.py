"""Realistic messy files with invented content, and exactly what an import must make of each.

Trade habits that they show (titles above the heading, totals below, decimal commas, units in cells, codes
spoiled by spreadsheets) are common practice, no source. GTINs carry check digits of GS1 General
Specifications; the numbers 2900000012349 and 4006381333931 pass them (from memory).
"""

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import openpyxl

ALDER = {"supplier": "alder"}
COUNTER = {"location": "counter"}
PARTS_HEADING = "maker,part_number,part_type"


@dataclass(frozen=True, slots=True, kw_only=True)
class Messy:
    """A file and what must come of it: counts, refused cells, and a value that must then be stored."""

    name: str
    content: bytes
    kind: str
    mapping: dict[str, Any] = field(default_factory=dict)
    added: int = 0
    changed: int = 0
    unchanged: int = 0
    refused: int = 0
    problems: tuple[tuple[int, str | None], ...] = ()
    topics: dict[str, int] = field(default_factory=dict)
    stored: tuple[str, object] | None = None
    says: str = ""
    keeps_good_rows: bool = False


def text(*lines: str, encoding: str = "utf-8", end: str = "\n") -> bytes:
    return (end.join(lines) + end).encode(encoding)


def workbook(
    *rows: list[Any], formats: dict[str, str] | None = None, more: Callable[[Any], None] | None = None
) -> bytes:
    """An XLSX file; ``more`` is a function that goes on with the workbook."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for cell, number_format in (formats or {}).items():
        book.active[cell].number_format = number_format
    if more is not None:
        more(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def open_document(*rows: list[str], styles: str = "") -> bytes:
    """The smallest ODS file with texts; a cell that is markup stands as it is."""
    names = {"office": "office", "table": "table", "text": "text", "style": "style", "number": "datastyle"}
    spaces = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{u}:1.0"' for n, u in names.items())
    cells = "".join(
        "<table:table-row>"
        + "".join(
            cell
            if cell.startswith("<")
            else f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
            for cell in row
        )
        + "</table:table-row>"
        for row in rows
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces} office:version="1.2">'
        f"<office:automatic-styles>{styles}</office:automatic-styles>"
        f'<office:body><office:spreadsheet><table:table table:name="List">{cells}</table:table>'
        "</office:spreadsheet>"
        "</office:body></office:document-content>"
    )
    manifest = (
        '<?xml version="1.0"?><m:manifest xmlns:m="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        '<m:file-entry m:full-path="/" m:media-type="application/vnd.oasis.opendocument.spreadsheet"/>'
        "</m:manifest>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", manifest)
    return out.getvalue()


def ods_number(value: float, attributes: str = "") -> str:
    """A cell of an ODS file that holds a number."""
    return f'<table:table-cell office:value-type="float" office:value="{value:g}" {attributes}/>'


# As office programs write them, from memory of OpenDocument 1.2: six digits with a dash, five digits by name.
ODS_STYLES = (
    '<number:number-style style:name="N1"><number:number number:decimal-places="0" '
    'number:min-integer-digits="6"><number:embedded-text number:position="3">-</number:embedded-text>'
    '</number:number></number:number-style><number:number-style style:name="N2">'
    '<number:number number:decimal-places="0" number:min-integer-digits="5"/></number:number-style>'
    '<style:style style:name="dash" style:family="table-cell" style:data-style-name="N1"/>'
    '<style:style style:name="five" style:family="table-cell" style:data-style-name="N2"/>'
    '<style:style style:name="bold" style:family="table-cell" style:parent-style-name="five"/>'
)


def _add_sheet(book: Any) -> None:
    book.create_sheet("Old prices").append(["maker", "part_number"])


TEXT_FILES = (
    Messy(
        name="titles-and-totals.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text(
            "ALDER PARTS;;;",
            "Price list;valid from February;;",
            "",
            "Art.-Nr.;Hersteller;Bezeichnung;Nettopreis EUR",
            "B-743;Wren;CVT belt 743x20x30;1.012,50",
            "R-16;Wren;Roller set;7,00",
            "Summe;;;1.019,50",
        ),
        added=2,
        topics={"left_out": 1},
        stored=("SELECT price_minor FROM offer ORDER BY price_minor DESC LIMIT 1", 101250),
    ),
    Messy(
        name="repeated-heading.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;Price", "Wren;B-743;9,50", "Brand;Part No.;Price", "Wren;R-16;5,25"),
        added=2,
        topics={"left_out": 1},
    ),
    Messy(
        name="group-lines.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text(
            "Description,Brand,Part No.,Price",
            "BELTS,,,",
            "Belt,Wren,B-743,9.50",
            "ROLLERS,,,",
            "x,Wren,R-16,5.25",
        ),
        added=2,
        topics={"left_out": 2},
    ),
    Messy(
        name="empty-lines-and-trailing-columns.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand,Part No.,Price,,", "Wren,B-743,9.50,,", ",,,,", "", "Wren,R-16,5.25,,"),
        added=2,
    ),
    Messy(
        name="cells-behind-the-heading.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand,Part No.,Price", "Wren,B-743,9.50,,,", "Wren,R-16,5.25,stray"),
        refused=1,
        added=1,
        problems=((3, None),),
    ),
    Messy(
        name="ragged.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand,Part No.,Price", "Wren,B-743", "Wren,R-16,5.25"),
        refused=1,
        added=1,
        problems=((2, None),),
    ),
    Messy(
        name="windows.csv",
        kind="parts",
        content=text(
            PARTS_HEADING + ",description", "Wren,N-1,nut,Mutter für Kurbelwelle", encoding="cp1252"
        ),
        problems=((2, None),),
        says="encoding",
    ),
    Messy(
        name="windows-named.csv",
        kind="parts",
        mapping={"form": {"encoding": "cp1252"}},
        content=text(
            PARTS_HEADING + ",description", "Wren,N-1,nut,Mutter für Kurbelwelle", encoding="cp1252"
        ),
        added=1,
        stored=(
            "SELECT description FROM part_record WHERE description LIKE 'Mutter%'",
            "Mutter für Kurbelwelle",
        ),
    ),
    Messy(
        name="byte-order-mark.csv",
        kind="parts",
        content=b"\xef\xbb\xbf" + text(PARTS_HEADING, "Wren,N-1,nut"),
        added=1,
    ),
    Messy(
        name="utf16.tsv",
        kind="parts",
        content=text("maker\tpart_number\tpart_type", "Wren\tN-1\tnut", encoding="utf-16", end="\r\n"),
        added=1,
    ),
    Messy(
        name="tabs.tsv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("Hersteller\tArtikelnummer\tBestand", "Wren\tB-743\t4", "Wren\tR-16\t0"),
        added=2,
        stored=("SELECT SUM(on_hand) FROM stock_level", 4),
    ),
    Messy(
        name="bars.txt",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker|part number|on hand", "Wren|B-743|12 pcs"),
        added=1,
        stored=("SELECT on_hand FROM stock_count", 12),
    ),
    Messy(
        name="two-line-heading.csv",
        kind="parts",
        content=text(
            "Part,,Size,,",
            "maker,part number,length (cm),width,type",
            "Wren,B-800,80.0,20,drive belt",
        ),
        mapping={"columns": {"Size width": "top_width_mm"}},
        added=1,
        stored=("SELECT length_mm FROM part_record WHERE length_mm > 790", 800.0),
    ),
    Messy(
        name="units-below.csv",
        kind="parts",
        content=text(
            "maker,part number,part type,belt length,angle", ",,,in,°", "Wren,B-800,drive belt,31.5,30"
        ),
        added=1,
        stored=("SELECT length_mm FROM part_record WHERE length_mm > 790", 800.1),
    ),
    Messy(
        name="units-in-cells.csv",
        kind="parts",
        content=text(
            "maker;part number;part type;diameter;roller width;roller weight",
            "Wren;R-20;roller set;20 mm;1,5 cm;0,012 kg",
            "Wren;R-21;roller set;20 furlong;15;12",
        ),
        added=1,
        refused=1,
        problems=((3, "diameter_mm"),),
        stored=("SELECT mass_g FROM part_record WHERE diameter_mm = 20", 12.0),
    ),
    Messy(
        name="mixed-decimals.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;Price", "Wren;B-743;9,50", "Wren;R-16;5.25"),
        refused=2,
        problems=((2, "price"), (3, "price")),
        says="decimal",
    ),
    Messy(
        name="thousands-or-decimals.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;Price", "Wren;B-743;1,234"),
        refused=1,
        problems=((2, "price"),),
        says="decimal",
    ),
    Messy(
        name="decimals-stated.csv",
        kind="offers",
        mapping={"values": ALDER, "form": {"decimal": "."}},
        content=text("Brand;Part No.;Price", "Wren;B-743;1,234"),
        added=1,
        stored=("SELECT price_minor FROM offer", 123400),
    ),
    Messy(
        name="currency-signs.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand,Part No.,Price", "Wren,B-743,€9.50", "Wren,R-16,USD 5.25"),
        added=2,
        stored=("SELECT currency FROM offer WHERE price_minor = 525", "USD"),
    ),
    Messy(
        name="two-currencies.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand,Part No.,Price,Currency", "Wren,B-743,€9.50,USD"),
        refused=1,
        problems=((2, "currency"),),
    ),
    Messy(
        name="retail-beside-net.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;UVP;EK;MwSt", "Wren;B-743;19,90;9,50;19"),
        added=1,
        stored=("SELECT price_minor FROM offer", 950),
    ),
    Messy(
        name="two-prices.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;Net price;Dealer price", "Wren;B-743;19,90;9,50"),
        problems=((1, "Net price"), (1, "Dealer price")),
        says="not clear",
    ),
    Messy(
        name="unknown-heading.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part No.;Price;Zork", "Wren;B-743;9,50;1"),
        problems=((1, "Zork"),),
        says="not clear",
    ),
    Messy(
        name="misspelt-heading.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Manufactuer;Part Numbr;Net prise", "Wren;B-743;9,50"),
        added=1,
        stored=("SELECT price_minor FROM offer", 950),
    ),
    Messy(
        name="changed-heading.csv",
        kind="offers",
        mapping={"values": ALDER, "headings": ["Brand", "Part No.", "Price"]},
        content=text("Brand;Part No.;Price new", "Wren;B-743;9,50"),
        problems=((1, None), (1, "Price new")),
        says="heading line",
    ),
    Messy(
        name="missing-column.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker;part number", "Wren;B-743"),
        problems=((1, "on_hand"),),
    ),
    Messy(
        name="dates-unstated.csv",
        kind="demand",
        mapping={"values": COUNTER},
        content=text("maker,part number,sold on,qty", "Wren,B-743,03.04.2026,1", "Wren,B-743,2026-04-05,1"),
        added=1,
        refused=1,
        problems=((2, "date"),),
        says="order of day and month",
    ),
    Messy(
        name="dates-stated.csv",
        kind="demand",
        mapping={"values": COUNTER, "form": {"dates": "day-month-year"}},
        content=text("maker,part number,sold on,qty", "Wren,B-743,03.04.2026,1", "Wren,B-743,31/12/25,2"),
        added=2,
        stored=("SELECT MIN(asked_on) FROM demand", "2025-12-31"),
    ),
    Messy(
        name="spoiled-gtin.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",ean", "Wren,N-1,nut,4.00638E+12", "Wren,N-2,nut,4006381333931"),
        added=1,
        refused=1,
        problems=((2, "gtin"),),
        says="spreadsheet",
    ),
    Messy(
        name="wrong-check-digit.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",ean", "Wren,N-1,nut,4006381333932"),
        refused=1,
        problems=((2, "gtin"),),
    ),
    Messy(
        name="leading-zeros.csv",
        kind="parts",
        content=text(PARTS_HEADING, "Wren,000123,nut", "Wren,'00124,nut"),
        added=2,
        stored=("SELECT part_number FROM part WHERE part_number LIKE '%124'", "00124"),
    ),
    Messy(
        name="look-alikes.csv",
        kind="parts",
        content=text(PARTS_HEADING, "Wren,\u0410B-1,nut", "Wren,AB\u200b-2,nut"),
        refused=2,
        problems=((2, "part_number"), (3, "part_number")),
    ),
    Messy(
        name="wholly-look-alike.csv",
        kind="parts",
        mapping={"decisions": {"\u0410\u0415-3": "new"}},
        content=text(
            PARTS_HEADING,
            "Wren,\u0412-743,nut",  # Cyrillic
            "Wren,\u0391\u0392-2,nut",  # Greek
            "Wren,\u0410\u0415-3,nut",  # decided
            "Wren,\u0416-4,nut",  # like no Latin letter
        ),
        refused=2,
        added=2,
        problems=((2, "part_number"), (3, "part_number")),
        says="looks like 'B-743' but is typed in letters of another alphabet",
    ),
    Messy(
        name="wholly-look-alike-stock.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker,part number,on hand", "Wren,\u0412-743,4"),
        refused=1,
        problems=((2, "part_number"),),
        says="looks like 'B-743' but is typed in letters of another alphabet (U+0412, cyrillic capital",
    ),
    Messy(
        name="absurd-numbers.csv",
        kind="parts",
        content=text(
            PARTS_HEADING + ",belt length,angle",
            "Wren,B-1,drive_belt,NaN,30",
            "Wren,B-2,drive_belt,inf,30",
            "Wren,B-3,drive_belt,-743,30",
            "Wren,B-4,drive_belt,99999,30",
            "Wren,B-5,drive_belt,743,120",
            "Wren,B-6,drive_belt,1e3,30",
        ),
        refused=6,
        problems=tuple((line, "angle_deg" if line == 6 else "length_mm") for line in range(2, 8)),
    ),
    Messy(
        name="formulas.csv",
        kind="parts",
        content=text(
            PARTS_HEADING + ",description", "Wren,=1+1,nut,x", "Wren,N-2,nut,'=safe", "Wren,N-3,nut,@SUM(A1)"
        ),
        added=1,
        refused=2,
        problems=((2, "part_number"), (4, "description")),
        stored=("SELECT description FROM part_record WHERE description LIKE '=%'", "=safe"),
    ),
    Messy(
        name="sizes-in-descriptions.csv",
        kind="parts",
        content=text(
            "Marke;Artikelnummer;Bezeichnung",
            "Wren;B-788;CVT BELT 788x17,5x28 RUBBER",
            "Wren;R-15;Roller set 15x12 7g",
            "Wren;S-1;Oil seal 20x35x7",
            "Wren;L-1;Bearing 6201-2RS",
            "Wren;Z-1;Shop coat, blue",
        ),
        added=5,
        topics={"assumed": 1},
        stored=("SELECT top_width_mm FROM part_record WHERE length_mm = 788", 17.5),
    ),
    Messy(
        name="description-at-odds.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",description,belt length", "Wren,B-9,drive_belt,Belt 743x20x30,750"),
        added=1,
        topics={"read_from_text": 2, "conflict": 1},
        stored=("SELECT length_mm FROM part_record WHERE description LIKE 'Belt 7%'", 750.0),
    ),
    Messy(
        name="same-number-other-marks.csv",
        kind="parts",
        content=text(PARTS_HEADING, "Wren,B 743,drive_belt"),
        refused=1,
        problems=((2, "part_number"),),
        topics={"duplicate": 1},
    ),
    Messy(
        name="same-number-decided.csv",
        kind="parts",
        mapping={"decisions": {"B 743": "same"}, "values": {"source": "alder-list"}},
        content=text(PARTS_HEADING, "Wren,B 743,drive_belt"),
        added=1,
        stored=("SELECT COUNT(*) FROM part", 2),
    ),
    Messy(
        name="same-size.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",length_mm,top_width_mm,angle_deg", "Wren,BX-1,drive_belt,743,20,30"),
        added=1,
        topics={"duplicate": 1},
    ),
    Messy(
        name="contradicts-the-manual.csv",
        kind="parts",
        mapping={"values": {"source": "alder-list"}},
        content=text(PARTS_HEADING + ",length_mm", "Wren,B-743,drive_belt,750"),
        added=1,
        topics={"conflict": 1},
        stored=("SELECT COUNT(*) FROM part_record WHERE length_mm IN (743, 750)", 2),
    ),
    Messy(
        name="overwrites-the-manual.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",length_mm,source", "Wren,B-743,drive_belt,750,book"),
        refused=1,
        problems=((2, "length_mm"),),
    ),
    Messy(
        name="leaves-sizes-alone.csv",
        kind="parts",
        content=text(PARTS_HEADING + ",description,source", "Wren,B-743,drive_belt,The usual belt,book"),
        changed=1,
        stored=("SELECT length_mm FROM part_record WHERE description = 'The usual belt'", 743.0),
    ),
    Messy(
        name="contrary-fit.csv",
        kind="fits",
        content=text(
            "Brand,Part No.,Engine,Position,Fits,Source", "Wren,B-743,finch-50,drive belt,does not fit,"
        ),
        added=1,
        topics={"conflict": 1},
    ),
    Messy(
        name="same-part-twice.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker,part number,on hand", "Wren,B-743,4", "Wren,B-743,5"),
        added=1,
        refused=1,
        problems=((3, "location, part_number, counted_on"),),
    ),
    Messy(
        name="unclosed-quote.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker,part number,on hand", 'Wren,"B-743,4', "Wren,R-16,5"),
        problems=((2, None),),
        says="quotation mark",
    ),
    Messy(
        name="prices-on-request.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text(
            "Marke;Artikelnummer;EK netto;Lieferzeit",
            "Wren;B-743;auf Anfrage;3 Tage",
            "Wren;R-16;7,80;bald",
        ),
        added=1,
        refused=1,
        problems=((3, "lead_time_days"),),
        says="write a whole number of days, for example 12, or leave the cell empty",
    ),
    Messy(
        name="lead-times-from-to.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text(
            "Marke;Artikelnummer;EK netto;Lieferzeit",
            "Wren;B-743;12,50;3-5 Tage",
            "Wren;R-16;7,80;2 – 3 Wochen",
        ),
        added=2,
        topics={"assumed": 2},
        stored=("SELECT MIN(lead_time_days) * 100 + MAX(lead_time_days) FROM offer", 521),
    ),
    Messy(
        name="price-kept-back.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Marke;Artikelnummer;EK netto", "Wren;B-743;auf Anfrage", "Wren;R-16;7,80"),
        added=2,
        stored=("SELECT SUM(price_minor) * COUNT(*) FROM offer", 1560),
    ),
    # Common practice, no source: programs that keep stock print an unknown price as nought.
    Messy(
        name="price-of-nought.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Marke;Artikelnummer;EK netto", "Wren;B-743;0,00", "Wren;R-16;7,80"),
        added=2,
        topics={"assumed": 1},
        stored=("SELECT COUNT(*) * 100 + COUNT(price_minor) FROM offer", 201),
    ),
    Messy(
        name="page-footers.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text(
            "Brand,Part no,Price",
            "Wren,B-743,12.50",
            "Page 1 of 2,,",
            "Brand,Part no,Price",
            "Wren,R-16,3.20",
            "Subtotal belts,,15.70",
            "All prices without tax,,",
        ),
        added=2,
        topics={"left_out": 4},
    ),
    Messy(
        name="maker-called-sum.csv",
        kind="parts",
        content=text(PARTS_HEADING, "Sum,N-1,nut"),
        added=1,
        stored=("SELECT COUNT(*) FROM maker WHERE maker = 'Sum'", 1),
    ),
    Messy(
        name="column-twice.csv",
        kind="offers",
        mapping={"values": ALDER, "columns": {"Price": "price"}},
        content=text("Brand;Part no;Price;Price", "Wren;B-743;12,50;11,00"),
        problems=((1, "Price"),),
        says="'Price' stands twice",
    ),
    Messy(
        name="two-headings-for-one.csv",
        kind="offers",
        mapping={"values": ALDER, "columns": {"Net each": "price"}},
        content=text("Brand;Part no;Net each;Dealer price", "Wren;B-743;12,50;11,00"),
        problems=((1, "Dealer price"),),
        says="not clear",
    ),
    Messy(
        name="selling-prices.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Marke;Artikelnummer;List price;VK Preis;EK", "Wren;B-743;20;19;12,50"),
        added=1,
        stored=("SELECT price_minor FROM offer", 1250),
    ),
    Messy(
        name="selling-price-alone.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part no;Sales price", "Wren;B-743;20"),
        problems=((1, "Sales price"),),
        says="not clear",
    ),
    Messy(
        name="heading-only.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Brand;Part no;Price"),
        topics={"heading": 1},
    ),
    Messy(
        name="till-times.csv",
        kind="demand",
        mapping={"values": COUNTER, "form": {"dates": "day-month-year"}},
        content=text(
            "maker,part number,date,qty", "Wren,B-743,2026-03-01 10:15,2", "Wren,R-16,02.03.2026 18:30:05,1"
        ),
        added=2,
        stored=("SELECT MIN(asked_on) || MAX(asked_on) FROM demand", "2026-03-012026-03-02"),
    ),
    Messy(
        name="swiss-prices.csv",
        kind="offers",
        mapping={"values": ALDER},
        content=text("Marke;Artikelnummer;Preis CHF", "Wren;B-743;1'234.50", "Wren;R-16;7.-"),
        added=2,
        stored=("SELECT SUM(price_minor) FROM offer WHERE currency = 'CHF'", 124150),
    ),
    Messy(
        name="spoken-stock.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("Hersteller;Artikelnummer;Bestand", "Wren;B-743;ca. 4", "Wren;R-16;3,5"),
        refused=2,
        problems=((2, "on_hand"), (3, "on_hand")),
        says="'3,5' is not a whole number",
    ),
    Messy(
        name="endless-line.csv",
        kind="stock",
        content=b"maker,part number,on hand\n" + b"," * 3_000_000,
        problems=((2, None),),
        says="no end",
    ),
    Messy(
        name="keep-good.csv",
        kind="stock",
        mapping={"values": COUNTER},
        content=text("maker,part number,on hand", "Wren,B-743,4", "Wren,NOPE,5", "Wren,R-16,-1"),
        added=1,
        refused=2,
        problems=((3, "part_number"), (4, "on_hand")),
        keeps_good_rows=True,
        stored=("SELECT SUM(on_hand) FROM stock_level", 4),
    ),
)

WORKBOOKS = (
    Messy(
        name="plain.xlsx",
        kind="offers",
        mapping={"values": ALDER},
        content=workbook(
            ["ALDER"], [], ["Brand", "Part No.", "Price", "Valid from"], ["Wren", "B-743", 12.5, None]
        ),
        added=1,
        stored=("SELECT price_minor FROM offer", 1250),
    ),
    Messy(
        name="texts-with-commas.xlsx",
        kind="offers",
        mapping={"values": ALDER},
        content=workbook(["Brand", "Part No.", "Price"], ["Wren", "B-743", "12,50"], ["Wren", "R-16", 7.25]),
        added=2,
        stored=("SELECT SUM(price_minor) FROM offer", 1975),
    ),
    Messy(
        name="zero-format.xlsx",
        kind="parts",
        content=workbook(
            ["maker", "part_number", "part_type"], ["Wren", 123, "nut"], formats={"B2": "000000"}
        ),
        added=1,
        stored=("SELECT part_number FROM part WHERE part_type = 'nut'", "000123"),
    ),
    Messy(
        name="numbers-as-codes.xlsx",
        kind="parts",
        content=workbook(["maker", "part_number", "part_type"], ["Wren", 123, "nut"]),
        added=1,
        topics={"number_as_code": 1},
        stored=("SELECT part_number FROM part WHERE part_type = 'nut'", "123"),
    ),
    Messy(
        name="formula-cell.xlsx",
        kind="offers",
        mapping={"values": ALDER},
        content=workbook(
            ["Brand", "Part No.", "Price"], ["Wren", "B-743", "=3*4"], ["Total", None, "=SUM(C2:C2)"]
        ),
        refused=1,
        problems=((2, "price"),),
        topics={"left_out": 1},
        says="formula",
    ),
    Messy(
        name="two-sheets.xlsx",
        kind="parts",
        content=workbook(["maker", "part_number", "part_type"], ["Wren", "N-1", "nut"], more=_add_sheet),
        problems=((1, None),),
        says="several filled sheets",
    ),
    Messy(
        name="sheet-named.xlsx",
        kind="parts",
        mapping={"form": {"sheet": "Sheet"}},
        content=workbook(["maker", "part_number", "part_type"], ["Wren", "N-1", "nut"], more=_add_sheet),
        added=1,
    ),
    Messy(
        name="open-document.ods",
        kind="stock",
        mapping={"values": COUNTER},
        content=open_document(["Stock count"], ["maker", "part number", "on hand"], ["Wren", "B-743", "6"]),
        added=1,
        stored=("SELECT on_hand FROM stock_count", 6),
    ),
    Messy(
        name="zero-formats.ods",
        kind="parts",
        content=open_document(
            ["maker", "part_number", "part_type"],
            ["Wren", ods_number(7123, 'table:style-name="dash"'), "nut"],
            ["Wren", ods_number(42, 'table:style-name="bold"'), "washer"],
            styles=ODS_STYLES,
        ),
        added=2,
        topics={"number_as_code": None},
        stored=(
            "SELECT MIN(part_number) || ' ' || MAX(part_number) FROM part WHERE part_number LIKE '0%'",
            "00042 007-123",
        ),
    ),
    Messy(
        name="formulas.ods",
        kind="offers",
        mapping={"values": ALDER},
        content=open_document(
            ["Brand", "Part No.", "Price", "Description"],
            ["Wren", "B-743", ods_number(12.5), ods_number(2, 'table:formula="of:=1+1"')],
            ["Wren", "R-16", ods_number(12, 'table:formula="of:=3*4"'), "x"],
            ["Total", "", ods_number(24.5, 'table:formula="of:=SUM([.C2:.C3])"'), ""],
        ),
        added=1,
        refused=1,
        problems=((3, "price"),),
        topics={"left_out": 1},
        says="'=3*4' is a formula",
    ),
    Messy(
        name="currencies.ods",
        kind="offers",
        mapping={"values": ALDER},
        content=open_document(
            ["Brand", "Part No.", "Price"],
            ["Wren", "B-743", ods_number(12.5, 'office:currency="CHF"').replace('"float"', '"currency"')],
            ["Wren", "R-16", ods_number(7)],
        ),
        added=2,
        stored=(
            "SELECT MIN(currency || price_minor) || MAX(currency || price_minor) FROM offer",
            "CHF1250EUR700",
        ),
    ),
    Messy(
        name="currency-formats.xlsx",
        kind="offers",
        mapping={"values": ALDER},
        content=workbook(
            ["Brand", "Part No.", "Price", "VPE"],
            ["Wren", "B-743", 12.5, 1],
            ["Wren", "R-16", 7, 2],
            formats={"C2": "#,##0.00 [$CHF]", "C3": "[$CHF] #,##0.00", "D2": '0 "STK"'},
        ),
        added=2,
        stored=(
            "SELECT MIN(currency || price_minor) || MAX(currency || price_minor) FROM offer",
            "CHF1250CHF700",
        ),
    ),
    Messy(
        name="merged-brand.xlsx",
        kind="offers",
        mapping={"values": ALDER},
        content=workbook(
            ["Brand", "Part no", "Price"],
            ["Wren", "B-743", 12.5],
            [None, "R-16", 3.25],
            more=lambda book: book.active.merge_cells("A2:A3"),
        ),
        added=2,
    ),
    # Attributes of merged cells from memory of OpenDocument 1.2.
    Messy(
        name="merged-brand.ods",
        kind="offers",
        mapping={"values": ALDER},
        content=open_document(
            ["Brand", "Part no", "Price"],
            [
                '<table:table-cell office:value-type="string" table:number-columns-spanned="1" '
                'table:number-rows-spanned="2"><text:p>Wren</text:p></table:table-cell>',
                "B-743",
                ods_number(12.5),
            ],
            ["<table:covered-table-cell/>", "R-16", ods_number(3.25)],
        ),
        added=2,
    ),
    Messy(
        name="two-merged-headings.xlsx",
        kind="stock",
        mapping={"values": COUNTER},
        content=workbook(
            ["Brand", "Item", None],
            [None, "Part number", "On hand"],
            ["Wren", "B-743", 4],
            more=lambda book: (book.active.merge_cells("A1:A2"), book.active.merge_cells("B1:C1")),
        ),
        added=1,
        stored=("SELECT on_hand FROM stock_count", 4),
    ),
    Messy(
        name="really-a-workbook.csv",
        kind="parts",
        content=workbook(["maker", "part_number", "part_type"]),
        problems=((1, None),),
        says="workbook",
    ),
    Messy(
        name="really-text.xlsx",
        kind="parts",
        content=text(PARTS_HEADING, "Wren,N-1,nut"),
        problems=((1, None),),
        says="not a workbook",
    ),
    Messy(
        name="cut-off.xlsx",
        kind="parts",
        content=workbook(["maker", "part_number", "part_type"], ["Wren", "N-1", "nut"])[:3000],
        problems=((1, None),),
        says="cut off",
    ),
)
MESSY_FILES = (*TEXT_FILES, *WORKBOOKS)
