"""Reads a CSV file with pandas and prints the seconds that it took: python3 pandas_load.py FILE"""
import sys
import time

import pandas

began = time.perf_counter()
pandas.read_csv(sys.argv[1])
print(time.perf_counter() - began)
