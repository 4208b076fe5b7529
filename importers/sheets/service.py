"""Sheets of jobs with their steps, and of tools."""

from collections.abc import Iterator

from importers.columns import Column, Flag, Name, Number, WholeNumber, build_word
from importers.sheets.sheet import NOTE, WORDS, Sheet, check_order
from kb.edits.target import NameReference, Target, Values
from kb.terms import Position, ToolKind

TOOL_TORQUE_NM = Number(0, 2_000, "N·m", above=True)

JOBS = Sheet(
    kind="jobs",
    columns=(Column("job", Name(), required=True), Column("title", WORDS), Column("note", NOTE)),
    target=Target(table="job", identity=("job",), probe="job", values=("title", "note")),
)

JOB_STEPS = Sheet(
    kind="job_steps",
    columns=(
        Column("job", Name(), required=True),
        Column("step", WholeNumber(1, 10_000), required=True),
        Column("text", NOTE, required=True),
        Column("position", build_word(Position)),
        Column("needs_part", Flag()),
        Column("fastener", Flag()),
        Column("tool", WORDS),
        Column("consumable", WORDS),
        Column("caution", NOTE),
    ),
    target=Target(
        table="job_step",
        identity=("job_id", "step"),
        probe="job_id",
        values=("text", "position", "needs_part", "fastener", "tool", "consumable", "caution"),
        names=(NameReference(column="job", id_column="job_id", table="job", noun="Job"),),
    ),
)


def _check_tool(values: Values) -> Iterator[tuple[str, str]]:
    yield from check_order(values, "min_nm", "max_nm")
    low, high = values["min_nm"], values["max_nm"]
    if values["kind"] == ToolKind.TORQUE_STICK and low is not None and high is not None and low < high:
        yield (
            "max_nm",
            f"A torque stick has one value, here min_nm is {low:g} and max_nm {high:g}; write it in both.",
        )


TOOLS = Sheet(
    kind="tools",
    columns=(
        Column("tool", Name(), required=True),
        Column("kind", build_word(ToolKind), required=True),
        Column("size_mm", Number(0, 500, "mm", above=True)),
        Column("min_nm", TOOL_TORQUE_NM),
        Column("max_nm", TOOL_TORQUE_NM),
        Column("owned", Flag()),
        Column("note", NOTE),
    ),
    target=Target(
        table="tool",
        identity=("tool",),
        probe="tool",
        values=("kind", "size_mm", "min_nm", "max_nm", "owned", "note"),
    ),
    check=_check_tool,
)
