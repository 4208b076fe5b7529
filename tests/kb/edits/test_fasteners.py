"""A torque that does not suit its thread is told of at import, and stored as it stands.

ISO 898-1: M12x1.25 in class 10.9 bears 137.6 N·m at K 0.20; 380 kgf·cm = 37.3 N·m by definition.
"""

import pytest
from sqlalchemy import select

from kb.tables.columns import get_table


def load(load_files, engine, torque, thread="M12x1.25"):
    return load_files(
        engine,
        engines="engine\nteal-50\n",
        fasteners=f"engine,position,thread,torque_nm\nteal-50,crank_nut,{thread},{torque}\n",
    )


def list_notices(report):
    return [notice for file in report.as_json()["files"] for notice in file.get("notices", ())]


@pytest.mark.parametrize("torque", ["55", "137.6", "13.8"])
def test_plausible_torques_are_loaded_without_a_word(sqlite_engine, load_files, torque):
    assert list_notices(load(load_files, sqlite_engine, torque)) == []


def test_a_torque_too_high_for_its_thread_is_told_with_what_would_explain_it(sqlite_engine, load_files):
    (notice,) = list_notices(load(load_files, sqlite_engine, "380"))
    assert (notice["line"], notice["column"], notice["value"]) == (2, "torque_nm", "380")
    assert "380 kgf·cm, it is 37.3 N·m" in notice["message"]
    with sqlite_engine.connect() as connection:
        assert connection.execute(select(get_table("fastener").c.torque_nm)).scalar() == 380.0


def test_a_thread_that_is_not_known_is_not_judged(sqlite_engine, load_files):
    assert list_notices(load(load_files, sqlite_engine, "380", thread="")) == []
