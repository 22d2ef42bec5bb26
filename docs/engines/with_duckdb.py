"""Observations of many books with DuckDB: python3 with_duckdb.py TABLES > observations.csv

TABLES is a folder with a file BOOK.csv for each book, written by `swellbook --book BOOK export
--readings --out TABLES/BOOK.csv`. Needs the package duckdb.
"""

import sys
from pathlib import Path

import duckdb

import exported_tables as tables

TYPES = {int: "INTEGER", float: "DOUBLE", str: "VARCHAR"}


def observations(folder):
    """Runs the statement on the tables in this folder."""
    files = sorted(str(file) for file in Path(folder).glob("*.csv"))
    types = {name: TYPES[tables.kind(name)] for name in tables.header(files[0])}
    duckdb.read_csv(
        files, header=True, columns=types, filename="file", delimiter=",", quotechar='"', escapechar='"'
    ).create("exported")
    # parse_filename is specific to DuckDB: the file name without its extension.
    duckdb.sql("CREATE VIEW readings AS SELECT *, parse_filename(file, true) AS book FROM exported")
    return duckdb.sql(tables.STATEMENT.read_text(encoding="utf-8"))


if __name__ == "__main__":
    found = observations(sys.argv[1])
    tables.write(found.columns, found.fetchall(), sys.stdout)
