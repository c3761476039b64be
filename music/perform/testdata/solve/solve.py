"""Solves problems of unknowns with mpmath, at 60 digits, from what the
language of pieces promises; it shares nothing with the program.

Reads problems as JSON, one a line, and prints for each the numbers that keep
its conditions within the bounds given, as decimals of 40 digits.
"""
import json
import sys

from mpmath import e, exp, findroot, log, lu_solve, matrix, mp, mpf, phi, pi, sqrt

mp.dps = 60
NAMES = {"sqrt": sqrt, "phi": phi, "pi": pi, "e": e, "cbrt": lambda x: x ** (mpf(1) / 3)}


def number(text):
    """A number as a piece has it: 43/31, sqrt(2)*7/5, 12.5."""
    out, sign = mpf(1), "*"
    for part in text.replace("*", " * ").replace("/", " / ").split():
        if part in "*/":
            sign = part
            continue
        value = eval(part, {"__builtins__": {}}, NAMES) if part[0].isalpha() else mpf(part)
        out = out * value if sign == "*" else out / value
    return out


def seconds_of_leg(leg, units):
    """Seconds from the start of a leg to a place in it, of a unit of 1/16."""
    a, b, over = leg["from"], leg["to"], leg["over"]
    if a == b:
        return 15 * units / a
    if leg["shape"] == "geometric":  # the tempo grows by the same factor in each unit
        rate = log(b / a) / over
        return 15 / (a * rate) * (1 - exp(-rate * units))
    if leg["shape"] == "per-unit":  # by the same amount in each unit
        slope = (b - a) / over
        return 15 / slope * log(1 + slope * units / a)
    lasts = 30 * over / (a + b)  # by the same amount in each second
    slope = (b - a) / lasts
    return (sqrt(a * a + 30 * slope * units) - a) / slope


def seconds(voice, units):
    """Seconds from the start of a voice to a place in it."""
    if not voice["legs"]:
        return 15 * units / voice["tempo"] / voice["speed"]
    total = mpf(0)
    for leg in voice["legs"]:
        if units <= leg["over"]:
            return (total + seconds_of_leg(leg, units)) / voice["speed"]
        total += seconds_of_leg(leg, leg["over"])
        units -= leg["over"]
    return (total + 15 * units / voice["legs"][-1]["to"]) / voice["speed"]


def place(voice, point):
    """The place of a point in units."""
    kind, n = point["kind"], point.get("n", 0)
    if kind == "start":
        return mpf(0)
    if kind == "unit":
        return mpf(n)
    items = {"note": n - 1, "note end": n, "end": voice["notes"]}[kind]
    talea, factor, total = voice["talea"], mpf(1), mpf(0)
    if voice["each_note"] == 1:
        whole, rest = divmod(items, len(talea))
        return voice["stretch"] * (whole * sum(talea) + sum(talea[:rest]))
    for k in range(items):
        total += talea[k % len(talea)] * factor
        factor *= voice["each_note"]
    return voice["stretch"] * total


def voice_of(spec):
    voice = {"talea": spec["talea"], "notes": spec["notes"], "legs": []}
    for name in ("tempo", "speed", "stretch", "each_note"):
        voice[name] = None if spec[name] == "?" else number(spec[name])
    for leg in spec.get("legs") or []:
        voice["legs"].append({k: v if k == "shape" else None if v == "?" else number(v) for k, v in leg.items()})
    return voice


def put(voice, unknown, x):
    out = dict(voice, legs=[dict(leg) for leg in voice["legs"]])
    if unknown["kind"] in ("from", "to", "over"):
        out["legs"][unknown["leg"]][unknown["kind"]] = x
    else:
        out[unknown["kind"]] = x
    return out


def roots(problem):
    """All x within the bounds for which the two points are as far apart as asked."""
    voice = voice_of(problem["voice"])
    unknown, (a, b) = problem["unknown"], problem["points"]
    apart = number(problem["apart"]["sec"]) if "sec" in problem["apart"] else None
    if apart is None:
        apart = instant(problem["apart"]["to"]) - instant(problem["apart"]["from"])

    def late(x):
        own = put(voice, unknown, x)
        return seconds(own, place(own, b)) - seconds(own, place(own, a)) - apart

    low, high = number(problem["bounds"][0]), number(problem["bounds"][1])
    out, n = [], 360
    mp.dps = 25
    xs = [low * (high / low) ** (mpf(i) / n) for i in range(n + 1)]
    ys = [late(x) for x in xs]
    mp.dps = 60
    for x0, x1, y0, y1 in zip(xs, xs[1:], ys, ys[1:]):
        if (y0 < 0) != (y1 < 0):
            out.append(findroot(late, (x0, x1), solver="anderson", tol=mpf(10) ** -90, maxsteps=400, verify=False))
    return out


def instant(where):
    """When something falls that a condition names: a time, or a point of a voice that starts at 0."""
    later = number(where.get("later", "0"))
    if "at" in where:
        return number(where["at"]) + later
    other = voice_of(where["voice"])
    return seconds(other, place(other, where["point"])) + later


def together(problem):
    """Rows of equations in start and unknown, two for each voice."""
    rows = [[number(c) for c in row] for row in problem["rows"]]
    n = len(rows)
    out = lu_solve(matrix([row[:-1] for row in rows]), matrix([row[-1] for row in rows]))
    return [out[i] for i in range(n)]


for line in sys.stdin:
    problem = json.loads(line)
    found = together(problem) if "rows" in problem else roots(problem)
    print(json.dumps([mp.nstr(x, 40, min_fixed=-mp.inf, max_fixed=mp.inf) for x in found]))
