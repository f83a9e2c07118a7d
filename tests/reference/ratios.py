#!/usr/bin/env python3
"""Our speed beside that of general-purpose libraries, in one run, as a table.

    python3 -m venv venv && venv/bin/pip install -r tests/python/requirements.txt
    venv/bin/python tests/reference/ratios.py

Runs the benchmarks of the core one after the other and, right behind each, the same computation with
shapely (https://pypi.org/project/shapely) or with pvlib (https://pypi.org/project/pvlib) and shapely, on the
same input. Every figure is a median: ours of the time on the clock, a library's of the processor time
it takes, so that other work on the machine makes no ratio better. Ends with 1 when a limit is missed.
"""

import json
import pathlib
import re
import statistics
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
import placements_with_shapely as placements  # noqa: E402
import sun_with_pvlib as sun  # noqa: E402

UNITS = {"ns": 1e-6, "µs": 1e-3, "ms": 1.0, "s": 1e3}
BENCH = ["cargo", "bench", "--quiet", "-p", "baywright-core"]
SHAPELY_RUNS = 15
PVLIB_RUNS = 3


def bench(name, wanted=""):
    """The medians that a benchmark prints, milliseconds, by group and argument."""
    command = [*BENCH, "--bench", name, "--", *([wanted] if wanted else [])]
    printed = subprocess.run(command, cwd=HERE, check=True, capture_output=True, text=True).stdout
    medians, group = {}, ""
    for line in printed.splitlines():
        figures = [part.strip() for part in line.split("│")]
        label = re.match(r"[│├╰─\s]*([\w.]+)", line)
        median = re.fullmatch(r"([\d.]+) (ns|µs|ms|s)", figures[-4] if len(figures) > 4 else "")
        if label and median:
            medians[group, label[1]] = float(median[1]) * UNITS[median[2]]
        elif label and re.match(r"[├╰]─", line):
            group = label[1]
    return medians


def region_by_shapely():
    """The median of the exact region of one heading, milliseconds."""
    case = json.loads((HERE / "placements/benchmark.json").read_text())["cases"][0]
    off = abs(placements.feasible(case).area - case["area_mm2"])
    if off > max(10.0, 1e-6 * case["area_mm2"]):
        sys.exit(f"shapely's area is off by {off} mm2, so the times would not compare")
    times = []
    for _ in range(SHAPELY_RUNS):
        times.append(processor_ms(placements.feasible, case))
    return statistics.median(times)


def sun_by_pvlib():
    """The median of a day of twenty bays, milliseconds."""
    times = [processor_ms(sun.follow, "2026-03-20", 1) for _ in range(PVLIB_RUNS)]
    return statistics.median(times)


def processor_ms(work, *arguments):
    """The processor time that a call takes, milliseconds."""
    start = time.process_time()
    work(*arguments)
    return 1e3 * (time.process_time() - start)


def main():
    for name in ("feasible", "daylight", "fit_report"):
        subprocess.run([*BENCH, "--bench", name, "--no-run"], cwd=HERE, check=True)
    # What; our milliseconds and the most allowed; the library's and how many times ours it must be.
    rows = []
    region = bench("feasible", "region_at_one_heading")["region_at_one_heading", "0"]
    rows.append(("exact region of one heading", region, 2.0, region_by_shapely(), 50))
    days = bench("daylight", "days_of_twenty_bays")
    day, year = (days["days_of_twenty_bays", count] for count in ("1", "365"))
    rows.append(("sun-free windows of 20 bays, a day", day, 20.0, sun_by_pvlib(), 100))
    rows.append(("sun-free windows of 20 bays, a year", year, 2_000.0, None, None))
    report = bench("fit_report", "whole_report_on_threads")["whole_report_on_threads", "2"]
    rows.append(("fit report of 9600 fits, 2 threads", report, 2_000.0, None, None))

    print(f"{'what':38}{'ours ms':>10}{'at most':>9}{'library ms':>12}{'ratio':>8}{'at least':>9}")
    missed = False
    for what, ours, most, theirs, least in rows:
        beside = f"{theirs:12.1f}{theirs / ours:8.0f}{least:9}" if theirs else ""
        print(f"{what:38}{ours:10.2f}{most:9.0f}{beside}")
        missed |= ours > most or (theirs is not None and theirs < least * ours)
    if missed:
        sys.exit("a limit is missed")


if __name__ == "__main__":
    main()
