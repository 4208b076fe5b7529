"""A small made-up catalogue in which every case of the fit question occurs once, on both databases."""

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, text

from importers.load import load_catalogue
from kb.database import open_database, open_reader, open_writer
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.rules.fit.shape import shape_verdict

SOURCES = """source,kind,title
book,manual,Service book
norm,standard,Table of sizes
bench,measured,Bench book
list,supplier,Price list
habit,common_practice,What one says
guess,estimate,A guess
"""
ENGINES = """engine,family,name,source
wren-50,wren,Wren 50,book
wren-80,wren,Wren 80,book
wren-90,wren,Wren 90,book
"""
# The made-up circuit of the drive check values: 788 x 17 x 28 runs from 2.512 to 0.805.
DRIVES = """engine,centre_distance_mm,cord_depth_mm,drive_angle_deg,drive_outer_radius_mm,\
drive_boss_radius_mm,drive_gap_radius_mm,drive_gap_open_mm,drive_gap_closed_mm,driven_angle_deg,driven_outer_radius_mm,\
driven_boss_radius_mm,driven_gap_radius_mm,driven_gap_open_mm,driven_gap_closed_mm,idle_rpm,clutch_rpm,source
wren-50,260,2,28,48.5,14,48.5,28.85,17.75,28,59.5,22,59.5,29.7,15.25,1700,1200,bench
wren-80,,2,28,48.5,14,48.5,28.85,17.75,28,59.5,22,59.5,29.7,15.25,1700,1200,bench
"""
BELT_NEEDS = """engine,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,source
wren-50,788,outside,17,28,8.5,book
wren-80,788,outside,17,28,8.5,book
"""
ROLLER_NEEDS = """engine,diameter_mm,width_mm,mass_g,count,source
wren-50,16,13,7,6,book
wren-80,16,13,7,6,book
wren-80,16,13,6,6,norm
wren-90,16,13,7,6,book
wren-90,15,12,7,6,list
"""
SPRING_NEEDS = """engine,position,count,rated_rpm,free_length_mm,wire_mm,coil_mm,active_coils,\
installed_length_mm,shortest_length_mm,outer_space_mm,inner_space_mm,source
wren-50,clutch_springs,3,1500,,,,,,,,,book
wren-50,contra_spring,1,,110,4,45,5,60,40,51,39,book
"""
SIZE_NEEDS = """engine,position,bore_mm,outside_mm,width_mm,clearance,form,source
wren-50,cover_bearing,12,32,10,C3,2RS,book
wren-50,torque_driver_seal,34,41,4,,,book
wren-50,shaft_o_ring,34,,2,,,book
wren-50,torque_driver_o_ring,40,,2,,,book
"""
FASTENERS = """engine,position,thread,hand,drive,across_flats_mm,count,source
wren-50,crank_nut,M10x1.25,right,hex,17,1,book
wren-50,bell_nut,M10x1.25,,hex,17,1,book
wren-50,clutch_nut,M28x1,left,hex,39,1,book
"""
PARTS = """maker,part_number,part_type,status,length_mm,length_kind,top_width_mm,angle_deg,thickness_mm,\
diameter_mm,width_mm,mass_g,count,rated_rpm,free_length_mm,wire_mm,coil_mm,active_coils,bore_mm,outside_mm,\
clearance,form,thread,across_flats_mm,gtin,source
Marlow,B-788,drive_belt,current,788,outside,17,28,8.5,,,,,,,,,,,,,,,,2000000000008,list
Marlow,B-786,drive_belt,current,786,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-783,drive_belt,current,783,,17,28,,,,,,,,,,,,,,,,,,list
Marlow,B-790I,drive_belt,current,788,inside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-900,drive_belt,current,900,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-OLD,drive_belt,superseded,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-OLDER,drive_belt,superseded,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-GONE,drive_belt,superseded,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-TWO,drive_belt,current,,outside,17,28,8.5,,,,,,,,,,,,,,,,,book
Marlow,B-TWO,drive_belt,current,788,outside,,,,,,,,,,,,,,,,,,,,list
Marlow,B-DIS,drive_belt,current,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-CON,drive_belt,current,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,B-RIV,drive_belt,current,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,book
Marlow,B-RIV,drive_belt,current,783,outside,17,28,8.5,,,,,,,,,,,,,,,,,norm
Marlow,R-7,roller_set,current,,,,,,16,13,7,6,,,,,,,,,,,,,list
Marlow,R-6,roller_set,current,,,,,,16,13,6,6,,,,,,,,,,,,,list
Marlow,R-X,roller_set,current,,,,,,16,13,7,,,,,,,,,,,,,,list
Marlow,N-17,nut,current,,,,,,,,,,,,,,,,,,,M10x1.25,17,,list
Marlow,N-14,nut,current,,,,,,,,,,,,,,,,,,,m 10 x 1.25,14,,list
Marlow,N-L,nut,current,,,,,,,,,,,,,,,,,,,M28x1 LH,39,,list
Marlow,O-34,o_ring,current,,,,,,,2,,,,,,,,34,,,,,,,list
Marlow,O-40,o_ring,current,,,,,,,2,,,,,,,,40,,,,,,,list
Marlow,V-1,variator,current,,,,,,,,,,,,,,,,,,,,,,list
Marlow,V-2,variator,current,,,,,,,,,,,,,,,,,,,,,,list
Marlow,V-3,variator,current,,,,,,,,,,,,,,,,,,,,,,list
Marlow,W-1,washer,current,,,,,,,,,,,,,,,,,,,,,,list
Marlow,CS-15,clutch_spring,current,,,,,,,,,3,1500,,,,,,,,,,,,list
Marlow,CS-20,clutch_spring,current,,,,,,,,,3,2000,,,,,,,,,,,,list
Marlow,CS-2,clutch_spring,current,,,,,,,,,2,1500,,,,,,,,,,,,list
Marlow,CS-32,clutch_spring,current,,,,,,,,,3,3200,,,,,,,,,,,,list
Marlow,T-1,contra_spring,current,,,,,,,,,,,110,4,45,5,,,,,,,,list
Marlow,T-2,contra_spring,current,,,,,,,,,,,115,4,45,5,,,,,,,,list
Marlow,K-1,bearing,current,,,,,,,10,,,,,,,,12,32,C3,2RS,,,,list
Marlow,S-1,oil_seal,current,,,,,,,4,,,,,,,,34,41,,,,,,list
Dunnock,77 12 3,drive_belt,current,788,outside,17,28,8.5,,,,,,,,,,,,,,,,,list
Marlow,77 12 3,drive_belt,current,900,outside,20,30,9,,,,,,,,,,,,,,,,,list
"""
FITS = """maker,part_number,engine,position,outcome,note,seen_on,source
Marlow,B-788,wren-50,drive_belt,fits,,,book
Marlow,B-786,wren-50,drive_belt,does_not_fit,squeals,2025-02-01,list
Marlow,B-DIS,wren-50,drive_belt,fits,,,book
Marlow,B-DIS,wren-50,drive_belt,does_not_fit,rubs,,norm
Marlow,B-CON,wren-50,drive_belt,fits,,,book
Marlow,B-CON,wren-50,drive_belt,does_not_fit,,,list
Marlow,V-1,wren-50,variator,fits,,,book
Marlow,V-2,wren-50,variator,does_not_fit,,,bench
Marlow,W-1,wren-50,drive_boss,fits,goes under it,,bench
Marlow,O-34,wren-50,shaft_o_ring,fits,,,bench
"""
REPLACEMENTS = """maker,part_number,by_maker,by_part_number,kind,source
Marlow,B-OLDER,Marlow,B-OLD,supersedes,list
Marlow,B-OLD,Marlow,B-786,supersedes,habit
Marlow,B-OLD,Marlow,B-788,supersedes,book
Marlow,V-1,Marlow,V-3,substitute,list
"""
STOCK = """location,maker,part_number,on_hand,counted_on
shop,Marlow,B-OLD,2,2026-01-31
shop,Marlow,R-6,4,2026-01-31
"""


FILES = {
    "sources": SOURCES,
    "engines": ENGINES,
    "drives": DRIVES,
    "belt_needs": BELT_NEEDS,
    "roller_needs": ROLLER_NEEDS,
    "spring_needs": SPRING_NEEDS,
    "size_needs": SIZE_NEEDS,
    "fasteners": FASTENERS,
    "parts": PARTS,
    "fits": FITS,
    "replacements": REPLACEMENTS,
    "stock": STOCK,
}


def _load(engine: Engine, folder: Path) -> Engine:
    for name, content in FILES.items():
        (folder / f"{name}.csv").write_text(content, encoding="utf-8", newline="")
    with open_writer(engine) as session:
        report = load_catalogue(session, folder, now=datetime(2026, 1, 31, tzinfo=UTC))
    assert not report.has_problems, report.as_json()
    return engine


@pytest.fixture(scope="session")
def sqlite_catalogue(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    folder = tmp_path_factory.mktemp("catalogue")
    path = folder / "small.db"
    shutil.copyfile(sqlite_template, path)
    engine = _load(open_database(str(path)), folder)
    yield engine
    engine.dispose()


@pytest.fixture(scope="session")
def postgres_catalogue(
    pg_url: str, postgres_template: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Engine]:
    server = open_database(pg_url)
    with server.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text(f"CREATE DATABASE small TEMPLATE {postgres_template}"))
    server.dispose()
    engine = open_database(pg_url.replace("/postgres?", "/small?"))
    yield _load(engine, tmp_path_factory.mktemp("catalogue"))
    engine.dispose()


@pytest.fixture(params=["sqlite", "postgres"])
def catalogue(request: pytest.FixtureRequest) -> Engine:
    """The catalogue, on both kinds of database and shared by all tests: for reading only."""
    engine: Engine = request.getfixturevalue(f"{request.param}_catalogue")
    return engine


@pytest.fixture
def own_catalogue(database: Engine, tmp_path: Path) -> Engine:
    """The catalogue in a database of the test's own, to add to, on both kinds of database."""
    return _load(database, tmp_path)


Ask = Callable[..., dict[str, Any]]


@pytest.fixture
def ask(catalogue: Engine) -> Ask:
    """Function that asks a fit question and gives the answer as JSON: ``ask("B-788")``."""

    def put(asked: str, position: str | None = None, engine: str = "wren-50") -> dict[str, Any]:
        with open_reader(catalogue) as session:
            return shape_verdict(does_part_fit(session, FitQuestion(engine, asked, position)))

    return put
