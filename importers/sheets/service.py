"""Sheets of jobs with their steps, of tools, and of symptoms with what may cause them."""

from collections.abc import Iterator

from importers.columns import Column, Flag, Name, Number, WholeNumber, build_word
from importers.sheets.sheet import NOTE, SOURCE_COLUMN, WORDS, Sheet, check_order
from kb.edits.target import SOURCE, NameReference, Target, Values
from kb.edits.tools import close_tools, prepare_tools
from kb.terms import Position, ToolKind

TOOL_TORQUE_NM = Number(0, 2_000, "N·m", above=True)

JOB = NameReference(column="job", id_column="job_id", table="job", noun="Job")

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
        Column("text", NOTE, required=True, remedy="what is done in this step, in a few words"),
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
        names=(JOB,),
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
        Column("kind", build_word(ToolKind)),
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
        prepare=prepare_tools,
        close=close_tools,
    ),
    check=_check_tool,
)

SYMPTOMS = Sheet(
    kind="symptoms",
    columns=(
        Column("symptom", Name(), required=True),
        Column("title", WORDS, required=True),
        Column("words", NOTE),
        Column("note", NOTE),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="symptom",
        identity=("symptom",),
        probe="symptom",
        values=("title", "words", "note", "source_id"),
        names=(SOURCE,),
    ),
)

SYMPTOM_CAUSES = Sheet(
    kind="symptom_causes",
    columns=(
        Column("symptom", Name(), required=True),
        Column("order", WholeNumber(1, 1_000), required=True),
        Column("position", build_word(Position)),
        Column("cause", NOTE, required=True),
        Column("check", NOTE),
        Column("quantity", Name()),
        Column("job", Name()),
        SOURCE_COLUMN,
    ),
    target=Target(
        table="symptom_cause",
        identity=("symptom_id", "order", "source_id"),
        probe="symptom_id",
        values=("position", "cause", "check", "quantity", "job_id"),
        names=(
            NameReference(column="symptom", id_column="symptom_id", table="symptom", noun="Symptom"),
            JOB,
            SOURCE,
        ),
    ),
)
