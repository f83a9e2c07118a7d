#!/usr/bin/env python3
"""Times the exact region of the benchmark's case with shapely and with our own code.

    python3 -m venv venv && venv/bin/pip install shapely
    venv/bin/python tests/reference/placements_with_shapely.py [--cases FILE] [--runs 15]

Both read the same file. Shapely (https://pypi.org/project/shapely, GEOS underneath) is given the
same way to compute: no sums are made that cannot matter. For each zone the sums of the reflected
zone with every edge of the floor and of the obstructions (hulls of convex parts, united) are taken
off what is left; all sums of a part are made in one call on numpy arrays. Our figure is the median that `cargo bench -p baywright-core --bench feasible`
prints; the script runs it unless --ours-us gives it. Prints both medians and their ratio.
"""

import argparse
import json
import pathlib
import re
import statistics
import subprocess
import sys
import time

import numpy
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))
from make_placement_cases import triangles, turned  # noqa: E402


def edges_of(polygon):
    corners = numpy.asarray(polygon.exterior.coords)
    return numpy.stack([corners[:-1], corners[1:]], axis=1)


def parts_of(zone):
    """Convex parts of a reflected zone: itself, or triangles."""
    hull = zone.convex_hull
    return [zone] if abs(hull.area - zone.area) < 1e-6 else triangles(zone)


def feasible(case):
    """The region: per zone the sums with edges, and the solids seen from one point of the zone."""
    floor = Polygon(case["floor_mm"])
    obstructions = [Polygon(one) for one in case["obstructions_mm"]]
    zones = [Polygon([(-x, -y) for x, y in turned(zone, case["heading_deg"])])
             for zone in case["zones_vehicle_mm"]]
    zones.sort(key=lambda zone: -zone.envelope.length)
    left = None
    for zone in zones:
        least_x, least_y, most_x, most_y = floor.bounds
        a, b, c, d = zone.bounds
        frame = box(least_x + c, least_y + d, most_x + a, most_y + b)
        left = frame if left is None else left.intersection(frame)
    edges = numpy.concatenate([edges_of(solid) for solid in [floor, *obstructions]])
    for zone in zones:
        seen_from = zone.exterior.coords[0]
        blocked = [affinity.translate(solid, *seen_from) for solid in obstructions]
        for part in parts_of(zone):
            corners = numpy.asarray(part.exterior.coords)[:-1]
            sums = edges[:, :, None, :] + corners[None, None, :, :]
            sums = sums.reshape(len(edges), 2 * len(corners), 2)
            blocked.extend(shapely.convex_hull(shapely.multipoints(sums)))
        blocked = numpy.asarray(blocked)
        blocked = blocked[shapely.intersects(blocked, box(*left.bounds))]
        left = left.intersection(affinity.translate(floor, *seen_from))
        left = left.difference(shapely.union_all(blocked))
        if left.is_empty:
            break
    return left


def ours_us():
    """The median that our benchmark prints, microseconds."""
    command = ["cargo", "bench", "--quiet", "-p", "baywright-core", "--bench", "feasible"]
    printed = subprocess.run(command, cwd=HERE, check=True, capture_output=True, text=True).stdout
    print(printed)
    line = next(line for line in printed.splitlines() if re.search(r"─ 0(\.0)?\s", line))
    value, unit = re.findall(r"([0-9.]+) (ns|µs|ms)", line)[2]
    return float(value) * {"ns": 1e-3, "µs": 1.0, "ms": 1e3}[unit]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=pathlib.Path, default=HERE / "placements/benchmark.json")
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--ours-us", type=float)
    options = parser.parse_args()
    case = json.loads(options.cases.read_text())["cases"][0]
    region = feasible(case)
    off = abs(region.area - case["area_mm2"])
    if off > max(10.0, 1e-6 * case["area_mm2"]):
        sys.exit(f"shapely's area is off by {off} mm2, so the times would not compare")
    times = []
    for _ in range(options.runs):
        start = time.perf_counter()
        feasible(case)
        times.append(1e6 * (time.perf_counter() - start))
    theirs = statistics.median(times)
    ours = options.ours_us or ours_us()
    print(f"shapely {shapely.__version__} (GEOS {shapely.geos_version_string}): {theirs:.0f} us")
    print(f"baywright: {ours:.0f} us")
    print(f"ratio: {theirs / ours:.0f}")


if __name__ == "__main__":
    main()
