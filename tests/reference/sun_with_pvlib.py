#!/usr/bin/env python3
"""The sun-free windows of twenty bays by another way, and how long that takes.

Sun positions come from pvlib (its NREL SPA, numpy), polygons from shapely; no code is shared with
ours. The scene is invented: twenty bays, three windows and one zone each, made from a seed.

    python3 -m venv /tmp/sun && /tmp/sun/bin/pip install pvlib==0.16.1 shapely==2.2.0
    /tmp/sun/bin/python tests/reference/sun_with_pvlib.py [--write] [--days N] [--ours-ms MS]

--write    writes tests/reference/sun/sun_free_cases.json, the cases that the reference runner checks
--days N   follows the sun for N days in a row and prints the seconds that took (default 1)
--ours-ms  what `cargo bench -p baywright-core --bench daylight` printed for as many days: prints the
           ratio of the two

How a volume is judged: glass and zone (a convex outline from the floor up to a height, cut at the
window's wall) are moved along the beam onto the floor, where each leaves a convex polygon; the sun
reaches the zone when the two share an area. Scanned each minute: sunlit times shorter than that can
be missed here.
"""

import argparse
import json
import pathlib
import random
import time

import numpy as np
import pandas as pd
import pvlib
from shapely.geometry import MultiPoint, Polygon, box

SEED = 7401
FOLDER = pathlib.Path(__file__).resolve().parent / "sun"
SITE = {
    "latitude": 44.65,
    "longitude": -63.58,
    "elevation_m": 30.0,
    "pressure_mbar": 1013.25,
    "temperature_c": 12.0,
    "delta_t_s": 69.0,
}
SCAN_S = 60
FAR_MM = 1e6


def scene():
    """Twenty bays of one shop: three windows each, in any of the four walls, and one zone."""
    dice = random.Random(SEED)
    bays = []
    for _ in range(20):
        long, wide = dice.randrange(8000, 12001), dice.randrange(5000, 8001)
        sides = [
            ((0, 0), (1, 0), long, (0, -1)),
            ((long, 0), (0, 1), wide, (1, 0)),
            ((long, wide), (-1, 0), long, (0, 1)),
            ((0, wide), (0, -1), wide, (-1, 0)),
        ]
        windows = []
        for _ in range(3):
            (x, y), (dx, dy), length, outward = dice.choice(sides)
            size = dice.randrange(1000, 3001)
            start = dice.randrange(0, length - size)
            sill = dice.randrange(0, 2001)
            ends = [[x + dx * at, y + dy * at] for at in (start, start + size)]
            windows.append(
                {
                    "base_mm": ends,
                    "sill_mm": sill,
                    "head_mm": sill + dice.randrange(1000, 2001),
                    "outward_normal": list(outward),
                }
            )
        x, y = dice.randrange(1000, 3001), dice.randrange(800, 1801)
        zone = [[x, y], [x + 4000, y], [x + 4000, y + 2500], [x, y + 2500]]
        bays.append(
            {
                **SITE,
                "bearing_deg": 31.0,
                "windows": windows,
                "volumes": [{"zone_mm": zone, "up_to_mm": dice.randrange(500, 2501)}],
            }
        )
    return bays


def positions(instants):
    """Azimuth and apparent elevation, degrees, at instants given in seconds of 1970."""
    times = pd.to_datetime(np.asarray(instants, dtype="int64"), unit="s", utc=True)
    sun = pvlib.solarposition.spa_python(
        times,
        SITE["latitude"],
        SITE["longitude"],
        altitude=SITE["elevation_m"],
        pressure=SITE["pressure_mbar"] * 100,
        temperature=SITE["temperature_c"],
        delta_t=SITE["delta_t_s"],
        atmos_refract=0.5667,
    )
    return sun["azimuth"].to_numpy(), sun["apparent_elevation"].to_numpy()


def lit(bay, window, azimuth_deg, elevation_deg):
    """Whether the sun reaches the bay's zone through the window."""
    if elevation_deg <= 0:
        return False
    turn = np.radians(azimuth_deg - bay["bearing_deg"])
    towards = np.array([np.sin(turn), np.cos(turn)])
    outward = np.array(window["outward_normal"], dtype=float)
    if towards @ outward <= 0:
        return False
    zone = bay["volumes"][0]
    run = 1 / np.tan(np.radians(elevation_deg))
    # Everything is moved along the beam to the height of the floor: a point at height z by z * run.
    glass = [
        np.array(end) - towards * run * z
        for end in window["base_mm"]
        for z in (window["sill_mm"], window["head_mm"])
    ]
    inside = Polygon(zone["zone_mm"]) & indoors(window, outward)
    if inside.area <= 0:
        return False
    body = [
        np.array(corner) - towards * run * z
        for corner in inside.exterior.coords
        for z in (0.0, zone["up_to_mm"])
    ]
    return MultiPoint(glass).convex_hull.intersection(MultiPoint(body).convex_hull).area > 1e-6


def indoors(window, outward):
    """The half-plane on the inner side of a window in one of the four walls."""
    x, y = window["base_mm"][0]
    if outward[0]:
        return box(x - FAR_MM, -FAR_MM, x, FAR_MM) if outward[0] > 0 else box(x, -FAR_MM, x + FAR_MM, FAR_MM)
    return box(-FAR_MM, y - FAR_MM, FAR_MM, y) if outward[1] > 0 else box(-FAR_MM, y, FAR_MM, y + FAR_MM)


def sun_free(bay, start, end, track):
    """The sun-free intervals of a bay, seconds of 1970: scanned each minute, bisected to a second."""
    instants, azimuths, elevations = track

    def at(instant):
        azimuth, elevation = positions([instant])
        return any(lit(bay, w, azimuth[0], elevation[0]) for w in bay["windows"])

    states = [
        any(lit(bay, w, a, e) for w in bay["windows"]) for a, e in zip(azimuths, elevations)
    ]
    free, since = [], None if states[0] else start
    for before, after, was, now in zip(instants, instants[1:], states, states[1:]):
        if was == now:
            continue
        low, high = before, after
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if at(middle) == was else (low, middle)
        if was:
            since = high
        else:
            free.append((since, high))
            since = None
    if since is not None:
        free.append((since, end))
    return free


def text(instant):
    return pd.Timestamp(int(instant), unit="s", tz="UTC").strftime("%Y-%m-%dT%H:%M:%SZ")


def follow(day, days):
    """All bays over some days: the sun-free intervals of each, and the seconds it took."""
    start = int(pd.Timestamp(day, tz="UTC").timestamp())
    end = start + 86_400 * days
    began = time.perf_counter()
    instants = list(range(start, end + 1, SCAN_S))
    track = (instants, *positions(instants))
    found = [sun_free(bay, start, end, track) for bay in scene()]
    return found, time.perf_counter() - began


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--write", action="store_true")
    arguments.add_argument("--days", type=int, default=1)
    arguments.add_argument("--ours-ms", type=float)
    given = arguments.parse_args()
    if given.write:
        cases = []
        for day in ("2026-03-20", "2026-06-21", "2026-12-21"):
            for bay, free in zip(scene(), follow(day, 1)[0]):
                free = [[text(a), text(b)] for a, b in free]
                cases.append({**bay, "utc_day": day, "sun_free_utc": free})
        made_with = f"pvlib {pvlib.__version__}, numpy {np.__version__}, seed {SEED}"
        FOLDER.mkdir(exist_ok=True)
        whole = {"tolerance_s": 3, "made_with": made_with, "cases": cases}
        head, tail = json.dumps({**whole, "cases": []}).rsplit("]", 1)
        lines = ",\n".join(json.dumps(case) for case in cases)
        (FOLDER / "sun_free_cases.json").write_text(f"{head}\n{lines}\n]{tail}\n")
        print(f"{len(cases)} cases written")
        return
    _, seconds = follow("2026-03-20", given.days)
    print(f"pvlib and shapely: 20 bays of 3 openings, {given.days} day(s): {seconds:.2f} s")
    if given.ours_ms:
        print(f"ours: {given.ours_ms} ms; ratio {seconds * 1000 / given.ours_ms:.0f}")


if __name__ == "__main__":
    main()
