"""What many books teach, by Spark: python3 summaries.py BOOKS OUT

It runs on this machine; `spark-submit` takes it to a cluster. BOOKS is a folder of books, OUT a folder
that is made. For each book two steps run in parallel, each the program itself:

  export --readings    to one table `readings` of all books; what observations.sql makes of it is
                       OUT/observations.parquet
  export --summary -   to OUT/summaries/BOOK.json, or why the book has none to OUT/left-out/BOOK.txt

Then `swellbook pool` makes OUT/pool.toml of the summaries. Needs the package pyspark and Java. Every
worker needs the program, BOOKS and OUT under the same paths.
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
    """The arguments."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("books", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--program", default="swellbook", help="the program, if it is not on the path")
    parser.add_argument("--only", choices=["observations", "summaries"], help="one of the two steps")
    return parser.parse_args()


def session():
    """A session of Spark that keeps to the standard. A name in double quotes is that of a column."""
    spark = (
        SparkSession.builder.appName("swellbook")
        .config("spark.sql.ansi.enabled", "true")
        .config("spark.sql.ansi.doubleQuotedIdentifiers", "true")
        # Rows that are together by book need not move again to be joined by book and trial.
        .config("spark.sql.requireAllClusterKeysForCoPartition", "false")
        .getOrCreate()
    )
    spark.sparkContext.addPyFile(tables.__file__)
    return spark


def says(program, book, words):
    """What the program prints of a book. A book that it refuses ends the job with its message."""
    command = [program, "--book", book, *words]
    run = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    if run.returncode:
        raise RuntimeError(f"{book}: {run.stderr.strip()}")
    return run.stdout


def rows(program, book):
    """The rows of a book's table of readings, its name before each."""
    lines = csv.reader(io.StringIO(says(program, book, READINGS), newline=""))
    kinds = [tables.kind(name) for name in next(lines)]
    for line in lines:
        cells = [None if cell == "" else kind(cell) for kind, cell in zip(kinds, line)]
        yield [Path(book).name, *cells]


def observations(spark, program, books, out):
    """Every book's observations, by the statement that any engine takes."""
    names = next(csv.reader([says(program, books.first(), READINGS).splitlines()[0]]))
    fields = [spark_types.StructField(name, TYPES[tables.kind(name)]) for name in names]
    schema = spark_types.StructType([spark_types.StructField("book", TYPES[str]), *fields])
    table = spark.createDataFrame(books.flatMap(lambda book: rows(program, book)), schema)
    # Kept, so that the program reads each book once.
    table.persist().createOrReplaceTempView("readings")
    found = spark.sql(tables.STATEMENT.read_text(encoding="utf-8"))
    found.write.parquet(str(out / "observations.parquet"))


def summarise(program, book, out):
    """Writes the summary of a book, or why it has none: one without a measured trial stops nothing."""
    name = Path(book).name
    try:
        (out / "summaries" / f"{name}.json").write_text(says(program, book, SUMMARY), encoding="utf-8")
    except RuntimeError as error:
        (out / "left-out" / f"{name}.txt").write_text(f"{error}\n", encoding="utf-8")


def summaries(program, books, out):
    """A file for each book, and the pool of them all."""
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
