#!/usr/bin/env python3
"""Tells what a list of the practice record says, as Python's own csv and json read it.

Usage: record_back.py csv|json FILE

A line for each entry, fields between blanks: the name's UTF-8 in hexadecimal digits (- for none),
then percent_clean, best beat, best per minute, last, days ago, stale, fingers changed, clean and
repetitions; None where there is nothing.
"""
import csv
import json
import sys

COLUMNS = ["percent_clean", "best_beat", "best_per_minute", "last", "days_ago", "stale",
           "fingers_changed", "clean", "repetitions"]


def from_csv(path):
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file, strict=True))
    assert rows[0][1:] == COLUMNS, rows[0]
    for row in rows[1:]:
        assert len(row) == len(rows[0]), row
        yield [row[0]] + [value or None for value in row[1:]]


def from_json(path):
    with open(path, encoding="utf-8") as file:
        whole = json.load(file)
    for line in whole["lines"]:
        best = line["best_clean"] or {"beat": None, "per_minute": None}
        yield [line["name"], line["percent_clean"], best["beat"], best["per_minute"], line["last"],
               line["days_ago"], "yes" if line["stale"] else "no",
               "yes" if line["fingers_changed"] else "no", line["clean"], line["repetitions"]]


def main():
    read = {"csv": from_csv, "json": from_json}[sys.argv[1]]
    for line in read(sys.argv[2]):
        print(line[0].encode().hex() or "-", *line[1:])


main()
