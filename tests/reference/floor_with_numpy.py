#!/usr/bin/env python3
"""Floor planes, slopes, decisions and interpolated heights and light, as reference cases.

numpy's least squares, scipy's normal distribution, numerical integration and triangulation share
no code with ours. Writes tests/reference/floor/*.json and tests/reference/light/*.json; with
--check it computes all again and compares with what is there.

    python3 -m venv /tmp/floor && /tmp/floor/bin/pip install -r tests/python/requirements.txt
    /tmp/floor/bin/python tests/reference/floor_with_numpy.py --write
"""

import argparse
import json
import math
import pathlib
import random
import sys

import numpy as np
import scipy
from scipy import integrate, interpolate, stats

SEED = 7412
FOLDER = pathlib.Path(__file__).resolve().parent
MADE_WITH = f"numpy {np.__version__}, scipy {scipy.__version__}, seed {SEED}"
# How far a value computed again may be from the one that is kept: rounding of other processors.
AGAIN = 1e-9

# NIST Statistical Reference Datasets, linear regression. Norris: ozone monitors, y and x. Pontius:
# load cells, deflections for loads of 150000 to 3000000 in steps of 150000, twice.
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
    (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
    (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
    (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
    (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
    (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
]
PONTIUS = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.983, 1.0915, 1.20004,
    1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]
CERTIFIED = [
    {
        "name": "Norris", "source": "NIST StRD, certified values",
        "x": [x for _, x in NORRIS], "y": [y for y, _ in NORRIS],
        "B": [-0.262323073774029, 1.00211681802045],
        "se_B": [0.232818234301152, 0.429796848199937e-3],
        "residual_sd": 0.884796396144373, "r_squared": 0.999993745883712,
    },
    {
        "name": "Pontius", "source": "NIST StRD, certified values",
        "x": [150000.0 * (at % 20 + 1) for at in range(40)], "y": PONTIUS,
        "B": [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14],
        "se_B": [0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16],
        "residual_sd": 0.205177424076185e-3, "r_squared": 0.999999900178537,
    },
]


def deg(slope):
    return math.degrees(math.atan(slope))


def plane_case(dice):
    """A plane by least squares with the covariance u^2 inverse(A'A) of JCGM 100."""
    count = dice.randint(4, 40)
    b, c = dice.uniform(-0.01, 0.01), dice.uniform(-0.01, 0.01)
    points = []
    for _ in range(count):
        x, y = round(dice.uniform(0, 9000), 1), round(dice.uniform(0, 6000), 1)
        points.append([x, y, round(b * x + c * y + dice.gauss(0, 1.5), 2)])
    data = np.array(points)
    # In metres from the middle: well conditioned.
    middle = data[:, :2].mean(axis=0)
    a = np.column_stack([np.ones(count), (data[:, :2] - middle) / 1000])
    (level, along, across), *_ = np.linalg.lstsq(a, data[:, 2], rcond=None)
    slope_x, slope_y = along / 1000, across / 1000
    residuals = data[:, 2] - a @ np.array([level, along, across])
    u = round(dice.uniform(0.1, 3), 2)
    covariance = np.linalg.inv(a.T @ a)[1:, 1:] / 1e6
    steepest = math.hypot(slope_x, slope_y)
    direction = np.array([slope_x, slope_y]) / steepest
    deviation = math.sqrt(residuals @ residuals / (count - 3))
    u_x, u_y = (u * math.sqrt(covariance[at, at]) for at in (0, 1))
    return {
        "points_mm": points,
        "intercept_mm": level - slope_x * middle[0] - slope_y * middle[1],
        "slope_x_mm_per_mm": slope_x, "slope_y_mm_per_mm": slope_y,
        "slope_x_deg": deg(slope_x), "slope_y_deg": deg(slope_y), "steepest_deg": deg(steepest),
        "largest_residual_mm": float(np.abs(residuals).max()), "residual_std_mm": deviation,
        "instrument_u_mm": u, "u_slope_x_mm_per_mm": u_x, "u_slope_y_mm_per_mm": u_y,
        "u_slope_x_deg": math.degrees(u_x / (1 + slope_x**2)),
        "u_slope_y_deg": math.degrees(u_y / (1 + slope_y**2)),
        "cov_slopes": u * u * covariance[0, 1],
        "u_steepest_mm_per_mm": u * math.sqrt(direction @ covariance @ direction),
        "se_slope_x_from_residuals": u_x / u * deviation,
        "se_slope_y_from_residuals": u_y / u * deviation,
    }


def steepest_case(dice):
    """The chance that a slope keeps its limit, by integrating the normal density over a disc."""
    limit_deg = dice.choice([0.2, 0.3, 0.5])
    limit = math.tan(math.radians(limit_deg))
    share = dice.choice([0.0, dice.uniform(0, 0.9)])
    direction = dice.uniform(0, 2 * math.pi)
    x, y = share * limit * math.cos(direction), share * limit * math.sin(direction)
    u_x, u_y = (limit * dice.uniform(0.1, 0.6) for _ in range(2))
    correlation = dice.uniform(-0.8, 0.8)
    rest = math.sqrt(1 - correlation**2)

    def density(at_y, at_x):
        one = (at_x - x) / u_x
        two = ((at_y - y) / u_y - correlation * one) / rest
        return math.exp(-(one * one + two * two) / 2) / (2 * math.pi * u_x * u_y * rest)

    def edge(at_x):
        return math.sqrt(max(limit**2 - at_x**2, 0))

    chance, _ = integrate.dblquad(
        density, -limit, limit, lambda at_x: -edge(at_x), edge, epsabs=1e-10, epsrel=1e-10
    )
    return {
        "slope_x": x, "slope_y": y, "u_slope_x": u_x, "u_slope_y": u_y, "correlation": correlation,
        "slope_max_deg": limit_deg, "probability_within": chance,
    }


def decision_case(dice):
    probability = dice.choice([0.8, 0.9, 0.95, 0.99, 0.999])
    upper = round(dice.uniform(1, 10), 2)
    lower = None if dice.random() < 0.5 else round(upper - dice.uniform(1, 9), 2)
    u = round(dice.uniform(0.05, 0.8), 3)
    measured = round(upper + dice.uniform(-3, 3) * u * 1.6, 3)
    k = float(stats.norm.ppf(probability))
    distances = [upper - measured] + ([] if lower is None else [measured - lower])
    if min(distances) >= k * u:
        verdict = "conforms"
    elif -min(distances) > k * u:
        verdict = "does not conform"
    else:
        verdict = "not decided"
    below = stats.norm.cdf((upper - measured) / u)
    under = 0.0 if lower is None else stats.norm.cdf((lower - measured) / u)
    return {
        "measured": measured, "u": u, "lower_limit": lower, "upper_limit": upper,
        "conformance_probability": probability, "k": k, "guard_band": k * u, "verdict": verdict,
        "probability_true_value_conforms": float(below - under),
        "largest_u_that_decides": min(abs(distance) for distance in distances) / k,
    }


def surface_case(dice):
    """Heights between scattered points, by scipy's Delaunay triangulation."""
    points = [
        [round(dice.uniform(0, 9000), 1), round(dice.uniform(0, 6000), 1), round(dice.uniform(-20, 20), 2)]
        for _ in range(dice.randint(6, 40))
    ]
    data = np.array(points)
    surface = interpolate.LinearNDInterpolator(data[:, :2], data[:, 2])
    heights = []
    for _ in range(12):
        x, y = round(dice.uniform(0, 9000), 1), round(dice.uniform(0, 6000), 1)
        height = float(surface(x, y))
        heights.append([x, y, None if math.isnan(height) else height])
    return {"surface_points_mm": points, "heights_mm": heights}


def spacing_case(side_m):
    p = min(10.0, 0.2 * 5 ** math.log10(side_m))
    return {"d_m": side_m, "p_m": p, "least_points_along_d": math.ceil(side_m / p)}


def grid_case(along_m, across_m):
    long, short = max(along_m, across_m), min(along_m, across_m)
    p = min(10.0, 0.2 * 5 ** math.log10(short if long / short >= 2 else long))
    return {
        "sides_m": [along_m, across_m], "p_m": p,
        "points": [math.ceil(along_m / p), math.ceil(across_m / p)],
    }


def uniformity_case(dice):
    lux = [dice.randint(150, 1200) for _ in range(dice.randint(3, 40))]
    return {
        "lux": lux, "average": float(np.mean(lux)), "minimum": min(lux), "maximum": max(lux),
        "U0": float(min(lux) / np.mean(lux)),
    }


def sources_case(dice):
    sources = [
        [round(dice.uniform(0, 9), 2), round(dice.uniform(0, 6), 2), round(dice.uniform(2.5, 5), 2),
         float(dice.randint(500, 9000))]
        for _ in range(dice.randint(1, 6))
    ]
    point = np.array([round(dice.uniform(0, 9), 2), round(dice.uniform(0, 6), 2), 0.8])
    lux = 0.0
    for *place, candela in sources:
        ray = np.array(place) - point
        lux += candela * ray[2] / np.linalg.norm(ray) ** 3
    return {"sources_x_y_z_m_and_candela": sources, "point_m": point.tolist(), "horizontal_lux": float(lux)}


def files():
    dice = random.Random(SEED)
    head = {"tolerance_relative": 1e-9, "made_with": MADE_WITH}
    yield "floor/planes.json", {**head, "cases": [plane_case(dice) for _ in range(40)]}
    yield "floor/certified.json", {"tolerance_relative": 1e-9, "nist_strd": CERTIFIED}
    yield "floor/steepest_slopes.json", {
        "tolerance_probability": 2e-3, "made_with": MADE_WITH,
        "cases": [steepest_case(dice) for _ in range(40)],
    }
    yield "floor/decisions.json", {**head, "cases": [decision_case(dice) for _ in range(60)]}
    yield "floor/surfaces.json", {
        "tolerance_mm": 1e-6, "made_with": MADE_WITH,
        "cases": [surface_case(dice) for _ in range(20)],
    }
    areas = [(round(dice.uniform(0.5, 30), 2), round(dice.uniform(0.5, 12), 2)) for _ in range(15)]
    yield "light/grids.json", {
        **head,
        "grid_spacing": [spacing_case(side) for side in (0.5, 1, 3, 4.5, 7, 12, 33, 80, 400, 2000)],
        "grid_of_area": [grid_case(*sides) for sides in areas],
    }
    yield "light/readings.json", {
        **head,
        "uniformity": [uniformity_case(dice) for _ in range(15)],
        "inverse_square": [sources_case(dice) for _ in range(15)],
    }


def text(value):
    """One case a line."""
    lines = ["{"]
    for at, (key, entry) in enumerate(value.items()):
        end = "," if at + 1 < len(value) else ""
        if isinstance(entry, list):
            rows = ",\n".join("  " + json.dumps(case) for case in entry)
            lines.append(f' "{key}": [\n{rows}\n ]{end}')
        else:
            lines.append(f' "{key}": {json.dumps(entry)}{end}')
    return "\n".join(lines) + "\n}\n"


def same(kept, made, where):
    """Compares what is kept with what was made again; yields each difference."""
    if isinstance(kept, dict) and isinstance(made, dict) and kept.keys() == made.keys():
        for key in kept:
            if key != "made_with":
                yield from same(kept[key], made[key], f"{where}.{key}")
    elif isinstance(kept, list) and isinstance(made, list) and len(kept) == len(made):
        for at, (one, other) in enumerate(zip(kept, made)):
            yield from same(one, other, f"{where}[{at}]")
    elif isinstance(kept, (int, float)) and isinstance(made, (int, float)):
        if not math.isclose(kept, made, rel_tol=AGAIN, abs_tol=1e-12):
            yield f"{where}: kept {kept}, made {made}"
    elif kept != made:
        yield f"{where}: kept {kept!r}, made {made!r}"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    choice = parser.add_mutually_exclusive_group(required=True)
    choice.add_argument("--write", action="store_true", help="write the files")
    choice.add_argument("--check", action="store_true", help="compare them with values made again")
    write = parser.parse_args().write
    differences = []
    for name, value in files():
        path = FOLDER / name
        if write:
            path.write_text(text(value))
        else:
            differences += same(json.loads(path.read_text()), json.loads(text(value)), name)
    for difference in differences:
        print(difference)
    print(f"{len(differences)} differences" if not write else "written")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main())
