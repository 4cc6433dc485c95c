"""Differential tests: the pure core against general-purpose libraries.

    python differential.py ANSWERER                    ask everything, compare, count
    python differential.py ANSWERER --sample FILE      write the committed sample

ANSWERER is the example `differential`. See README.md.
"""

import argparse
import importlib.metadata
import json
import math
import pathlib
import subprocess
import sys
import time

import GTC
import GTC.type_b
import mpmath
import numpy as np
from scipy import integrate, linalg, optimize, special, stats

HERE = pathlib.Path(__file__).parent
SEED = 20_260_101
PERCENT = 95.45
# Two doubles that are computed in different orders agree to about 1e-14 where nothing cancels; the
# generator lets at most a factor of CONDITION cancel, which leaves 1e-10. Ten times that is asked.
RELATIVE = 1e-9
CONDITION = 1e4


def digits(value, figures=6):
    """Few digits: what is drawn must be readable in the sample, and is exact as a question."""
    return float(f"{value:.{figures}g}")


def close(at, expected, relative=RELATIVE, absolute=0.0):
    """A comparison: where in the answer, what is expected there, and how near."""
    expected = float(expected)
    return {"at": at, "expected": expected, "within": relative * abs(expected) + absolute}


def exactly(at, expected):
    return {"at": at, "expected": expected, "within": 0}


# ---------------------------------------------------------------- inputs


SHAPES = ["normal", "student-t", "rectangular", "triangular", "trapezoidal", "arc-sine"]


def draw_input(rng, freedoms, spread):
    shape = SHAPES[rng.integers(len(SHAPES))]
    line = {
        "shape": shape,
        "width": digits(10 ** rng.uniform(-spread, 0)),
        "sensitivity": digits(rng.choice([-1, 1]) * 10 ** rng.uniform(-1, 1)),
    }
    if shape == "trapezoidal":
        line["top"] = digits(rng.uniform(0, 1), 3)
    freedom = freedoms(rng)
    if freedom is not None and shape in ("normal", "student-t", "rectangular"):
        line["freedom"] = freedom
    elif shape == "student-t":
        line["shape"] = "normal"
    return line


def freedom_of_budget(rng):
    """1.5 to 1e6, many of them small, and infinite ones."""
    kind = rng.integers(4)
    if kind == 0:
        return None
    if kind == 1:
        return float(rng.integers(2, 10))
    return digits(1.5 * 10 ** rng.uniform(0, 1.2 if kind == 2 else math.log10(1e6 / 1.5)))


def standard_uncertainty(line):
    """The uncertainty-tree library knows three shapes, scipy the others."""
    width = line["width"]
    match line["shape"]:
        case "normal" | "student-t":
            return width
        case "rectangular":
            return GTC.type_b.uniform(width)
        case "triangular":
            return GTC.type_b.triangular(width)
        case "arc-sine":
            return GTC.type_b.arcsine(width)
        case "trapezoidal":
            return trapezoid(line).std()


def trapezoid(line):
    side = (1 - line["top"]) / 2
    return stats.trapezoid(side, 1 - side, loc=-line["width"], scale=2 * line["width"])


# ---------------------------------------------------------------- budgets


def correlations(rng, n, full):
    """A positive (semi)definite matrix with correlations of both signs."""
    if full:
        signs = rng.choice([-1.0, 1.0], n)
        return np.outer(signs, signs)
    loadings = rng.normal(size=(n, rng.integers(1, n + 1)))
    matrix = loadings @ loadings.T
    scale = np.sqrt(np.diag(matrix))
    matrix = np.round(matrix / np.outer(scale, scale) * rng.uniform(0.2, 0.98), 4)
    np.fill_diagonal(matrix, 1.0)
    return matrix


def partition(rng, n):
    """Inputs in groups: correlated within, independent between."""
    if rng.random() < 0.3:
        return [[i] for i in range(n)]
    order = list(rng.permutation(n))
    groups = []
    while order:
        size = min(len(order), int(rng.choice([1, 1, 2, 2, 3, 4, 6])))
        groups.append(sorted(int(i) for i in order[:size]))
        order = order[size:]
    return groups


def draw_budget(rng):
    while True:
        n = int(rng.integers(2, 13))
        # Widths over up to six decades: shares in the variance down to 1e-12 and below.
        inputs = [draw_input(rng, freedom_of_budget, rng.choice([1, 3, 6])) for _ in range(n)]
        groups = partition(rng, n)
        matrix = np.eye(n)
        for group in groups:
            if len(group) == 1:
                continue
            # One ensemble has one number of degrees of freedom (Willink, Metrologia 44 (2007) 340).
            freedom = freedom_of_budget(rng)
            for i in group:
                inputs[i].pop("freedom", None)
                if freedom is not None:
                    inputs[i]["freedom"] = freedom
                if inputs[i]["shape"] == "student-t" and freedom is None:
                    inputs[i]["shape"] = "normal"
            matrix[np.ix_(group, group)] = correlations(rng, len(group), rng.random() < 0.1)
        c = np.array([line["sensitivity"] for line in inputs])
        u = np.array([standard_uncertainty(line) for line in inputs])
        terms = np.outer(c * u, c * u) * matrix
        if all(conditioned(terms[np.ix_(g, g)]) for g in [*groups, list(range(n))]):
            return {
                "kind": "budget",
                "inputs": inputs,
                "correlation": matrix.tolist(),
                "groups": groups,
            }


def conditioned(terms):
    return np.abs(terms).sum() < CONDITION * terms.sum()


def tree(question):
    """The measurand in the uncertainty-tree library."""
    inputs, groups = question["inputs"], question["groups"]
    tree_inputs = [None] * len(inputs)
    for group in groups:
        freedom = inputs[group[0]].get("freedom", math.inf)
        u = [standard_uncertainty(inputs[i]) for i in group]
        if len(group) == 1:
            made = [GTC.ureal(0.0, u[0], freedom)]
        else:
            made = GTC.multiple_ureal([0.0] * len(group), u, freedom)
        for i, quantity in zip(group, made):
            tree_inputs[i] = quantity
    for group in groups:
        for place, i in enumerate(group):
            for j in group[place + 1 :]:
                r = question["correlation"][i][j]
                GTC.set_correlation(r, tree_inputs[i], tree_inputs[j])
                assert GTC.get_correlation(tree_inputs[i], tree_inputs[j]) == r
    return sum(line["sensitivity"] * x for line, x in zip(inputs, tree_inputs)), tree_inputs


def expected_freedom(at, freedom):
    return exactly(at, None) if math.isinf(freedom) else close(at, freedom)


def expect_budget(question):
    y, inputs = tree(question)
    u, freedom = GTC.uncertainty(y), GTC.dof(y)
    found = [close("/u", u), expected_freedom("/freedom", freedom)]
    # The library's own k_factor takes the normal quantile above 1e5 degrees of freedom, so that
    # scipy's t quantile, which it calls below, is called here throughout.
    found.append(close("/k", t_quantile(PERCENT, freedom)))
    if len(question["groups"]) == len(inputs):
        found.append(close("/plain_u", u))
        found.append(expected_freedom("/plain_freedom", freedom))
        shares = [(GTC.component(y, x) / u) ** 2 for x in inputs]
        found.extend(close(f"/shares/{i}", share) for i, share in enumerate(shares))
    return found


def t_quantile(percent, freedom):
    upper = 0.5 + percent / 200
    return special.ndtri(upper) if math.isinf(freedom) else special.stdtrit(freedom, upper)


def draw_cancelling(rng):
    """Fully correlated inputs whose sum cancels: nothing but rounding is left."""
    width, factor = digits(10 ** rng.uniform(-3, 0)), digits(rng.uniform(0.1, 10), 3)
    line = {"shape": "normal", "width": width, "sensitivity": factor}
    other = {"shape": "normal", "width": digits(width * factor, 12), "sensitivity": -1.0}
    return {
        "kind": "budget",
        "inputs": [line, other],
        "correlation": [[1.0, 1.0], [1.0, 1.0]],
        "groups": [[0, 1]],
    }


def expect_cancelling(question):
    # The variance is a sum of four terms of this size, each right to 1e-16: u to its root.
    # Zero is exact; the tree library meets the root of a negative variance here.
    size = abs(question["inputs"][0]["width"] * question["inputs"][0]["sensitivity"])
    return [close("/u", 0.0, absolute=1e-7 * size)]


def draw_joint(rng):
    """Points of a run: some errors are shared by all, some are each point's own."""
    shared = [name for name in ("reference", "drift", "temperature", "drive") if rng.random() < 0.8]
    freedoms = {name: freedom_of_budget(rng) for name in shared}
    while True:
        points = []
        for _ in range(rng.integers(2, 7)):
            parts = [{"influence": name, "u": size(rng), "freedom": freedoms[name]} for name in shared]
            for name in ("resolution", "repeatability"):
                freedom = None if name == "resolution" else freedom_of_budget(rng)
                parts.append({"influence": name, "u": size(rng), "freedom": freedom})
            points.append(parts)
        if rng.random() < 0.5:
            weights = [1.0, -1.0] + [0.0] * (len(points) - 2)
        else:
            weights = [digits(rng.normal(), 4) for _ in points]
        question = {"kind": "joint", "points": points, "weights": weights}
        cancels = max(
            sum(abs(w * p[i]["u"]) for w, p in zip(weights, points))
            / max(abs(sum(w * p[i]["u"] for w, p in zip(weights, points))), 1e-300)
            for i in range(len(points[0]))
        )
        if cancels < CONDITION:
            return question


def size(rng):
    return digits(10 ** rng.uniform(-3, 0), 4)


def expect_joint(question):
    common = {}
    results = []
    for parts in question["points"]:
        result = 0.0
        for part in parts:
            freedom = part["freedom"] or math.inf
            if part["influence"] in ("resolution", "repeatability"):
                error = GTC.ureal(0.0, 1.0, freedom)
            else:
                error = common.setdefault(part["influence"], GTC.ureal(0.0, 1.0, freedom))
            result = result + part["u"] * error
        results.append(result)
    y = sum(w * result for w, result in zip(question["weights"], results))
    found = [close("/u", GTC.uncertainty(y)), expected_freedom("/freedom", GTC.dof(y))]
    for i, one in enumerate(results):
        for j, other in enumerate(results):
            # Terms of equal sign: nothing cancels.
            expected = GTC.variance(one) if i == j else GTC.get_covariance(one, other)
            found.append(close(f"/covariance/{i}/{j}", expected))
    return found


# ---------------------------------------------------------------- quantiles and tails


def draw_quantile(rng):
    percent = rng.choice([50, 68.27, 90, 95, 95.45, 99, 99.73, 99.9])
    if rng.random() < 0.3:
        percent = digits(rng.uniform(10, 99.9), 5)
    freedom = None if rng.random() < 0.1 else digits(10 ** rng.uniform(0, 8))
    return {"kind": "quantile", "percent": float(percent), "freedom": freedom}


def expect_quantile(question):
    freedom = question["freedom"] or math.inf
    return [close("/k", t_quantile(question["percent"], freedom))]


def arbitrate():
    """Whether scipy itself may be asked: its t quantiles and tails against mpmath with 40 digits."""
    rng = generator(99)
    worst = 0.0
    with mpmath.workdps(40):
        half = mpmath.mpf(1) / 2
        for _ in range(200):
            freedom = mpmath.mpf(digits(10 ** rng.uniform(0, 5)))
            z = mpmath.mpf(digits(rng.uniform(0.1, 8)))

            def tail(t):
                x = freedom / (freedom + t * t)
                return mpmath.betainc(freedom / 2, half, 0, x, regularized=True) / 2

            worst = max(worst, abs(stats.t.sf(float(z), float(freedom)) / tail(z) - 1))
            percent = digits(rng.uniform(10, 99.9), 4)
            k = mpmath.mpf(t_quantile(percent, float(freedom)))
            peak = 1 / mpmath.sqrt(freedom) / mpmath.beta(half, freedom / 2)
            density = peak * (1 + k * k / freedom) ** (-(freedom + 1) / 2)
            beyond = half - mpmath.mpf(percent) / 200
            worst = max(worst, abs((tail(k) - beyond) / density / k))
    print(f"scipy against mpmath: quantiles and tails of t differ by {float(worst):.1e} at most")
    if worst > 1e-12:
        raise SystemExit("scipy is no reference here")


def draw_limits(rng):
    lower, upper = digits(-rng.uniform(0.5, 6), 4), digits(rng.uniform(0.5, 6), 4)
    side = rng.integers(4)
    return (None if side == 0 else lower), (None if side == 1 else upper)


def draw_conformity(rng):
    lower, upper = draw_limits(rng)
    kind = rng.integers(4)
    if kind == 0:
        freedom = None
    else:
        freedom = digits(10 ** rng.uniform(0, 1.5 if kind < 3 else 8))
    edge = float(rng.choice([limit for limit in (lower, upper) if limit is not None]))
    u = digits(10 ** rng.uniform(-1.5, 0.5), 4)
    # Up to 8 u on either side of a limit: the normal tail is then 1e-15.
    value = digits(edge + u * rng.uniform(-8, 8))
    return {"kind": "conformity", "value": value, "u": u, "freedom": freedom, "lower": lower, "upper": upper}


def expect_conformity(question):
    freedom = question["freedom"]
    if freedom is None:
        above = lambda z: special.ndtr(-z)
    else:
        above = lambda z: stats.t.sf(z, freedom)
    value, u = question["value"], question["u"]
    over = 0.0 if question["upper"] is None else above((question["upper"] - value) / u)
    under = 0.0 if question["lower"] is None else above((value - question["lower"]) / u)
    if over + under < 0.5:
        inside, scale = 1 - over - under, 1.0
    else:
        # A difference of the far and the near tail, both on one side of the value.
        tails = [0.0, 0.0]
        if question["upper"] is not None:
            tails[0] = above((value - question["upper"]) / u)
        if question["lower"] is not None:
            tails[1] = above((question["lower"] - value) / u)
        if over > 0.5 and under < 0.5:
            inside = tails[0] - under
            scale = max(tails[0], under)
        elif under > 0.5 and over < 0.5:
            inside = tails[1] - over
            scale = max(tails[1], over)
        else:
            inside, scale = 1 - over - under, 1.0
    # What is left of a difference is as exact as its larger part.
    return [close("/outside", over + under), close("/inside", inside, 0.0, RELATIVE * scale)]


# ---------------------------------------------------------------- fits


def draw_fit(rng):
    degree = int(rng.integers(1, 4))
    n = int(rng.integers(degree + 1, 13))
    top = digits(10 ** rng.uniform(0, 3), 2)
    x = np.sort(rng.choice(np.arange(20, 101), n, replace=False)) / 100 * top
    x = np.array([digits(value) for value in x])
    own = np.array([digits(10 ** rng.uniform(-2, 0), 3) for _ in x])
    covariance = np.diag(own**2)
    for _ in range(rng.integers(0, 3)):
        # An error that all points share, of one size or one that grows with the torque.
        shared = digits(rng.uniform(0.1, 1), 3) * (np.ones(n) if rng.random() < 0.5 else x / top)
        covariance = covariance + np.outer(shared, shared)
    noise = linalg.cholesky(covariance, lower=True) @ rng.normal(size=n)
    y = np.polyval(rng.normal(size=degree + 1), x / top) + noise * rng.choice([1, 1, 1, 3])
    return {
        "kind": "fit",
        "x": x.tolist(),
        "y": [digits(value) for value in y],
        "covariance": [[digits(value, 12) for value in row] for row in covariance],
        "degree": degree,
        "origin": float(rng.choice([0.0, digits(0.6 * top, 3)])),
        "at": [digits(value * top, 4) for value in (0.15, 0.2, 0.5, 0.77, 1.1)],
    }


def expect_fit(question):
    x, y = np.array(question["x"]), np.array(question["y"])
    covariance, origin = np.array(question["covariance"]), question["origin"]
    at, degree = np.array(question["at"]), question["degree"]
    lower = linalg.cholesky(covariance, lower=True)
    # Columns of equal size; the powers are scaled back at the end.
    scale = np.max(np.abs(x - origin))
    powers = lambda values: np.vander((values - origin) / scale, degree + 1, increasing=True)
    design = linalg.solve_triangular(lower, powers(x), lower=True)
    ordinates = linalg.solve_triangular(lower, y, lower=True)
    # Singular values, where the core takes orthogonal columns.
    pseudo = linalg.pinv(design)
    parameters = pseudo @ ordinates
    spread = pseudo @ pseudo.T
    back = scale ** -np.arange(degree + 1.0)
    sizes = np.sqrt(np.diag(spread))
    found = []
    for k in range(degree + 1):
        # A parameter near zero is as exact as its uncertainty is large.
        allowed = RELATIVE * max(abs(parameters[k]), sizes[k]) * back[k]
        found.append(close(f"/parameters/{k}", parameters[k] * back[k], 0.0, allowed))
        for j in range(degree + 1):
            allowed = RELATIVE * sizes[k] * sizes[j] * back[k] * back[j]
            found.append(close(f"/covariance/{k}/{j}", spread[k, j] * back[k] * back[j], 0.0, allowed))
    values = powers(at) @ parameters
    rows = powers(at) @ pseudo
    standards = np.linalg.norm(rows, axis=1)
    weights = linalg.solve_triangular(lower, rows.T, lower=True, trans="T").T
    for i in range(len(at)):
        found.append(close(f"/values/{i}", values[i], 0.0, RELATIVE * max(abs(values[i]), standards[i])))
        found.append(close(f"/standards/{i}", standards[i]))
        allowed = RELATIVE * np.max(np.abs(weights[i]))
        found.extend(close(f"/weights/{i}/{j}", w, 0.0, allowed) for j, w in enumerate(weights[i]))
    left = len(x) - degree - 1
    if left == 0:
        return found + [exactly("/chi_square", None), exactly("/p_value", None)]
    whitened = ordinates - design @ parameters
    chi = whitened @ whitened
    # r is a difference of ordinates, so that r² is known to their square times the rounding.
    allowed = 1e-14 * (ordinates @ ordinates)
    p = stats.chi2.sf(chi, left)
    slope = stats.chi2.pdf(chi, left)
    found.append(close("/chi_square", chi, RELATIVE, allowed))
    found.append(close("/p_value", p, RELATIVE, slope * (allowed + RELATIVE * chi)))
    return found


# ---------------------------------------------------------------- global risks


def draw_risk(rng):
    lower, upper = draw_limits(rng)
    question = {"kind": "risk", "normal": None, "rectangular": None}
    if rng.random() < 0.8:
        question["normal"] = [digits(rng.uniform(-1.5, 1.5), 3), digits(10 ** rng.uniform(-0.5, 0.5), 3)]
    else:
        question["rectangular"] = [digits(-rng.uniform(0.5, 8), 3), digits(rng.uniform(0.5, 8), 3)]
    u = digits(10 ** rng.uniform(-2, 0.3), 3)
    # Guard bands that do not meet, and some that widen the limits.
    guard = digits(u * rng.uniform(-1, 2.5), 3)
    if lower is not None and upper is not None:
        guard = min(guard, digits(0.45 * (upper - lower), 3))
    return question | {"u": u, "lower": lower, "upper": upper, "guard": guard}


def expect_risk(question):
    u, guard = question["u"], question["guard"]
    infinite = lambda value, otherwise: otherwise if value is None else value
    low, high = infinite(question["lower"], -math.inf), infinite(question["upper"], math.inf)
    accept_low, accept_high = low + guard, high - guard
    if question["normal"]:
        mean, sd = question["normal"]
        density = lambda t: math.exp(-0.5 * ((t - mean) / sd) ** 2) / (sd * math.sqrt(2 * math.pi))
        first, last = mean - 9 * sd, mean + 9 * sd
        inner = [mean + k * sd for k in range(-8, 9)]
        conforming = special.ndtr((high - mean) / sd) - special.ndtr((low - mean) / sd)
    else:
        first, last = question["rectangular"]
        density = lambda t: 1 / (last - first)
        inner = []
        conforming = (min(high, last) - max(low, first)) / (last - first)
    rejected = lambda t: special.ndtr((accept_low - t) / u) + special.ndtr((t - accept_high) / u)

    def accepted(t):
        # Of equal tails, the one that keeps its digits.
        if t > accept_high:
            return special.ndtr((accept_high - t) / u) - special.ndtr((accept_low - t) / u)
        return special.ndtr((t - accept_low) / u) - special.ndtr((t - accept_high) / u)

    for edge in (accept_low, accept_high):
        if math.isfinite(edge):
            inner.extend(edge + k * u for k in range(-8, 9, 2))

    def integral(f, a, b):
        a, b = max(a, first), min(b, last)
        if a >= b:
            return 0.0
        cuts = [a, *sorted(t for t in inner if a < t < b), b]
        pieces = [
            integrate.quad(lambda t: density(t) * f(t), s, t, epsabs=1e-16, epsrel=1e-12)[0]
            for s, t in zip(cuts, cuts[1:])
        ]
        return math.fsum(pieces)

    consumer = integral(accepted, -math.inf, low) + integral(accepted, high, math.inf)
    producer = integral(rejected, low, high)
    # The core promises 1e-12 absolute, which leaves nothing of a risk that is smaller.
    return [
        close("/consumer", consumer, RELATIVE, 1e-12),
        close("/producer", producer, RELATIVE, 1e-12),
        close("/conforming", conforming, RELATIVE, 1e-14),
    ]


# ---------------------------------------------------------------- Monte Carlo


TRIALS = 200_000
PERCENTS = [50.0, 95.45, 99.0]
# Up to six quantiles, mean, deviation and one length a budget, compared by their own standard
# error. The bound is that for which all of 100 budgets together fail by chance once in a hundred
# seeds (Bonferroni); it is 4.4 standard errors.
COMPARISONS = 100 * 9
BOUND = float(stats.norm.isf(0.01 / COMPARISONS / 2))
# Kuiper's statistic times the root of the trials exceeds 2.6 once in 10,000 times: so far the
# content of any interval whatever lies from its probability.
KUIPER = 2.6


def freedom_of_trials(rng):
    return float(rng.choice([1.5, 3, 4, 4, 5, 9, 9, 12, 12.5, 30, 100, 1000])) if rng.random() < 0.7 else None


def draw_trials(rng, trials=TRIALS):
    n = int(rng.integers(2, 13))
    inputs = [draw_input(rng, freedom_of_trials, rng.choice([0.5, 2])) for _ in range(n)]
    if rng.random() < 0.5:
        # Heavy tails in half of the budgets only: the others have a fourth moment.
        for line in inputs:
            if line.get("freedom", 100) <= 8:
                line["freedom"] = 9.0
    for line in inputs:
        line["centre"] = digits(rng.uniform(-2, 2), 3)
        if line["shape"] != "student-t":
            line.pop("freedom", None)
    joint = None
    if rng.random() < 0.5:
        m = int(rng.integers(2, 5))
        u = np.array([digits(10 ** rng.uniform(-1, 0), 3) for _ in range(m)])
        matrix = correlations(rng, m, rng.random() < 0.2) * np.outer(u, u)
        joint = {
            "means": [digits(rng.uniform(-2, 2), 3) for _ in range(m)],
            "covariance": matrix.tolist(),
            "sensitivities": [digits(rng.normal(), 4) for _ in range(m)],
        }
    return {
        "kind": "trials",
        "inputs": inputs,
        "joint": joint,
        "function": bool(rng.random() < 0.4),
        "trials": trials,
        "seed": int(rng.integers(2**53)),
        "percents": PERCENTS,
    }


def characteristic(line, t):
    """Of an input about its centre, times its sensitivity: real, since all are symmetric."""
    a = np.abs(line["width"] * line["sensitivity"] * t)
    match line["shape"]:
        case "normal":
            return np.exp(-0.5 * a * a)
        case "rectangular":
            return np.sinc(a / np.pi)
        case "triangular":
            return np.sinc(a / 2 / np.pi) ** 2
        case "trapezoidal":
            top = line["top"]
            return np.sinc(a * (1 + top) / 2 / np.pi) * np.sinc(a * (1 - top) / 2 / np.pi)
        case "arc-sine":
            return special.j0(a)
        case "student-t":
            half = line["freedom"] / 2
            z = np.sqrt(2 * half) * a
            found = np.zeros_like(z)
            # The function falls as exp(−z): beyond 40 there is nothing left of it. Its value is
            # brought together from logarithms, which large degrees of freedom need.
            some = z < 40 + 8 * math.sqrt(half)
            log_bessel = np.log(special.kve(half, z[some])) - z[some]
            logs = log_bessel + half * np.log(z[some]) - special.gammaln(half) - (half - 1) * math.log(2)
            fine = np.isfinite(logs)
            found[some] = np.where(fine, np.exp(np.where(fine, logs, 0)), np.exp(-0.5 * a[some] ** 2))
            return found


def moments(line):
    """Variance and fourth central moment; infinite where there is none."""
    scale = abs(line["width"] * line["sensitivity"])
    match line["shape"]:
        case "normal":
            law = stats.norm()
        case "student-t":
            law = stats.t(line["freedom"])
        case "rectangular":
            law = stats.uniform(-1, 2)
        case "triangular":
            law = stats.triang(0.5, -1, 2)
        case "trapezoidal":
            law, scale = trapezoid(line), abs(line["sensitivity"])
        case "arc-sine":
            law = stats.arcsine(-1, 2)
    variance, kurtosis = (float(v) for v in law.stats(moments="vk"))
    if line["shape"] == "student-t" and line["freedom"] <= 4:
        kurtosis = math.inf
        if line["freedom"] <= 2:
            variance = math.inf
    return variance * scale**2, kurtosis * (variance * scale**2) ** 2 if kurtosis < math.inf else math.inf


def expect_trials(question):
    lines, joint, trials = list(question["inputs"]), question["joint"], question["trials"]
    mean = sum(line["sensitivity"] * line["centre"] for line in lines)
    if joint:
        c, covariance = np.array(joint["sensitivities"]), np.array(joint["covariance"])
        mean += c @ np.array(joint["means"])
        width = math.sqrt(max(c @ covariance @ c, 0.0))
        lines.append({"shape": "normal", "width": width, "sensitivity": 1.0})
    variances, excesses = zip(*(moments(line) for line in lines))
    variance, excess = sum(variances), sum(excesses)
    found = []
    heavy = min(line.get("freedom", math.inf) for line in lines)
    if math.isinf(variance):
        found.append(exactly("/sd", None))
        scale = math.sqrt(sum((line["width"] * line["sensitivity"]) ** 2 for line in lines))
    else:
        scale = sd = math.sqrt(variance)
        found.append(close("/mean", mean, 0.0, BOUND * sd / math.sqrt(trials)))
        if heavy > 8:
            # Var(s²) = (μ₄ − σ⁴)/M, and s moves half as far, relatively. Up to eight degrees of
            # freedom s² itself is far from normal; there the quantiles stand in for it.
            error = math.sqrt((excess + 2 * variance**2) / trials) / (2 * sd)
            found.append(close("/sd", sd, 0.0, BOUND * error))
    # Gil-Pelaez by the trapezoidal rule: F(x) = ½ + 1/π ∫ φ(t) sin(tx)/t dt. A step of 2π/L wraps
    # the tails beyond L around; the end of the integral leaves φ(T)/(πTx).
    reach = 2000.0 if heavy > 2 else 200_000.0
    step = 2 * math.pi / (reach * scale)
    t = step * np.arange(1, 200_001 if heavy > 2 else 2_000_001)
    phi = np.ones_like(t)
    alive = np.ones_like(t, dtype=bool)
    for line in lines:
        if line["width"] > 0:
            phi[alive] *= characteristic(line, t[alive])
            alive &= np.abs(phi) > 1e-14
    t, phi = t[alive], phi[alive]
    below = lambda x: 0.5 + step / math.pi * (0.5 * x + np.sum(phi * np.sin(t * x) / t))
    density = lambda x: step / math.pi * (0.5 + np.sum(phi * np.cos(t * x)))
    unimodal = all(line["shape"] != "arc-sine" for line in lines)
    for i, percent in enumerate(question["percents"]):
        tail = (1 - percent / 100) / 2
        end = 2 * scale
        while below(end) < 1 - tail:
            end *= 2
        x = optimize.brentq(lambda x: below(x) - (1 - tail), 0, end, xtol=1e-7 * scale)
        # An order statistic: binomial, over the density (David and Nagaraja, Order Statistics, 2.5).
        near = density(x)
        allowed = BOUND * math.sqrt(tail * (1 - tail) / trials) / near
        found.append(close(f"/intervals/{i}/low", mean - x, 0.0, allowed))
        found.append(close(f"/intervals/{i}/high", mean + x, 0.0, allowed))
        found.append(exactly(f"/intervals/{i}/shortest_is_no_longer", True))
        if unimodal and percent == PERCENT:
            # Symmetric with one peak: the symmetric interval is the shortest.
            allowed = KUIPER / math.sqrt(trials) / near
            found.append(close(f"/intervals/{i}/shortest", 2 * x, 0.0, allowed))
    return found


# ---------------------------------------------------------------- the run


# What, how many, the tolerance in words, drawing, expectation, how many in the sample.
PARTS = [
    ("budgets", 2000, "1e-9 of u, freedom, k, shares", draw_budget, expect_budget, 20),
    ("cancelling sums", 50, "1e-7 of the parts", draw_cancelling, expect_cancelling, 2),
    ("joint budgets", 300, "1e-9", draw_joint, expect_joint, 6),
    ("coverage factors", 2000, "1e-9", draw_quantile, expect_quantile, 10),
    ("conformity", 2000, "1e-9", draw_conformity, expect_conformity, 10),
    ("fits", 400, "1e-9", draw_fit, expect_fit, 5),
    ("global risks", 400, "1e-9 and 1e-12 absolute", draw_risk, expect_risk, 6),
    ("Monte Carlo", 100, f"{BOUND:.2f} standard errors", draw_trials, expect_trials, 3),
]


def reach_of_budgets(questions):
    """What the generator really reached, so that a change of it shows."""
    correlated = sum(len(q["groups"]) < len(q["inputs"]) for q in questions)
    freedoms = [line["freedom"] for q in questions for line in q["inputs"] if "freedom" in line]
    few = sum(any(line.get("freedom", 9) < 5 for line in q["inputs"]) for q in questions)
    least = 1.0
    for q in questions:
        parts = [(line["sensitivity"] * standard_uncertainty(line)) ** 2 for line in q["inputs"]]
        least = min(least, min(parts) / sum(parts))
    return (
        f"{correlated} correlated, {few} with less than 5 degrees of freedom;"
        f" {min(freedoms):g} to {max(freedoms):g} degrees, least share {least:.0e}"
    )


def reach_of_trials(questions):
    heaviest = [min(line.get("freedom", math.inf) for line in q["inputs"]) for q in questions]
    return (
        f"{sum(f <= 2 for f in heaviest)} without a variance (the mean has no standard error: intervals"
        f" are compared, and that no deviation is given) and {sum(2 < f <= 8 for f in heaviest)} with a t of"
        f" at most 8 degrees (the deviation is not compared: mean and intervals are)"
    )


REACH = {"budgets": reach_of_budgets, "Monte Carlo": reach_of_trials}


def ask(answerer, questions):
    lines = "".join(json.dumps(question) + "\n" for question in questions)
    done = subprocess.run([answerer], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    if len(answers) != len(questions):
        raise SystemExit(f"{len(questions)} questions and {len(answers)} answers")
    return answers


def at(answer, pointer):
    for step in pointer.strip("/").split("/"):
        answer = answer[int(step)] if isinstance(answer, list) else answer[step]
    return answer


def compare(answer, expectation):
    """None when it holds, else what is wrong; and how much of the tolerance is used up."""
    if "error" in answer:
        return answer["error"], math.inf, 0.0
    found, expected, within = at(answer, expectation["at"]), expectation["expected"], expectation["within"]
    if not isinstance(found, float | int) or isinstance(found, bool) or expected is None:
        return (None if found == expected else "differs"), 0.0, 0.0
    difference = abs(found - expected)
    relative = difference / abs(expected) if expected else 0.0
    used = difference / within if within else (0.0 if difference == 0 else math.inf)
    return (None if difference <= within else "differs"), used, relative


def versions():
    names = (HERE / "requirements.txt").read_text().splitlines()
    wanted = dict(line.split("==") for line in names if "==" in line)
    found = {name: importlib.metadata.version(name) for name in wanted}
    if found != wanted:
        raise SystemExit(f"wanted {wanted}, found {found}")
    return {"python": ".".join(map(str, sys.version_info[:3]))} | found


def generator(place):
    return np.random.Generator(np.random.PCG64([SEED, place]))


def run(answerer):
    failures = 0
    print("differential tests:", ", ".join(f"{name} {version}" for name, version in versions().items()))
    arbitrate()
    for place, (what, count, tolerance, draw, expect, _) in enumerate(PARTS):
        began = time.monotonic()
        rng = generator(place)
        questions = [draw(rng) for _ in range(count)]
        answers = ask(answerer, questions)
        failed = compared = 0
        worst, widest = (0.0, ""), 0.0
        for number, (question, answer) in enumerate(zip(questions, answers)):
            sound = True
            for expectation in expect(question):
                compared += 1
                wrong, used, relative = compare(answer, expectation)
                worst = max(worst, (used, expectation["at"]))
                purely = RELATIVE * abs(expectation["expected"] or 0.0)
                if 0 < expectation["within"] <= 1.01 * purely:
                    widest = max(widest, relative)
                if wrong:
                    sound = False
                    if failed < 5:
                        found = answer if "error" in answer else at(answer, expectation["at"])
                        print(f"  {what} {number}: {wrong}: {expectation} found {found}")
            if not sound:
                failed += 1
                if failed <= 2:
                    print("  question:", json.dumps(question))
        failures += failed
        relatively = f", widest relative difference {widest:.1e}" if widest else ""
        print(
            f"{what}: {count - failed} passed, {failed} failed ({compared} values within {tolerance};"
            f" most used of a tolerance: {worst[0]:.2g} of it at {worst[1]}{relatively};"
            f" {time.monotonic() - began:.1f} s)",
            flush=True,
        )
        if what in REACH:
            print("  of them", REACH[what](questions))
    total = sum(part[1] for part in PARTS)
    print(f"{total - failures} passed, {failures} failed")
    return failures == 0


def sample(answerer, path):
    cases = []
    for place, (_, _, _, draw, expect, few) in enumerate(PARTS):
        rng = generator(1000 + place)
        for _ in range(few):
            question = draw(rng, 20_000) if draw is draw_trials else draw(rng)
            cases.append({"question": question, "expected": expect(question)})
    answers = ask(answerer, [case["question"] for case in cases])
    for case, answer in zip(cases, answers):
        for expectation in case["expected"]:
            if compare(answer, expectation)[0]:
                raise SystemExit(f"the core does not hold {case['question']}: {expectation}")
    header = {
        "made by": [
            "cargo build --release --example differential",
            "python tests/differential/differential.py target/release/examples/differential"
            " --sample tests/oracles/data/differential.json",
        ],
        "versions": versions(),
        "seed": SEED,
    }
    head = json.dumps(header, indent=1)[:-2]
    body = ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases)
    path.write_text(f'{head},\n "cases": [\n{body}\n ]\n}}\n')
    print(f"{len(cases)} cases in {path}")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("answerer")
    parser.add_argument("--sample", type=pathlib.Path)
    given = parser.parse_args()
    if given.sample:
        sample(given.answerer, given.sample)
    elif not run(given.answerer):
        raise SystemExit(1)


if __name__ == "__main__":
    main()
