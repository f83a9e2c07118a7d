#!/usr/bin/env python3
"""Makes kept reference cases again with the libraries they were made with, and compares.

Positions of the sun, sunrises and sunsets, and sun-free windows with pvlib (its NREL SPA); placements
with shapely. No code is shared with ours. Prints each difference and their number.

    python3 -m venv /tmp/kept && /tmp/kept/bin/pip install -r tests/python/requirements.txt
    /tmp/kept/bin/python tests/reference/check_kept_cases.py
"""

import datetime
import json
import pathlib
import random
import sys

from shapely.geometry import Polygon

import make_placement_cases as placements
import sun_positions_with_pvlib as sun
import sun_with_pvlib as windows

FOLDER = pathlib.Path(__file__).resolve().parent
# Sun-free windows take the library a second a bay and day: every so many cases are made again.
EACH = 12


def kept(name):
    return json.loads((FOLDER / name).read_text())


def seconds(text):
    return datetime.datetime.fromisoformat(text).timestamp()


def far(one, other, most):
    """Whether two lists of instants differ by more than so many seconds."""
    pairs = list(zip(one, other))
    return len(one) != len(other) or any(abs(seconds(a) - seconds(b)) > most for a, b in pairs)


def positions():
    file = kept("sun/positions.json")
    made = sun.positions(random.Random(sun.SEED))
    if len(made) != len(file["cases"]):
        yield f"positions: {len(file['cases'])} kept, {len(made)} made"
    for case, again in zip(file["cases"], made):
        for key in ("true_elevation_deg", "apparent_elevation_deg", "azimuth_deg"):
            if abs(case[key] - again[key]) > 1e-6:
                yield f"position {case['utc']}, {key}: kept {case[key]}, made {again[key]}"
        published = case.get("published")
        if published and abs(90 - published["topocentric_zenith_deg"] - again["apparent_elevation_deg"]) > 1e-5:
            yield f"position {case['utc']}: published {published}, made {again['apparent_elevation_deg']}"


def rises_and_sets():
    cases, made = kept("sun/rise_and_set.json")["cases"], sun.rise_and_set()
    if len(made) != len(cases):
        yield f"rises and sets: {len(cases)} kept, {len(made)} made"
    for case, again in zip(cases, made):
        for key in ("sunrise_utc", "sunset_utc"):
            if far(case[key], again[key], 1):
                yield f"{key} {case['zone']} {case['local_date']}: kept {case[key]}, made {again[key]}"


def sun_free():
    cases = kept("sun/sun_free_cases.json")["cases"]
    bays = windows.scene()
    for at in range(0, len(cases), EACH):
        case, bay = cases[at], bays[at % len(bays)]
        start = int(seconds(case["utc_day"] + "T00:00:00+00:00"))
        instants = list(range(start, start + 86_401, windows.SCAN_S))
        track = (instants, *windows.positions(instants))
        again = [[windows.text(a), windows.text(b)] for a, b in windows.sun_free(bay, start, start + 86_400, track)]
        ours, theirs = sum(case["sun_free_utc"], []), sum(again, [])
        if far(ours, theirs, 1):
            yield f"sun-free case {at}: kept {ours}, made {theirs}"


def regions():
    for name in ("placements/placement_cases.json", "placements/benchmark.json"):
        for at, case in enumerate(kept(name)["cases"]):
            obstructions = [Polygon(one) for one in case["obstructions_mm"]]
            region = placements.feasible(
                Polygon(case["floor_mm"]), obstructions, case["zones_vehicle_mm"], case["heading_deg"]
            )
            pieces = placements.pieces_of(region)
            area = sum(piece.area for piece in pieces)
            if abs(area - case["area_mm2"]) > max(10.0, 1e-6 * area) or len(pieces) != case["components"]:
                yield f"{name} {at}: kept {case['area_mm2']}, made {area} in {len(pieces)} pieces"


def main():
    checks = (positions, rises_and_sets, sun_free, regions)
    differences = [difference for check in checks for difference in check()]
    for difference in differences:
        print(difference)
    print(f"{len(differences)} differences")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main())
