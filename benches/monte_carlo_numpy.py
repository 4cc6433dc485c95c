"""The million trials of `benches/monte_carlo.rs` in numpy, beside it, as a ratio.

    python3 -m venv VENV && VENV/bin/pip install numpy
    VENV/bin/python benches/monte_carlo_numpy.py [--no-bench]

Runs numpy, then `cargo bench`, then numpy again in one go (the second numpy run shows how quiet the
machine was), and prints medians. numpy gets its fast generator (SFC64), arrays that are used
again, and only the two tails sorted, as we do; its plain way is timed beside it.
"""

import json
import math
import pathlib
import statistics
import subprocess
import sys
import time

import numpy as np

TRIALS = 1_000_000
PERCENT = 95.45
NORMAL = [0.10, 0.05, 0.08, 0.03]
RECTANGULAR = [0.20, 0.12, 0.15, 0.06]
SCATTER, FREEDOM = 0.05, 4
MEAN = 0.4
ROUNDS = 30
ROOT = pathlib.Path(__file__).resolve().parent.parent


def ends(low, high, outside):
    """Both intervals from the sorted tails (JCGM 101, 7.7)."""
    shortest = int(np.argmin(high - low))
    symmetric = (outside + 1) // 2 - 1
    return (low[symmetric], high[symmetric]), (low[shortest], high[shortest])


def plain(generator):
    """As one would write it first."""
    y = np.full(TRIALS, MEAN)
    for standard in NORMAL:
        y += generator.normal(0.0, standard, TRIALS)
    for half_width in RECTANGULAR:
        y += generator.uniform(-half_width, half_width, TRIALS)
    y += SCATTER * generator.standard_t(FREEDOM, TRIALS)
    outside = TRIALS - math.floor(PERCENT * TRIALS / 100 + 0.5)
    estimate, standard = y.mean(), y.std(ddof=1)
    y.sort()
    return estimate, standard, *ends(y[:outside], y[TRIALS - outside :], outside)


def careful(generator, y, x):
    """With every array used again, and only the tails sorted."""
    y.fill(MEAN)
    for standard in NORMAL:
        generator.standard_normal(out=x)
        x *= standard
        y += x
    for half_width in RECTANGULAR:
        generator.random(out=x)
        x -= 0.5
        x *= 2 * half_width
        y += x
    y += SCATTER * generator.standard_t(FREEDOM, TRIALS)
    outside = TRIALS - math.floor(PERCENT * TRIALS / 100 + 0.5)
    estimate, standard = y.mean(), y.std(ddof=1)
    y.partition([outside, TRIALS - outside])
    return estimate, standard, *ends(np.sort(y[:outside]), np.sort(y[TRIALS - outside :]), outside)


def median_ms(task):
    """Median time of a task, in ms."""
    task()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        task()
        times.append((time.perf_counter() - start) * 1e3)
    return statistics.median(times)


def numpy_ms():
    """Plain and careful numpy, in ms."""
    common = np.random.default_rng(1)
    fast = np.random.Generator(np.random.SFC64(1))
    y, x = np.empty(TRIALS), np.empty(TRIALS)
    return median_ms(lambda: plain(common)), median_ms(lambda: careful(fast, y, x))


def ours_ms():
    """Our median on one thread and on two, in ms, from what criterion keeps."""
    metadata = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--no-deps"],
        cwd=ROOT, check=True, capture_output=True, text=True,
    )
    folder = pathlib.Path(json.loads(metadata.stdout)["target_directory"], "criterion")
    times = []
    for name in ["one thread", "two threads"]:
        path = folder / "million trials of nine inputs" / name / "new" / "estimates.json"
        times.append(json.loads(path.read_text())["median"]["point_estimate"] / 1e6)
    return times


def main():
    """Runs all and prints a table."""
    before = numpy_ms()
    if "--no-bench" not in sys.argv:
        subprocess.run(
            ["cargo", "bench", "--bench", "monte_carlo", "--", "million"],
            cwd=ROOT, check=True, stdout=subprocess.DEVNULL,
        )
    one, two = ours_ms()
    after = numpy_ms()
    print(f"numpy {np.__version__}, {TRIALS} trials of nine inputs, both intervals, medians of {ROUNDS}")
    print(f"{'':24}{'ms':>8}{'ours, 1 thread':>16}{'2 threads':>12}")
    for name, time_ms in [
        ("numpy, plain", before[0]), ("numpy, careful", before[1]),
        ("numpy, plain, after", after[0]), ("numpy, careful, after", after[1]),
    ]:
        print(f"{name:24}{time_ms:8.1f}{time_ms / one:15.1f}x{time_ms / two:11.1f}x")
    print(f"{'ours, one thread':24}{one:8.1f}")
    print(f"{'ours, two threads':24}{two:8.1f}")


if __name__ == "__main__":
    main()
