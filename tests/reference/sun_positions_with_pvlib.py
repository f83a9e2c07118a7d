#!/usr/bin/env python3
"""Positions of the sun, sunrises and sunsets from pvlib (its NREL SPA, numpy), as reference cases.

Writes tests/reference/sun/positions.json and tests/reference/sun/rise_and_set.json; the first
position carries the published values of the algorithm's worked example too.

    python3 -m venv /tmp/sun && /tmp/sun/bin/pip install pvlib==0.16.1
    /tmp/sun/bin/python tests/reference/sun_positions_with_pvlib.py
"""

import json
import pathlib
import random
import zoneinfo

import pandas as pd
import pvlib

SEED = 7402
FOLDER = pathlib.Path(__file__).resolve().parent / "sun"
MADE_WITH = f"pvlib {pvlib.__version__}, seed {SEED}"

# Reda and Andreas, NREL/TP-560-34302 (rev. 2008), appendix A.5.
EXAMPLE = {
    "source": "I. Reda, A. Andreas, NREL/TP-560-34302 (rev. 2008), appendix A.5",
    "utc": "2003-10-17T19:30:30Z",
    "latitude": 39.742476,
    "longitude": -105.1786,
    "elevation_m": 1830.14,
    "pressure_mbar": 820.0,
    "temperature_c": 11.0,
    "delta_t_s": 67.0,
    "published": {"topocentric_zenith_deg": 50.11162, "topocentric_azimuth_deg": 194.34024},
}


def sun(times, place):
    return pvlib.solarposition.spa_python(
        times,
        place["latitude"],
        place["longitude"],
        altitude=place["elevation_m"],
        pressure=place.get("pressure_mbar", 1013.25) * 100,
        temperature=place.get("temperature_c", 12.0),
        delta_t=place["delta_t_s"],
        atmos_refract=0.5667,
    )


def with_position(case):
    at = sun(pd.DatetimeIndex([case["utc"]]), case)
    return {
        **case,
        "true_elevation_deg": round(float(at["elevation"].iloc[0]), 7),
        "apparent_elevation_deg": round(float(at["apparent_elevation"].iloc[0]), 7),
        "azimuth_deg": round(float(at["azimuth"].iloc[0]), 7),
    }


def positions(dice):
    cases = [EXAMPLE]
    for _ in range(40):
        instant = pd.Timestamp("2024-01-01", tz="UTC") + pd.Timedelta(seconds=dice.randrange(10 * 365 * 86400))
        cases.append(
            {
                "utc": instant.strftime("%Y-%m-%dT%H:%M:%SZ"),
                "latitude": round(dice.uniform(-85, 85), 3),
                "longitude": round(dice.uniform(-180, 180), 3),
                "elevation_m": dice.choice([0.0, 30.0, 1600.0]),
                "pressure_mbar": dice.choice([820.0, 985.0, 1013.25, 1040.0]),
                "temperature_c": dice.choice([-25.0, 0.0, 12.0, 35.0]),
                "delta_t_s": dice.choice([67.0, 69.0, 72.0]),
            }
        )
    return [with_position(case) for case in cases]


def crossings(place, start, end):
    """Instants at which the true elevation crosses -50/60 degree: rises and sets."""
    limit = -50 / 60
    up = lambda t: float(sun(pd.DatetimeIndex([t]), place)["elevation"].iloc[0]) > limit
    times = pd.date_range(start, end, freq="60s")
    states = sun(times, place)["elevation"].to_numpy() > limit
    rises, sets = [], []
    for before, after, was, now in zip(times, times[1:], states, states[1:]):
        if was == now:
            continue
        while (after - before).total_seconds() > 0.1:
            middle = before + (after - before) / 2
            before, after = (middle, after) if up(middle) == was else (before, middle)
        (rises if now else sets).append(after.round("s").strftime("%Y-%m-%dT%H:%M:%SZ"))
    return rises, sets, bool(states.all()), bool(not states.any())


def rise_and_set():
    sites = [
        ("America/Halifax", 44.65, -63.58),
        ("Europe/Oslo", 69.65, 18.96),
        ("Australia/Sydney", -33.87, 151.21),
        ("Asia/Kolkata", 28.6, 77.2),
    ]
    cases = []
    for zone, latitude, longitude in sites:
        for date in ("2026-01-15", "2026-03-29", "2026-05-18", "2026-06-21", "2026-07-26", "2026-11-01", "2026-12-21"):
            day = pd.Timestamp(date, tz=zoneinfo.ZoneInfo(zone))
            place = {"latitude": latitude, "longitude": longitude, "elevation_m": 0.0, "delta_t_s": 69.0}
            start, end = day.tz_convert("UTC"), (day + pd.DateOffset(days=1)).tz_convert("UTC")
            rises, sets, above, below = crossings(place, start, end)
            cases.append(
                {
                    **place,
                    "zone": zone,
                    "local_date": date,
                    "sunrise_utc": rises,
                    "sunset_utc": sets,
                    "above_all_day": above,
                    "below_all_day": below,
                }
            )
    return cases


def write(name, settings, cases):
    head = json.dumps({**settings, "made_with": MADE_WITH, "cases": []})[:-2]
    lines = ",\n".join(json.dumps(case) for case in cases)
    (FOLDER / name).write_text(f"{head}\n{lines}\n]}}\n")
    print(f"{name}: {len(cases)} cases")


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    write("positions.json", {"tolerance_deg": 1e-5}, positions(random.Random(SEED)))
    write("rise_and_set.json", {"tolerance_s": 2}, rise_and_set())
