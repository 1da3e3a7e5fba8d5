"""The same two models by other integrators: finish times that must agree, and how long a descent takes.

    python benches/peers/peers.py OURS.toml      # made by `cargo run --release -p timings --example peers`

Every right-hand side is compiled (numba). For each solver the loosest setting is sought from which on
every tighter one is within 10 us of the reference finish time; that setting is timed. Prints Markdown;
ends with status 1 where the tightest setting of one is further from ours than `AGREE_S` (steps that end
on the knots of the track) or `GOOD_S` (steps over them, where derivatives jump and estimates of errors fail).
"""

import itertools
import math
import statistics
import sys
import time
import tomllib

import numpy as np
from model import Model
from numba import njit
from scipy.integrate import solve_ivp
from sksundae.cvode import CVODE

# what a time is wanted to: a hundredth of a millisecond
GOOD_S = 1e-5
# where steps end on the knots of the track: 1500 steps with a tolerance of 1e-12 s each
AGREE_S = 1.5e-9
# the least that all solvers allow: the tolerance is absolute then, as in the program
LEAST_RELATIVE = 2.3e-14
TOLERANCES = [10.0**-p for p in range(2, 13)]


def by_scipy(method):
    def solve(model, tolerance):
        span = (model.from_m, model.finish_m)
        out = solve_ivp(model, span, model.start, method=method, rtol=LEAST_RELATIVE, atol=tolerance * model.about)
        return out.y[0, -1] if out.success else math.nan

    return solve


def by_cvode(method):
    def solve(model, tolerance):
        atol = tolerance * model.about
        solver = CVODE(model.into, method=method, rtol=LEAST_RELATIVE, atol=atol, max_num_steps=10**6)
        out = solver.solve(np.array([model.from_m, model.finish_m]), model.start)
        return out.y[-1, 0] if out.success else math.nan

    return solve


@njit
def runge_kutta_4(rates, stations, parts, y, numbers, knots, z, columns):
    """Classic Runge-Kutta of order 4, so many equal steps between two stations."""
    a, b, c, d = np.empty_like(y), np.empty_like(y), np.empty_like(y), np.empty_like(y)
    for i in range(len(stations) - 1):
        h = (stations[i + 1] - stations[i]) / parts
        for j in range(parts):
            s = stations[i] + j * h
            rates(s, y, a, numbers, knots, z, columns)
            rates(s + 0.5 * h, y + 0.5 * h * a, b, numbers, knots, z, columns)
            rates(s + 0.5 * h, y + 0.5 * h * b, c, numbers, knots, z, columns)
            rates(s + h, y + h * c, d, numbers, knots, z, columns)
            y = y + h / 6 * (a + 2 * b + 2 * c + d)
    return y


def stations_of(model):
    """Launch, knots of the track, finish."""
    knots = model.surface[0]
    inside = knots[(knots > model.from_m) & (knots < model.finish_m)]
    return np.concatenate(([model.from_m], inside, [model.finish_m]))


def by_own(model, parts):
    return runge_kutta_4(model.rates, stations_of(model), parts, model.start, model.numbers, *model.surface)[0]


def knot_to_knot(model, tolerance):
    y = model.start
    for span in itertools.pairwise(stations_of(model)):
        y = solve_ivp(model, span, y, method="DOP853", rtol=LEAST_RELATIVE, atol=tolerance * model.about).y[:, -1]
    return y[0]


ON_KNOTS = {
    "numba, own RK4, steps a knot": (by_own, [1, 2, 4, 8, 16, 32]),
    "SciPy DOP853, knot to knot": (knot_to_knot, [1e-8, 1e-10, 1e-12]),
}
OVER_KNOTS = {
    "SciPy RK45": (by_scipy("RK45"), TOLERANCES),
    "SciPy DOP853": (by_scipy("DOP853"), TOLERANCES),
    "SciPy LSODA": (by_scipy("LSODA"), TOLERANCES),
    "SUNDIALS CVODE, Adams": (by_cvode("Adams"), TOLERANCES),
    "SUNDIALS CVODE, BDF": (by_cvode("BDF"), TOLERANCES),
}
SOLVERS = ON_KNOTS | OVER_KNOTS


def timed(work):
    """Least and median milliseconds of two seconds, five takes at least."""
    work()
    taken, begin = [], time.perf_counter()
    while len(taken) < 5 or (time.perf_counter() - begin < 2 and len(taken) < 200):
        start = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - start))
    return min(taken), statistics.median(taken)


def loosest(finishes, reference_s):
    """The first setting from which on all are good."""
    good = [abs(f - reference_s) < GOOD_S for f in finishes]
    bad = [i for i, g in enumerate(good) if not g]
    return bad[-1] + 1 if bad else 0


def setting(value):
    return f"{value:.0e}" if isinstance(value, float) else str(value)


def main():
    with open(sys.argv[1], "rb") as file:
        ours = tomllib.load(file)
    agree = True
    for name, told in ours["models"].items():
        model = Model(name, told)
        found = {}  # solver: settings, finish times, what times the setting of an index
        for row in ours["rows"]:
            if row["model"] == name:
                settings, finishes, times = found.setdefault(row["solver"], ([], [], []))
                settings.append(row["setting"])
                finishes.append(row["finish_s"])
                times.append((row["least_ms"], row["median_ms"]))
        reference_s = found["sagitta"][1][-1]
        for solver, (solve, settings) in SOLVERS.items():
            finishes = [solve(model, s) for s in settings]
            found[solver] = ([setting(s) for s in settings], finishes, None)
        print(f"\n{name} on `tracks/{told['track']}`, finish {reference_s:.9f} s\n")
        print("| solver | tightest, less ours | loosest within 10 us | off | least | median |\n|---|---|---|---|---|---|")
        for solver, (settings, finishes, times) in found.items():
            apart_s = finishes[-1] - reference_s
            agree = agree and abs(apart_s) < (AGREE_S if solver in ON_KNOTS else GOOD_S)
            i = loosest(finishes, reference_s)
            if i == len(settings):
                print(f"| {solver} | {apart_s:+.1e} s | none | | | |")
                continue
            solve, values = SOLVERS.get(solver, (None, None))
            least, median = times[i] if times else timed(lambda: solve(model, values[i]))
            off_us = 1e6 * (finishes[i] - reference_s)
            print(
                f"| {solver} | {apart_s:+.1e} s | {settings[i]} | {off_us:+.2f} us | {least:.3f} ms | {median:.3f} ms |"
            )
    if not agree:
        print(f"\nthe finish times differ by more than {AGREE_S:g} s on the knots, or {GOOD_S:g} s over them")
        sys.exit(1)


main()
