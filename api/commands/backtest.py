"""``counterhand backtest``: what the method would have done on the shop's own past."""

from datetime import date
from pathlib import Path
from typing import Any

import click

from api.commands.low_stock import add_day_option, add_location_option
from api.commands.options import add_database_option, add_json_option, open_for_reading, print_json
from api.commands.printing import print_heading, print_paragraph, print_table

EPILOG = """\b
Examples:
  counterhand backtest
  counterhand backtest --location counter --service 0.975
  counterhand backtest --plot backtest.svg

Exit status: 0 done, 1 failed (the history is too short), 2 wrong use."""
# The picture is read alone, without the style sheet of the pages.
STYLE = (
    "text{font:3.4px sans-serif;paint-order:stroke;stroke:#fff;stroke-width:1}"
    ".axis{fill:none;stroke:#222;stroke-width:.4}"
    ".demand{fill:#888;stroke:#222;stroke-width:.2}.faint{fill:none;stroke:#777;stroke-width:.25}"
)


@click.command("backtest", epilog=EPILOG)
@add_location_option
@add_day_option
@click.option(
    "--service", type=click.FloatRange(0.5, 0.999), default=0.95, show_default=True, help="Service asked for."
)
@click.option(
    "--lead-months", type=click.IntRange(0, 12), help="Months that suppliers take; else from the offers."
)
@click.option(
    "--plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the plot to this SVG file."
)
@add_json_option
@add_database_option
def command(
    *,
    location: str | None,
    as_of: date | None,
    service: float,
    lead_months: int | None,
    plot: Path | None,
    as_json: bool,
    database_url: str | None,
) -> None:
    """Fill rate, pieces held and money on the shop's own past, also at the fill rate of simpler rules."""
    from api.answers.backtest import shape_backtest  # noqa: PLC0415 - keeps --help quick
    from kb.lookups.backtest import play_backtest  # noqa: PLC0415
    from kb.lookups.low_stock import LowStockQuestion  # noqa: PLC0415

    question = LowStockQuestion(as_of or date.today(), location, service=service)  # noqa: DTZ011
    with open_for_reading(database_url) as session:
        answer = shape_backtest(play_backtest(session, question, lead_months=lead_months))
    if plot is not None:
        plot.write_text(_build_svg(answer), encoding="utf-8")
    if as_json:
        print_json(answer)
    else:
        _print_answer(answer)


def _print_answer(answer: dict[str, Any]) -> None:
    print_paragraph(
        f"{answer['parts']} parts, {answer['months']} months known, {answer['counted_months']} played, "
        f"supplier's time {_say_months(answer['lead_months'])}. "
        "Served = share of the pieces asked for that the shelf had at once."
    )
    rows = [
        {
            "rule": rule["rule"],
            "served": "-" if rule["fill_rate"] is None else f"{100 * rule['fill_rate']:.1f} %",
            "held": f"{rule['mean_pieces_held']:.0f}",
            "value": f"{rule['mean_value_held_minor'] / 100:.0f}",
            "lines": rule["order_lines"],
            "method": "" if rule["method_pieces_held"] is None else f"{rule['method_pieces_held']:.0f}",
        }
        for rule in answer["rules"]
    ]
    columns = {
        "rule": "Rule",
        "served": "Served",
        "held": "Held",
        "method": "Method, serving as much",
        "value": "Worth",
        "lines": "Order lines",
    }
    print_table(rows, columns)
    _print_equal(answer)
    print_paragraph(
        "The levels of today know what came later, so the past flatters them; they are made for the "
        "suppliers' own days, while the past is played in whole months."
    )


def _say_months(count: int) -> str:
    return "1 month" if count == 1 else f"{count} months"


def _print_equal(answer: dict[str, Any]) -> None:
    """What the simple rules must hold to serve as much as the method."""
    served = answer["rules"][0]["fill_rate"]
    if not answer["equal_service"] or served is None:
        return
    print_heading(f"Turned until they serve {100 * served:.1f} % as well")
    rows = [
        {
            "rule": rule["rule"],
            "turned": rule["turned_to"] if rule["mean_pieces_held"] is not None else "not reached",
            "held": "-" if rule["mean_pieces_held"] is None else f"{rule['mean_pieces_held']:.0f}",
            "value": "-"
            if rule["mean_value_held_minor"] is None
            else f"{rule['mean_value_held_minor'] / 100:.0f}",
            "against": "-"
            if rule["pieces_against_method"] is None
            else f"{100 * (rule['pieces_against_method'] - 1):+.0f} %",
        }
        for rule in answer["equal_service"]
    ]
    columns = {
        "rule": "Rule",
        "turned": "Turned to",
        "held": "Held",
        "value": "Worth",
        "against": "More",
    }
    print_table(rows, columns)


def _build_svg(answer: dict[str, Any]) -> str:
    from html import escape  # noqa: PLC0415

    from api.drawings.backtest_plot import draw_played  # noqa: PLC0415

    picture = draw_played(answer)
    paths = "".join(f'<path class="{stroke.style}" d="{stroke.path}"/>' for stroke in picture.strokes)
    texts = "".join(
        f'<text x="{label.at.x}" y="{label.at.y}" text-anchor="{label.anchor}">{escape(label.text)}</text>'
        for label in picture.labels
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{picture.view_box}" role="img">'
        f"<title>{escape(picture.title)}</title><desc>{escape(picture.description)}</desc>"
        f"<style>{STYLE}</style>{paths}{texts}</svg>\n"
    )
