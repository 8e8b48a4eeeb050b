"""Reads every row of the chart sheet alone with openpyxl in its read-only way: openpyxl_read.py BOOK SHEET"""

import sys

import openpyxl

book = openpyxl.load_workbook(sys.argv[1], read_only=True, data_only=True)
rows, total = 0, 0.0
for row in book[sys.argv[2]].iter_rows(values_only=True):
    rows += 1
    v = row[2] if len(row) > 2 else None
    if isinstance(v, (int, float)):
        total += v
print(rows, total)
