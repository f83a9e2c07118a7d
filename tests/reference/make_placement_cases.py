#!/usr/bin/env python3
"""Makes placement cases with a general-purpose geometry library, checked a second way.

    python3 tests/reference/make_placement_cases.py --seed 11 --count 24 > cases.json

A case is a floor, obstructions and zones (simple polygons, convex or not), one heading, the area
and number of pieces of the set of positions at which every zone lies on free floor, and positions
that are in it or not. The set is computed with shapely (https://pypi.org/project/shapely) by
erosion: the outside of the floor and each obstruction are cut into triangles, each is added to each
triangle of the reflected zone (the hull of all sums of corners), and all sums are taken off the
floor's rectangle. The second way places every zone at positions strewn over the rectangle and asks
shapely whether it lies in the free floor; a case with one disagreement is not written.
"""

import argparse
import json
import math
import random
import sys

import shapely
from shapely import affinity
from shapely.geometry import MultiPoint, Point, Polygon, box
from shapely.ops import unary_union

MARGIN_MM = 1.0
CHECKS = 400
POSES = 16


def turned(points, heading_deg):
    """Points turned around the origin; quarter turns exactly."""
    quarters = {0.0: (0, 1), 90.0: (1, 0), 180.0: (0, -1), 270.0: (-1, 0)}
    angle = math.radians(heading_deg)
    sin, cos = quarters.get(heading_deg % 360.0, (math.sin(angle), math.cos(angle)))
    return [(cos * x - sin * y, sin * x + cos * y) for x, y in points]


def triangles(area):
    """Triangles that make up a polygon, with holes or without."""
    parts = shapely.constrained_delaunay_triangles(area)
    return [part for part in parts.geoms if part.area > 0]


def hull_of_sums(a, b):
    corners_a = list(a.exterior.coords)[:-1]
    corners_b = list(b.exterior.coords)[:-1]
    return MultiPoint([(x + u, y + v) for x, y in corners_a for u, v in corners_b]).convex_hull


def feasible(floor, obstructions, zones, heading_deg):
    """The feasible positions of the origin."""
    least_x, least_y, most_x, most_y = floor.bounds
    reach = 1.0 + max(math.hypot(x, y) for zone in zones for x, y in zone)
    around = box(least_x - 3 * reach, least_y - 3 * reach, most_x + 3 * reach, most_y + 3 * reach)
    solids = triangles(around.difference(floor))
    solids += [part for one in obstructions for part in triangles(one)]
    left = box(least_x - reach, least_y - reach, most_x + reach, most_y + reach)
    for zone in zones:
        reflected = Polygon([(-x, -y) for x, y in turned(zone, heading_deg)])
        sums = [hull_of_sums(solid, part) for solid in solids for part in triangles(reflected)]
        left = left.difference(unary_union(sums))
    return left


def pieces_of(area):
    parts = getattr(area, "geoms", [area])
    return [part for part in parts if part.geom_type == "Polygon" and part.area > 0.5]


def stands(floor, obstructions, zones, heading_deg, x, y, slack):
    """Whether every zone, placed, lies on free floor; `slack` is the area that may be off."""
    for zone in zones:
        placed = affinity.translate(Polygon(turned(zone, heading_deg)), x, y)
        if placed.difference(floor).area > slack:
            return False
        if any(placed.intersection(one).area > slack for one in obstructions):
            return False
    return True


def notched(rng, width, height):
    """A floor: a rectangle with notches, or a skewed quadrilateral."""
    kind = rng.choice(["rect", "L", "U", "T", "skew", "pier", "comb"])
    w, h = width, height
    a, b = rng.randrange(w // 4, w // 2), rng.randrange(h // 5, h // 3)
    shapes = {
        "rect": [(0, 0), (w, 0), (w, h), (0, h)],
        "L": [(0, 0), (w, 0), (w, h - b), (a, h - b), (a, h), (0, h)],
        "U": [(0, 0), (w, 0), (w, h), (w - a // 2, h), (w - a // 2, h - b), (a // 2, h - b),
              (a // 2, h), (0, h)],
        "T": [(a // 2, 0), (w - a // 2, 0), (w - a // 2, h - b), (w, h - b), (w, h), (0, h),
              (0, h - b), (a // 2, h - b)],
        "skew": [(0, b // 3), (w - a // 3, 0), (w, h - b // 2), (a // 4, h)],
        "pier": [(0, 0), (w, 0), (w, h), (0, h), (0, h // 2 + 120), (a // 2, h // 2 + 120),
                 (a // 2, h // 2 - 120), (0, h // 2 - 120)],
    }
    if kind != "comb":
        return kind, shapes[kind]
    teeth = []
    step = w / 5
    for tooth in range(4, 0, -1):
        x = round(step * tooth)
        depth = rng.randrange(200, 700)
        teeth += [(x + 60, h), (x + 60, h - depth), (x - 60, h - depth - 80), (x - 60, h)]
    return kind, [(0, 0), (w, 0), (w, h), *teeth, (0, h)]


def obstruction(rng, width, height):
    x, y = rng.randrange(-200, width), rng.randrange(-200, height)
    kind = rng.choice(["column", "bench", "angle", "star"])
    if kind == "column":
        r = rng.randrange(120, 320)
        points = [(r * math.cos(k * math.pi / 4), r * math.sin(k * math.pi / 4)) for k in range(8)]
    elif kind == "bench":
        w, h = rng.randrange(400, 1800), rng.randrange(300, 700)
        points = [(0, 0), (w, 0), (w, h), (0, h)]
    elif kind == "angle":
        w, t = rng.randrange(600, 1600), rng.randrange(100, 250)
        points = [(0, 0), (w, 0), (w, t), (t, t), (t, w), (0, w)]
    else:
        r = rng.randrange(200, 500)
        points = [(r * (1 if k % 2 else 0.45) * math.cos(k * math.pi / 5),
                   r * (1 if k % 2 else 0.45) * math.sin(k * math.pi / 5)) for k in range(10)]
    turn = rng.choice([0.0, 0.0, 90.0, rng.uniform(0, 360)])
    return [(round(x + u), round(y + v)) for u, v in turned(points, turn)]


def zones_for(rng):
    """The body and up to three zones, convex or not."""
    length, width, front = rng.randrange(3600, 4900), rng.randrange(1700, 2000), 900
    half = width // 2
    body = [(front - length, -half), (front, -half), (front, half), (front - length, half)]
    out = rng.randrange(600, 1500)
    target = [(front, -half), (front + 2 * out, -out), (front + 2 * out, out), (front, half)]
    angle = [(front, -half - 500), (front + out, -half - 500), (front + out, -half),
             (front + 400, -half), (front + 400, half), (front, half)]
    c_shape = [(-3000, half), (-600, half), (-600, half + 900), (-1000, half + 900),
               (-1000, half + 400), (-2600, half + 400), (-2600, half + 900), (-3000, half + 900)]
    arrow = [(front - length, 0), (front - length - 900, 700), (front - length - 500, 0),
             (front - length - 900, -700)]
    extra = rng.sample([target, angle, c_shape, arrow], rng.randrange(0, 4))
    return [body, *extra]


def make(rng):
    width, height = rng.randrange(5200, 9000), rng.randrange(7500, 13000)
    # In a hall a column leaves a hole in the set; in a bay it seldom does.
    hall = rng.random() < 0.3
    if hall:
        width, height = 2 * width, 2 * height
    kind, floor_mm = notched(rng, width, height)
    obstructions_mm = [obstruction(rng, width, height) for _ in range(rng.randrange(hall, 4))]
    zones_mm = zones_for(rng)
    heading_deg = rng.choice([0.0, 90.0, 180.0, 270.0, round(rng.uniform(60, 120), 2),
                              round(rng.uniform(240, 300), 2)])
    floor = Polygon(floor_mm)
    obstructions = [Polygon(one) for one in obstructions_mm]
    if not floor.is_valid or any(not one.is_valid or one.area < 100 for one in obstructions):
        return None
    region = feasible(floor, obstructions, zones_mm, heading_deg)
    pieces = pieces_of(region)
    area = sum(part.area for part in pieces)
    if any(2 * part.area / part.length < 0.5 for part in pieces) or 0 < area < 50:
        return None
    edge = region.boundary
    least_x, least_y, most_x, most_y = floor.bounds
    strewn = [(rng.uniform(least_x, most_x), rng.uniform(least_y, most_y)) for _ in range(CHECKS)]
    for part in pieces:
        inside = part.representative_point()
        strewn.insert(0, (inside.x, inside.y))
    poses = []
    for x, y in strewn:
        if edge.distance(Point(x, y)) < MARGIN_MM:
            continue
        inside = region.covers(Point(x, y))
        if inside != stands(floor, obstructions, zones_mm, heading_deg, x, y, 0.001):
            sys.exit(f"the two ways disagree at {x}, {y}")
        poses.append([round(x, 3), round(y, 3), inside])
    ins = [pose for pose in poses if pose[2]][: POSES // 2]
    outs = [pose for pose in poses if not pose[2]][: POSES - len(ins)]
    tag = "empty" if not pieces else "split" if len(pieces) > 1 else kind
    return {
        "tag": tag,
        "floor_kind": kind,
        "floor_mm": floor_mm,
        "obstructions_mm": obstructions_mm,
        "zones_vehicle_mm": zones_mm,
        "heading_deg": heading_deg,
        "area_mm2": area,
        "components": len(pieces),
        "holes": sum(len(part.interiors) for part in pieces),
        "poses": ins + outs,
    }


def benchmark():
    """A bay of 40 corners, 20 obstructions, most along its walls, and 8 zones; all invented."""
    rng = random.Random(40)
    w, h = 14000, 16000
    floor_mm = [(0, 0), (w, 0)]
    for k in range(1, 5):
        y = k * h // 5
        floor_mm += [(w, y - 150), (w - 260, y - 150), (w - 260, y + 150), (w, y + 150)]
    floor_mm += [(w, h)]
    for k in range(4, 0, -1):
        x = k * w // 5
        floor_mm += [(x + 120, h), (x + 100, h - 300), (x - 100, h - 340), (x - 120, h)]
    floor_mm += [(0, h), (0, 9000), (350, 8900), (350, 7400), (0, 7300)]
    assert len(floor_mm) == 40, len(floor_mm)
    spots = [(300 + 40 * k, 700 + 1500 * k) for k in range(10) if k not in (5,)]
    spots += [(w - 900 - 30 * k, 600 + 1900 * k) for k in range(7)]
    spots += [(4300, 9800), (9700, 6400), (6800, 350), (9100, h - 2400)]
    obstructions_mm = []
    for at, (x, y) in enumerate(spots):
        kind = at % 3
        if kind == 0:
            r = 150 + 10 * at
            points = [(r * math.cos(k * math.pi / 4), r * math.sin(k * math.pi / 4))
                      for k in range(8)]
        elif kind == 1:
            points = [(0, 0), (700, 0), (700, 450), (0, 450)]
        else:
            points = [(0, 0), (650, 0), (650, 150), (150, 150), (150, 650), (0, 650)]
        turn = rng.uniform(0, 90)
        obstructions_mm.append([(round(x + u), round(y + v)) for u, v in turned(points, turn)])
    assert len(obstructions_mm) == 20, len(obstructions_mm)
    zones_mm = [
        [(-3700, -925), (900, -925), (900, 925), (-3700, 925)],
        [(900, -700), (4400, -1500), (4400, 1500), (900, 700)],
        [(3200, -1800), (4600, -1800), (4600, 1800), (3200, 1800)],
        [(-3700, 925), (900, 925), (900, 1825), (-3700, 1825)],
        [(-3700, -1825), (900, -1825), (900, -925), (-3700, -925)],
        [(-4900, -1100), (-3700, -1100), (-3700, 1100), (-4900, 1100)],
        [(900, -1400), (1900, -1400), (1900, 1400), (900, 1400), (900, 925), (1300, 925),
         (1300, -925), (900, -925)],
        [(-3000, 1825), (-600, 1825), (-600, 2500), (-1000, 2500), (-1000, 2100), (-2600, 2100),
         (-2600, 2500), (-3000, 2500)],
    ]
    region = feasible(Polygon(floor_mm), [Polygon(one) for one in obstructions_mm], zones_mm, 93.0)
    pieces = pieces_of(region)
    return {
        "tag": "benchmark",
        "floor_mm": floor_mm,
        "obstructions_mm": obstructions_mm,
        "zones_vehicle_mm": zones_mm,
        "heading_deg": 93.0,
        "area_mm2": sum(part.area for part in pieces),
        "components": len(pieces),
        "holes": sum(len(part.interiors) for part in pieces),
    }


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--count", type=int, default=24)
    parser.add_argument("--benchmark", action="store_true", help="make the benchmark's case only")
    options = parser.parse_args()
    if options.benchmark:
        write([benchmark()], "")
        return
    rng = random.Random(options.seed)
    cases = []
    empty = 0
    while len(cases) < options.count:
        case = make(rng)
        if case is None or (case["tag"] == "empty" and empty >= options.count // 6):
            continue
        empty += case["tag"] == "empty"
        cases.append(case)
    write(cases, f", seed {options.seed}")


def write(cases, seed):
    made_with = f"shapely {shapely.__version__} (GEOS {shapely.geos_version_string}){seed}"
    print('{"tolerance_area_relative": 1e-06, "tolerance_area_mm2": 10.0,')
    print(f' "made_with": {json.dumps(made_with)},')
    print(' "cases": [')
    print(",\n".join("  " + json.dumps(case) for case in cases))
    print(" ]}")


if __name__ == "__main__":
    main()
