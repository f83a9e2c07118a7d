"""Writes the case of the fit report's benchmark: 20 bays of 12 corners with 5 obstructions and 2
stations each, 12 vehicle classes, 40 methods of 4 zones. Every figure is invented and follows from
the counts alone, so that a second run writes the same file.

    python3 tests/reference/make_fit_report_case.py
"""

import json
from pathlib import Path

TARGET = Path(__file__).parent / "fit_report" / "shop.json"


def bay(at):
    """A hall with a niche at the upper and the lower wall, 12 corners."""
    x, long, wide = 0.0, 11_000.0 + 350.0 * (at % 10), 5_600.0 + 130.0 * (at % 7)
    y = 9_000.0 * at
    a, b = 2_000.0 + 90.0 * (at % 5), 4_000.0 + 70.0 * (at % 6)
    outline = [
        (x, y), (x + a, y), (x + a, y - 400.0), (x + b, y - 400.0), (x + b, y), (x + long, y),
        (x + long, y + wide), (x + b, y + wide), (x + b, y + wide + 300.0),
        (x + a, y + wide + 300.0), (x + a, y + wide), (x, y + wide),
    ]

    def block(name, left, low, width, height, from_mm, to_mm, metal):
        corners = [(left, low), (left + width, low), (left + width, low + height), (left, low + height)]
        return {"id": name, "outline_mm": corners, "from_mm": from_mm, "to_mm": to_mm, "metal": metal}

    middle = y + wide / 2
    obstructions = [
        block("bench", x + 500.0, y, 1_400.0, 600.0, 0.0, 900.0, False),
        block("column", x + long - 900.0 - 200.0 * (at % 4), y + 300.0, 350.0, 350.0, 0.0, 4_000.0, True),
        block("cabinet", x + long - 700.0, y + wide - 900.0, 700.0, 900.0, 0.0, 2_000.0, True),
        block("beam", x + 5_000.0, y + wide - 500.0, 300.0, 500.0, 2_600.0, 3_200.0, True),
        block("hose", x + 3_000.0 + 150.0 * (at % 8), y + wide - 450.0, 300.0, 450.0, 0.0, 1_200.0, False),
    ]
    stations = [
        {"id": "rear-mark", "x_mm": x + 4_800.0, "y_mm": middle, "heading_deg": 0.0},
        {"id": "out-mark", "x_mm": x + long - 4_800.0, "y_mm": middle, "heading_deg": 180.0},
    ]
    return {
        "id": f"bay-{at + 1}", "outline_mm": outline, "ceiling_mm": 3_000.0 + 150.0 * (at % 6),
        "obstructions": obstructions, "stations": stations,
    }


def vehicle(at):
    length = 3_900.0 + 260.0 * at
    return {
        "id": f"class-{at + 1}", "length_mm": length, "width_mm": 1_720.0 + 30.0 * at,
        "height_mm": 1_430.0 + 90.0 * at, "wheelbase_mm": 0.58 * length,
        "front_overhang_mm": 0.19 * length, "track_mm": 1_480.0 + 24.0 * at,
    }


def method(at):
    """Zones as corners before the front bumper and to the left of the centreline, millimetres."""
    ahead, half = 1_200.0 + 110.0 * at, 900.0 + 25.0 * (at % 20)

    def zone(name, need, rear, front, half):
        corners = [(rear, -half), (front, -half), (front, half), (rear, half)]
        return {"id": name, "need": need, "corners_mm": corners}

    return {
        "id": f"method-{at + 1}",
        "up_to_mm": 1_800.0 + 40.0 * (at % 10),
        "slope_max_deg": 0.25 + 0.05 * (at % 6),
        "average_min_lux": 250.0 + 25.0 * (at % 8),
        "zones": [
            zone("view", "clear-floor", 0.0, ahead, half),
            zone("sides", "clear-floor", -4_000.0, 0.0, 1_300.0 + 20.0 * (at % 9)),
            zone("target", "level-and-light", 0.6 * ahead, ahead, half),
            zone("around", "no-metal", 0.2 * ahead, ahead + 300.0, half + 200.0),
        ],
    }


def main():
    case = {
        "origin": "made by make_fit_report_case.py; every figure is invented",
        "bays": [bay(at) for at in range(20)],
        "vehicle_classes": [vehicle(at) for at in range(12)],
        "methods": [method(at) for at in range(40)],
    }
    TARGET.parent.mkdir(exist_ok=True)
    TARGET.write_text(json.dumps(case, indent=1) + "\n")


if __name__ == "__main__":
    main()
