"""A general data base reads a folder of records: every column of all reports has one type.

usage: tables.py MUSTERBENCH. Tests modules of three kinds on the simulated bench, good ones and such
with faults, then opens all reports, and all tables of lots, as one table each with DuckDB.
"""

import glob
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb

KINDS = ("pier-four", "jetty-two", "quay-four")
FAULTS = (None, "contact-burnt", "output-stuck")
# What a reader has to find; the others are words, or empty in every report so far.
WHOLE = {"format", "run", "output", "address_found"}
NUMBERS = {"time", "value", "uncertainty", "lower_limit", "upper_limit", "risk", "guard_band", "outside"}
TIMES = {"started"}
COUNTS = {"format", "run", "planned_steps", "steps", "readings", "failed", "indeterminate"}


def test(program: str, folder: Path) -> None:
    for kind in KINDS:
        for number, fault in enumerate(FAULTS):
            given = [program, "test", "--port", "simulated", "--unattended", "--module-sheet", kind]
            given += ["--lot", kind, "--module", f"{kind}-{number}"]
            given += ["--fault", fault] if fault else []
            done = subprocess.run(given, cwd=folder, capture_output=True, text=True)
            assert done.returncode in (0, 1, 3), done.stderr


def types(files: list[str]) -> dict[str, str]:
    """The type of each column over all rows of all files, without a word of help."""
    told = duckdb.sql(f"DESCRIBE SELECT * FROM read_csv({files!r}, header = true, sample_size = -1)")
    return {row[0]: row[1] for row in told.fetchall()}


def filled(file: str, column: str) -> bool:
    query = f'SELECT count("{column}") FROM read_csv({file!r}, header = true, all_varchar = true)'
    return duckdb.sql(query).fetchall()[0][0] > 0


def one_type(files: list[str], expected: dict[str, str]) -> int:
    together = types(files)
    for column, kind in expected.items():
        assert together[column] == kind, f"{column}: {together[column]}, not {kind}"
    for file in files:
        for column, kind in types([file]).items():
            # A file in which all values of a column are whole has a narrower type of number.
            same = {kind, together[column]} <= {"BIGINT", "DOUBLE"} or kind == together[column]
            assert same or not filled(file, column), f"{file}: {column}: {kind}, {together[column]}"
    return len(together)


def main() -> None:
    program = str(Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        test(program, folder)
        reports = sorted(glob.glob(f"{place}/records/*/*/run-*.csv"))
        assert len(reports) == len(KINDS) * len(FAULTS), reports
        expected = {column: "BIGINT" for column in WHOLE} | {column: "DOUBLE" for column in NUMBERS}
        expected |= {column: "TIMESTAMP WITH TIME ZONE" for column in TIMES}
        columns = one_type(reports, expected)
        lots = sorted(glob.glob(f"{place}/records/*/lot.csv"))
        expected = {column: "BIGINT" for column in COUNTS} | {"started": expected["started"]}
        of_lots = one_type(lots, expected)
        # Every row is a reading, as many as the facts files say.
        said = sum(json.loads(Path(r).with_suffix(".facts.json").read_text())["readings"] for r in reports)
        read = duckdb.sql(f"SELECT count(*) FROM read_csv({reports!r}, header = true)").fetchall()[0][0]
        assert read == said, (read, said)
        print(f"{len(reports)} reports of {len(KINDS)} kinds, {read} rows, {columns} columns of one type each; ", end="")
        print(f"{len(lots)} tables of lots, {of_lots} columns")


main()
