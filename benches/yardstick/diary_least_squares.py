"""The fit of a record beside a plain least-squares run through scipy's solver on the same model.

    python benches/yardstick/diary_least_squares.py target/release/marshgas

Makes up a tank and a record of 90 days, fits it with `diary fit`, and then with scipy.optimize.least_squares, whose
residuals come from `run` of the same scenario with the same six unknowns, priors and errors of readings. Prints the
sums, the values, the points and the time of both. All numbers are invented.
"""

import json
import math
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from scipy.optimize import least_squares
from scipy.special import ndtr, ndtri

PROGRAM = sys.argv[1]
DAYS = 90
HOUR = 8
CORNER = 1.345
STEP = 0.1
TRUE = [0.7, 0.8, 1.05, 0.15, 0.5, 1.05]
NAMES = ["hydrolysis", "starter", "degradable", "leak", "temperature", "reading"]


def scenario(values, usual):
    """The tank with values of the unknowns."""
    hydrolysis, living, degradable, leak, warmer, _ = values
    factors = {"living_factor": living, "hydrolysis_factor": hydrolysis, "degradable_factor": degradable}
    kinds = ["cattle-slurry", "kitchen-scraps", "cattle-dung"]
    return {
        "title": "Yardstick", "about": "Invented.", "start_date": "2026-03-01", "days": DAYS + 1,
        "vessels": [{"name": "tote", "liquid_l": 800, "headspace_l": 200, "stirring": "daily",
                     "temperature": {"constant_c": 35 + warmer}, "leak_l_per_d": leak * usual}],
        "gas": {"store_pressure_mbar": 8, "reading_temperature_c": 20},
        "solver": {"relative_tolerance": 1e-3},
        "starter": {"materials": [{"material": "cattle-slurry-y", "kg": 350}], "water_l": 350},
        "materials": {k + "-y": {"like": {"name": k + " y", "material": k, **factors}} for k in kinds},
        "recipes": {"bucket": {"materials": [{"material": "kitchen-scraps-y", "kg": 3.0},
                                             {"material": "cattle-dung-y", "kg": 1.5}], "water_l": 6.0}},
        "feeding": [{"daily": {"recipe": "bucket", "from_day": 1, "to_day": DAYS, "hour": HOUR}}],
    }


def gas(folder, values, usual):
    """Gas of each day as the run has it."""
    path = folder / "y.json"
    path.write_text(json.dumps(scenario(values, usual)))
    done = subprocess.run([PROGRAM, "run", str(path), "--json", "-q"], capture_output=True, check=True)
    return [row["gas_nl"] for row in json.loads(done.stdout)["outcome"]["plant"]]


def gathered(days, t):
    """Gas up to `t`, straight within a day."""
    whole = int(t)
    return sum(days[:whole]) + (t - whole) * (days[whole] if whole < len(days) else 0.0)


def value(prior, u):
    """The value at a coordinate: the share of the prior below it is that of a standard normal number."""
    (kind, p), = prior.items()
    if kind == "normal":
        middle, width, of = p["mean"], p["sd"], lambda x: x
    else:
        middle, width, of = math.log(p["median"]), math.log(p["factor"]) / ndtri(0.95), math.exp
    back = (lambda x: x) if kind == "normal" else math.log
    low = ndtr((back(p["low"]) - middle) / width)
    high = ndtr((back(p["high"]) - middle) / width)
    return of(middle + width * ndtri(low + (high - low) * ndtr(u)))


def coordinate(prior, wanted):
    """The coordinate of a value, by halving."""
    below, above = -6.0, 6.0
    for _ in range(60):
        middle = 0.5 * (below + above)
        below, above = (middle, above) if value(prior, middle) < wanted else (below, middle)
    return below


def tamed(r):
    """The root of Huber's loss."""
    return r if abs(r) <= CORNER else math.copysign(math.sqrt(CORNER * (2 * abs(r) - CORNER)), r)


def slopes(residuals):
    """One-sided differences a tenth of a prior's width apart, as runs at a tolerance of 1e-3 ask for."""
    def at(u):
        here = residuals(u)
        columns = []
        for j in range(len(u)):
            there = list(u)
            there[j] += STEP
            columns.append([(b - a) / STEP for a, b in zip(here, residuals(there))])
        return [list(row) for row in zip(*columns)]
    return at


def main():
    chance = random.Random(1)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sound = gas(folder, [1, 1, 1, 0.0, 0, 1], 1.0)
        usual = sum(sorted(sound)[len(sound) // 2:]) / (len(sound) - len(sound) // 2)
        true = gas(folder, TRUE, usual)
        lines = ["date,fed,water_l,tank_c,gas_l,gas_c,gas_mbar,gas_wet"]
        for day in range(1, DAYS + 1):
            t = day + HOUR / 24
            one = gathered(true, t) - gathered(true, t - 1)
            read = 1.05 * one * (1 + 0.1 * chance.gauss(0, 1)) + 0.04 * usual * chance.gauss(0, 1)
            month, date = (3, day + 1) if day < 31 else (4, day - 30) if day < 61 else (5, day - 60)
            lines.append(f"2026-{month:02}-{date:02},3 kg kitchen-scraps-y + 1.5 kg cattle-dung-y,6,35,"
                         f"{max(read, 0):.0f},0,0,dry")
        record = folder / "y.csv"
        record.write_text("\n".join(lines) + "\n")
        (folder / "y.json").write_text(json.dumps(scenario([1, 1, 1, 0.0, 0, 1], 1.0)))
        begun = time.time()
        done = subprocess.run([PROGRAM, "diary", "fit", str(record), "--scenario", str(folder / "y.json"), "--json", "-q"],
                              capture_output=True, check=True)
        whole = time.time() - begun
        fit = json.loads(done.stdout)["result"]
        usual = fit["usual_gas_nl"]
        priors = [u["unknown"]["prior"] for u in fit["unknowns"]]
        readings = [(r["from_day"], r["day"], r["seen"]) for r in fit["residuals"]]
        # A good day's gas tells the least error; larger amounts err by a tenth, evenly on the scale `size`.
        rates = sorted(seen / (b - a) for a, b, seen in readings)
        least = 0.04 * max(rates[len(rates) * 9 // 10], 0.3 * usual)

        def size(amount):
            return math.asinh(0.1 * amount / least) / 0.1

        points = 0

        def residuals(u):
            nonlocal points
            points += 1
            values = [value(p, x) for p, x in zip(priors, u)]
            days = gas(folder, values, usual)
            data = [tamed(size(values[5] * (gathered(days, b) - gathered(days, a))) - size(seen))
                    for a, b, seen in readings]
            return data + list(u)

        begun = time.time()
        plain = least_squares(residuals, [0.0] * 6, jac=slopes(residuals), ftol=1e-3, xtol=1e-3)
        took = time.time() - begun
        walked = points
        print(f"diary fit: sum {min(s for s in fit['starts'] if s is not None):.2f}, {fit['runs']} runs with all draws, "
              f"{whole:.1f} s, effective draws {fit['effective_draws']:.0f} of {fit['draws']}")
        truth = residuals([coordinate(p, x) for p, x in zip(priors, TRUE)])
        print(f"truth:     sum {sum(r * r for r in truth):.2f}")
        print(f"scipy:     sum {2 * plain.cost:.2f}, {walked} runs, {took:.1f} s with a process for each")
        for name, prior, u, found in zip(NAMES, priors, plain.x, fit["unknowns"]):
            print(f"  {name:12} diary {found['best']:8.4f} ({found['p05']:.4f} to {found['p95']:.4f})"
                  f"  scipy {value(prior, u):8.4f}")


main()
