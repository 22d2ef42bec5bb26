"""A peer of the import: polars reads a CSV file into typed columns, without checks.

    python3 benches/peers/scan.py FILE.csv
"""

import sys
import time

import polars

begun = time.perf_counter()
rows = polars.read_csv(sys.argv[1]).height
print(f"rows {rows}")
print(f"seconds {time.perf_counter() - begun:.6f}")
