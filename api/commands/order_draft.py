"""``counterhand order-draft``: order proposals by supplier."""

from datetime import date
from typing import Any

import click

from api.commands.low_stock import add_day_option, add_location_option
from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_paragraph, print_table, say_price

EPILOG = """\b
Examples:
  counterhand order-draft
  counterhand order-draft --supplier kestrow --top-up
  counterhand order-draft --freight 12.50 --margin 40
  counterhand order-draft --csv > order.csv

The program sends nothing. Freight and margin are what is told here, else what is written down of the
supplier; with both known it says whether waiting for a larger order costs more than the freight.

Exit status: 0 done, 1 failed, 2 wrong use."""


@click.command("order-draft", epilog=EPILOG)
@click.option("--supplier", metavar="S", help="This supplier only.")
@add_location_option
@add_day_option
@click.option(
    "--freight",
    type=click.FloatRange(0, 100_000),
    metavar="MONEY",
    help="What a small order's freight costs.",
)
@click.option(
    "--margin",
    type=click.FloatRange(0, 1_000),
    metavar="PERCENT",
    help="What a piece earns, in % of its price.",
)
@click.option("--top-up", is_flag=True, help="Offer pieces that fill small orders up.")
@click.option("--csv", "as_csv", is_flag=True, help="Print the lines as CSV.")
@add_json_option
@add_database_option
def command(
    *,
    supplier: str | None,
    location: str | None,
    as_of: date | None,
    freight: float | None,
    margin: float | None,
    top_up: bool,
    as_csv: bool,
    as_json: bool,
    database_url: str | None,
) -> None:
    """What to order from each supplier, with packs, minimums and price breaks, and what waits."""
    from kb.lookups.low_stock import LowStockQuestion  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.order_draft import OrderCosts, draft_orders  # noqa: PLC0415

    question = LowStockQuestion(as_of or date.today(), location)  # noqa: DTZ011 - the shop's own day
    costs = OrderCosts(None if freight is None else round(100 * freight), margin)
    with open_for_reading(database_url) as session:
        proposals = draft_orders(session, question, supplier=supplier, costs=costs, is_topped_up=top_up)
    from api.answers.stock import LINE_COLUMNS, build_csv, shape_proposal  # noqa: PLC0415

    shaped = [shape_proposal(proposal) for proposal in proposals]
    if as_json:
        print_json({"location": location, "as_of": question.as_of.isoformat(), "orders": shaped})
    elif as_csv:
        lines = [line for proposal in shaped for line in proposal["lines"] if line["suggested_quantity"]]
        click.echo(build_csv(lines, LINE_COLUMNS), nl=False)
    elif not shaped:
        click.echo("Nothing needs to be ordered.")
    else:
        for proposal in shaped:
            _print_proposal(proposal)


def _print_proposal(proposal: dict[str, Any]) -> None:
    print_heading(proposal["supplier_name"] or proposal["supplier"] or "Nobody offers these")
    print_paragraph(proposal["text"])
    rows = [
        {
            **line,
            "price": say_price(line["unit_price_minor"], line["currency"]),
            "note": "decide by hand" if line["needs_person"] else "",
        }
        for line in proposal["lines"]
    ]
    columns = {
        "maker": "Maker",
        "part_number": "Part number",
        "supplier_sku": "Their number",
        "suggested_quantity": "Order",
        "raw_need": "Needed",
        "price": "Price each",
        "on_hand": "On hand",
        "note": "",
    }
    print_table(rows, columns)
    if proposal["order_value_minor"] is not None:
        by_hand = sum(line["needs_person"] for line in proposal["lines"])
        without = f", without the {by_hand} to decide by hand" if by_hand else ""
        click.echo(f"Value {say_price(proposal['order_value_minor'], proposal['currency'])}{without}")
    if proposal["top_up"]:
        top_up = proposal["top_up"]
        value = say_price(top_up["order_value_minor"], proposal["currency"])
        print_paragraph(
            f"Offered, not done: {len(top_up['lines'])} lines worth {value} would reach the minimum, at a "
            f"service of {100 * top_up['service']:.1f} % for this supplier's parts. "
            f"It adds {_say_added(proposal)}."
        )


def _say_added(proposal: dict[str, Any]) -> str:
    """The pieces that a top-up puts on top of the lines, part by part."""
    counted = [line for line in proposal["lines"] if not line["needs_person"]]
    known = {(line["maker"], line["part_number"]): line["suggested_quantity"] for line in counted}
    added = [
        (line, line["quantity"] - known.get((line["maker"], line["part_number"]), 0))
        for line in proposal["top_up"]["lines"]
    ]
    return ", ".join(f"{more} {line['maker']} {line['part_number']}" for line, more in added if more > 0)
