"""Fastener sheets: a torque that does not suit its thread is told of; the row is stored as it stands."""

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Notice
from kb.edits.target import InputRow
from kb.rules.card.fasteners import check_torque, find_thread
from kb.rules.tools.torque_sanity import TorqueState

_TORQUES = ("torque_nm", "torque_max_nm", "torque_min_nm")
_SUSPECT = (TorqueState.TOO_HIGH, TorqueState.TOO_LOW)


def prepare_fasteners(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """All rows; the first stored torque of each is held against its thread."""
    for row in rows:
        _check(sheet, row)
    return rows


def _check(sheet: SheetEdit, row: InputRow) -> None:
    column = next((name for name in _TORQUES if row.values[name] is not None), None)
    if column is None:
        return
    torque_nm = float(row.values[column])
    sanity = check_torque(torque_nm, find_thread(row.values["thread"]))
    if sanity is not None and sanity.state in _SUSPECT:
        text = " ".join((sanity.text, f"({sanity.label})", *sanity.hints))
        sheet.note(Notice(row.line, "conflict", column, f"{torque_nm:g}", text))
