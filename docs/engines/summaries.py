"""Exports and pools many books with Spark: python3 summaries.py BOOKS OUT

Runs on this machine, or on a cluster with `spark-submit`. BOOKS is a folder of books. OUT is a
folder that the script creates. There are two steps. Each runs swellbook on the books in parallel:

  export --readings    fills one table `readings` for all books; observations.sql turns it into
                       OUT/observations.parquet
  export --summary -   writes OUT/summaries/BOOK.json; for a book without a summary, the reason goes
                       to OUT/left-out/BOOK.txt

Then `swellbook pool` pools the summaries into OUT/pool.toml. Needs the package pyspark and Java.
Every worker needs the program, BOOKS and OUT at the same paths.
"""

import argparse
import csv
import io
import subprocess
from pathlib import Path

from pyspark.sql import SparkSession
from pyspark.sql import types as spark_types

import exported_tables as tables

READINGS = ["export", "--readings"]
SUMMARY = ["export", "--summary", "-"]
TYPES = {
    int: spark_types.IntegerType(), float: spark_types.DoubleType(), str: spark_types.StringType()
}


def asked():
    """Parses the arguments."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("books", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--program", default="swellbook", help="the program, if it is not on the path")
    parser.add_argument("--only", choices=["observations", "summaries"], help="one of the two steps")
    return parser.parse_args()


def session():
    """A Spark session in ANSI mode, where double quotes delimit identifiers."""
    spark = (
        SparkSession.builder.appName("swellbook")
        .config("spark.sql.ansi.enabled", "true")
        .config("spark.sql.ansi.doubleQuotedIdentifiers", "true")
        # Rows already partitioned by book can be joined by book and trial without a shuffle.
        .config("spark.sql.requireAllClusterKeysForCoPartition", "false")
        .getOrCreate()
    )
    spark.sparkContext.addPyFile(tables.__file__)
    return spark


def says(program, book, words):
    """Output of the program for a book. If the program fails, raises its message."""
    command = [program, "--book", book, *words]
    run = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    if run.returncode:
        raise RuntimeError(f"{book}: {run.stderr.strip()}")
    return run.stdout


def rows(program, book):
    """Rows of a book's table of readings, each with the book's name in front."""
    lines = csv.reader(io.StringIO(says(program, book, READINGS), newline=""))
    kinds = [tables.kind(name) for name in next(lines)]
    for line in lines:
        cells = [None if cell == "" else kind(cell) for kind, cell in zip(kinds, line)]
        yield [Path(book).name, *cells]


def observations(spark, program, books, out):
    """Writes the observations of all books, computed by observations.sql."""
    names = next(csv.reader([says(program, books.first(), READINGS).splitlines()[0]]))
    fields = [spark_types.StructField(name, TYPES[tables.kind(name)]) for name in names]
    schema = spark_types.StructType([spark_types.StructField("book", TYPES[str]), *fields])
    table = spark.createDataFrame(books.flatMap(lambda book: rows(program, book)), schema)
    # Persisted, so that the program reads each book only once.
    table.persist().createOrReplaceTempView("readings")
    found = spark.sql(tables.STATEMENT.read_text(encoding="utf-8"))
    found.write.parquet(str(out / "observations.parquet"))


def summarise(program, book, out):
    """Writes a book's summary, or why it has none. A book without measured trials stops nothing."""
    name = Path(book).name
    try:
        (out / "summaries" / f"{name}.json").write_text(says(program, book, SUMMARY), encoding="utf-8")
    except RuntimeError as error:
        (out / "left-out" / f"{name}.txt").write_text(f"{error}\n", encoding="utf-8")


def summaries(program, books, out):
    """Writes a summary for each book, then pools them."""
    out = out.absolute()
    for name in ["summaries", "left-out"]:
        (out / name).mkdir()
    books.foreach(lambda book: summarise(program, book, out))
    files = sorted(str(file) for file in (out / "summaries").iterdir())
    subprocess.run([program, "pool", *files, "--out", str(out / "pool.toml")], check=True)


def main():
    args = asked()
    args.out.mkdir()
    spark = session()
    found = sorted(str(file.parent.absolute()) for file in args.books.glob("*/book.toml"))
    # A fit takes seconds: many small parts keep every core busy to the end.
    books = spark.sparkContext.parallelize(found, max(1, min(len(found), 10_000)))
    if args.only != "summaries":
        observations(spark, args.program, books, args.out)
    if args.only != "observations":
        summaries(args.program, books, args.out)
    spark.stop()


if __name__ == "__main__":
    main()
