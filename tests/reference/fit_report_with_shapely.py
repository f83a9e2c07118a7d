"""Times the space part of the fit report's benchmark with shapely: for every method, vehicle class,
bay and station whether body and zones lie on clear floor, and how far away what is nearest lies.
The product's figure (`cargo bench -p baywright-core --bench fit_report`) holds level floor and light
as well.

    pip install shapely
    python3 tests/reference/fit_report_with_shapely.py
"""

import json
import math
import time
from pathlib import Path

from shapely import affinity
from shapely.geometry import Polygon

CASE = Path(__file__).parent / "fit_report" / "shop.json"


def placed(corners, station):
    turned = affinity.rotate(Polygon(corners), station["heading_deg"], origin=(0, 0))
    return affinity.translate(turned, station["x_mm"], station["y_mm"])


def zones_of(method, vehicle):
    front = vehicle["front_overhang_mm"]
    rear, half = front - vehicle["length_mm"], vehicle["width_mm"] / 2
    body = [(rear, -half), (front, -half), (front, half), (rear, half)]
    yield "clear-floor", vehicle["height_mm"], body
    for zone in method["zones"]:
        corners = [(front + x, y) for x, y in zone["corners_mm"]]
        yield zone["need"], method["up_to_mm"], corners


def judged(outline, obstructions, need, up_to_mm, zone):
    """The reasons against a zone, and its distance to what is nearest."""
    if need == "level-and-light":
        return [], math.inf
    reasons = []
    if need == "clear-floor" and zone.difference(outline).area > 0.01:
        reasons.append("outside")
    nearest = outline.exterior.distance(zone)
    for one, shape in obstructions:
        if one["from_mm"] > up_to_mm or (need == "no-metal" and not one["metal"]):
            continue
        if zone.intersection(shape).area > 0.01:
            reasons.append(one["id"])
        else:
            nearest = min(nearest, shape.distance(zone))
    return reasons, nearest


def main():
    case = json.loads(CASE.read_text())
    bays = [
        (bay, Polygon(bay["outline_mm"]), [(one, Polygon(one["outline_mm"])) for one in bay["obstructions"]])
        for bay in case["bays"]
    ]
    began = time.perf_counter()
    fitting = cells = 0
    for method in case["methods"]:
        for vehicle in case["vehicle_classes"]:
            zones = list(zones_of(method, vehicle))
            for bay, outline, obstructions in bays:
                cells += 1
                free = []
                for station in bay["stations"]:
                    found = [
                        judged(outline, obstructions, need, up_to_mm, placed(corners, station))
                        for need, up_to_mm, corners in zones
                    ]
                    low = any(need == "clear-floor" and up_to_mm > bay["ceiling_mm"] for need, up_to_mm, _ in zones)
                    free.append(not low and not any(reasons for reasons, _ in found))
                fitting += any(free)
    took = time.perf_counter() - began
    print(f"{cells} fits, {fitting} with space, {took:.2f} s, {1e6 * took / cells:.1f} us each")


if __name__ == "__main__":
    main()
