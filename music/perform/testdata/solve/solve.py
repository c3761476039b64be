"""Solves problems of unknowns with mpmath, at 60 digits, from what the
language of pieces promises; it shares nothing with the program.

Reads problems as JSON, one a line, and prints for each the numbers that keep
its conditions within the bounds given, as decimals of 40 digits.
"""
import json
import sys

from mpmath import findroot, fp, lu_solve, matrix, mp, mpf

mp.dps = 60
M = mp  # or fp, of doubles, where it is only looked for a change of sign


def number(text):
    """A number as a piece has it: 43/31, sqrt(2)*7/5, 12.5."""
    names = {"sqrt": M.sqrt, "phi": M.phi, "pi": M.pi, "e": M.e, "cbrt": lambda x: x ** (M.mpf(1) / 3)}
    out, sign = M.mpf(1), "*"
    for part in text.replace("*", " * ").replace("/", " / ").split():
        if part in "*/":
            sign = part
            continue
        value = eval(part, {"__builtins__": {}}, names) if part[0].isalpha() else M.mpf(part)
        out = out * value if sign == "*" else out / value
    return out


def seconds_of_leg(leg, units):
    """Seconds from the start of a leg to a place in it, of a unit of 1/16."""
    a, b, over = leg["from"], leg["to"], leg["over"]
    if a == b:
        return 15 * units / a
    if leg["shape"] == "geometric":  # the tempo grows by the same factor in each unit
        rate = M.log(b / a) / over
        return 15 / (a * rate) * (1 - M.exp(-rate * units))
    if leg["shape"] == "per-unit":  # by the same amount in each unit
        slope = (b - a) / over
        return 15 / slope * M.log(1 + slope * units / a)
    lasts = 30 * over / (a + b)  # by the same amount in each second
    slope = (b - a) / lasts
    return (M.sqrt(a * a + 30 * slope * units) - a) / slope


def seconds(voice, units):
    """Seconds from the start of a voice to a place in it."""
    if not voice["legs"]:
        return 15 * units / voice["tempo"] / voice["speed"]
    total = M.mpf(0)
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
        return M.mpf(0)
    if kind == "unit":
        return M.mpf(n)
    items = {"note": n - 1, "note end": n, "end": voice["notes"]}[kind]
    talea, factor, total = voice["talea"], M.mpf(1), M.mpf(0)
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
    low, high = (float(number(bound)) for bound in problem["bounds"])
    xs = [low * (high / low) ** (i / 360) for i in range(361)]
    late = lateness(problem, fp)
    ys = [late(x) for x in xs]
    late = lateness(problem, mp)
    return [
        findroot(late, (mpf(x0), mpf(x1)), solver="anderson", tol=mpf(10) ** -40, maxsteps=400, verify=False)
        for x0, x1, y0, y1 in zip(xs, xs[1:], ys, ys[1:])
        if (y0 < 0) != (y1 < 0)
    ]


def lateness(problem, numbers):
    """The function of x that is 0 where the two points are as far apart as asked."""
    global M
    M = numbers
    voice = voice_of(problem["voice"])
    unknown, (a, b) = problem["unknown"], problem["points"]
    apart = number(problem["apart"]["sec"]) if "sec" in problem["apart"] else None
    if apart is None:
        apart = instant(problem["apart"]["to"]) - instant(problem["apart"]["from"])

    def late(x):
        own = put(voice, unknown, x)
        return seconds(own, place(own, b)) - seconds(own, place(own, a)) - apart

    return late


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
