#!/usr/bin/env python3
"""Records what a fault of one cylinder does to its exhaust display, by the project's own cycle.

    python3 -m venv venv && venv/bin/pip install numpy==2.4.6
    venv/bin/python tests/reference/effects.py tests/fixtures

Writes effects.csv: per kind of engine, running point and change the shift of the display in °C, once
with everything as assumed (`shift`) and, with what the model does not know taken otherwise in turn and
together, its mean, standard deviation, least and most. `tests/physics/effects.rs` holds the rows of
`knowledge/causes/` against it. The model is in `engine_model.py`; it has no random numbers.

Every running condition here is assumed, typical of half a litre a cylinder (judgement, no engine was
measured). What the display shows in the base case is put in: `level_spark` of knowledge/model.ron, and
for diesels 150, 350 and 550 °C, at which the diesel rows stand.
"""
import csv
import sys
from pathlib import Path

import numpy as np

import engine_model as model

FIELDS = ("rpm trapped_bar trapped_kelvin residual exhaust_bar inlet_bar half length metal runner_wall "
          "loss reads phi ratio opens stem").split()
# A running point: speed; trapped pressure and temperature; share of burnt gas left; pressure in the
# exhaust and the inlet; half burnt, degrees after top dead centre; burn, degrees; metal, K; runner wall
# and display, °C; factor on heat loss; fuel over air; compression; exhaust opens, degrees after top;
# share of the excess over the wall that the stem leads off.
POINTS = {
    ("port", "idle"): (900, 0.35, 390, 0.20, 1.02, 0.33, 20, 70, 400, 150, 1.8, 400, 1.00, 9.8, 130, 0.15),
    ("port", "cruise"): (2500, 0.55, 365, 0.12, 1.05, 0.52, 10, 55, 420, 350, 1.8, 620, 1.00, 9.8, 130, 0.08),
    ("port", "full"): (5500, 1.00, 345, 0.06, 1.25, 0.98, 14, 60, 450, 550, 1.6, 860, 1.15, 9.8, 130, 0.05),
    ("carburettor", "idle"): (850, 0.38, 390, 0.20, 1.02, 0.36, 20, 75, 400, 150, 1.8, 400, 1.08, 8.8, 130, 0.15),
    ("carburettor", "cruise"): (2500, 0.60, 365, 0.12, 1.05, 0.57, 12, 60, 420, 350, 1.8, 620, 0.97, 8.8, 130, 0.08),
    ("carburettor", "full"): (4800, 0.92, 345, 0.06, 1.20, 0.90, 14, 62, 450, 550, 1.6, 860, 1.15, 8.8, 130, 0.05),
    ("direct", "idle"): (800, 0.36, 380, 0.18, 1.03, 0.34, 16, 60, 400, 150, 1.8, 400, 1.00, 10.0, 135, 0.15),
    ("direct", "cruise"): (2200, 0.70, 355, 0.10, 1.10, 0.66, 10, 48, 420, 350, 1.8, 620, 1.00, 10.0, 135, 0.08),
    ("direct", "full"): (5000, 1.75, 350, 0.05, 1.90, 1.70, 22, 50, 460, 550, 1.6, 860, 1.15, 10.0, 135, 0.05),
    ("diesel", "idle"): (800, 1.00, 340, 0.04, 1.02, 1.00, 10, 50, 380, 90, 1.0, 150, 0.20, 18.5, 130, 0.15),
    ("diesel", "cruise"): (2000, 1.00, 345, 0.04, 1.06, 0.99, 12, 65, 420, 210, 1.0, 350, 0.42, 18.5, 130, 0.08),
    ("diesel", "full"): (3600, 0.95, 350, 0.04, 1.15, 0.95, 16, 80, 450, 350, 1.0, 550, 0.68, 18.5, 130, 0.05),
    ("diesel-boosted", "idle"): (800, 1.00, 340, 0.04, 1.03, 1.00, 10, 50, 380, 90, 1.0, 150, 0.20, 17.0, 135, 0.15),
    ("diesel-boosted", "cruise"): (2000, 1.45, 345, 0.03, 1.40, 1.43, 12, 60, 420, 210, 1.0, 350, 0.42, 17.0, 135, 0.08),
    ("diesel-boosted", "full"): (3600, 2.30, 350, 0.03, 2.20, 2.28, 16, 75, 450, 350, 1.0, 550, 0.62, 17.0, 135, 0.05),
}

# What is not known, and how far it may be otherwise either way (judgement but where the text says more).
UNKNOWN = {
    "heat": ("law", 0, 1),              # Woschni, Hohenberg
    "law": ("law", 0, 1),               # of the burn
    "loss": ("factor", 0.7, 1.35),
    "length": ("factor", 0.75, 1.3),
    "half": ("add", -4, 5),
    "residual": ("factor", 0.6, 1.5),
    "runner_wall": ("factor", 0.8, 1.15),
    "exhaust_bar": ("factor", 0.97, 1.12),
    "trapped_kelvin": ("add", -20, 25),
    "follows": ("add", -0.25, 0.25),    # share by which the wall follows its own gas
    "exponent": ("add", -0.15, 0.15),   # of flow in NTU: 0.2 in a straight pipe, 0.5 past a bend and at the start of one
    "weight": ("add", -0.1, 0.4),       # of flow in the sensor's mean: 0.5 film on a cylinder, 1 enthalpy
    "stem": ("factor", 0.3, 1.7),
    "reads": ("factor", 0.92, 1.06),
    "opens": ("add", -8, 8),
}
COMMON = {"heat": 0, "law": 0, "follows": 0.5, "exponent": 0.3, "weight": 0.6, "bore": 0.086, "stroke": 0.086,
          "shuts": 140.0, "valve": 1.0, "leak": 0.0, "leak_to": 0, "burns": 1.0}
AIR_CP, GAS_CP = 1010.0, 1150.0  # heat capacities of air and hot exhaust, J/kg K, rounded
SAMPLES = 24  # of all of them together


def halton(i, base):
    """The i-th number of a sequence that fills 0 to 1 evenly."""
    f, r = 1.0, 0.0
    while i:
        f /= base
        r += f * (i % base)
        i //= base
    return r


def taken(point, name, x):
    """An unknown at a place between its least (0) and most (1)."""
    how, low, high = UNKNOWN[name]
    if how == "law":
        return float(x >= 0.5)
    value = low + x * (high - low)
    return point[name] * value if how == "factor" else point[name] + value


def variants(point):
    """The base, each unknown both ways, and all together at evenly spread places."""
    every = [dict(point)]
    for name in UNKNOWN:
        for x in ((1.0,) if UNKNOWN[name][0] == "law" else (0.0, 1.0)):
            every.append({**point, name: taken(point, name, x)})
    primes = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47]
    for i in range(SAMPLES):
        places = (halton(i + 20, b) for b in primes)
        every.append({**point, **{n: taken(point, n, x) for n, x in zip(UNKNOWN, places)}})
    return every


def add(**changes):
    return lambda p: {name: p[name] + by for name, by in changes.items()}


def times(**changes):
    return lambda p: {name: p[name] * by for name, by in changes.items()}


def lean(share, slow=0.0):
    """Less fuel, air kept; with `slow` the burn longer and its half later."""
    return lambda p: {"phi": p["phi"] * share, "length": p["length"] * (1 + slow), "half": p["half"] + 20 * slow}


def air(share):
    """Less air, fuel kept."""
    return lambda p: {"trapped_bar": p["trapped_bar"] * share, "phi": p["phi"] / share}


def diluted(more, slow):
    """Burnt gas beside the fresh, at the pressure that is trapped."""
    return lambda p: {"residual": p["residual"] + more, "length": p["length"] * (1 + slow), "half": p["half"] + 20 * slow}


def leak(area, to):
    return lambda p: {"leak": area, "leak_to": to}


# Change: what is asked of the cycle, and a way to mix what comes out.
SPARK = {f"fuel{d:+d}": (lean(1 + d / 100), None) for d in (-33, -15, -10, -5, 5, 10, 15, 30)}
SPARK |= {
    "lean-10-slow": (lean(0.90, 0.3), None),
    "lean-15-slow": (lean(0.85, 0.4), None),
    "lean-15-late": (lean(0.85, 0.8), None),
    **{f"burn{d:+d}": (add(half=d), None) for d in (-10, -7, -5, -3, 3, 5, 7, 10)},
    "burn-longer": (lambda p: {"length": p["length"] * 1.25, "half": p["half"] + 4}, None),
    "burn-long": (lambda p: {"length": p["length"] * 1.5, "half": p["half"] + 8}, None),
    "no-burn": (lambda p: {"burns": 0.0}, None),
    "no-fuel": (lambda p: {"burns": 0.0, "phi": 0.02}, None),
    "miss-1-in-10": (None, ("miss", 0.10, 0.0)),
    "miss-1-in-4": (None, ("miss", 0.25, 0.0)),
    "miss-1-in-4-lit": (None, ("miss", 0.25, 1.0)),
    "miss-1-in-4-half-lit": (None, ("miss", 0.25, 0.5)),
    "miss-3-in-4": (None, ("miss", 0.75, 0.0)),
    "part-80": (lambda p: {"burns": 0.8}, None),
    "part-80-lit": (lambda p: {"burns": 0.8}, ("lit", 1.0)),
    **{f"no-burn-{d}-lit": (lambda p: {"burns": 0.0}, ("lit", d / 100)) for d in (5, 25, 50)},
}
DIESEL = {f"fuel{d:+d}": (times(fuel_mass=1 + d / 100), None) for d in (-12, -8, 5, 8, 10)}
DIESEL |= {
    **{f"burn{d:+d}": (add(half=d), None) for d in (-5, -3, 3, 5, 8)},
    "burn-longer": (lambda p: {"length": p["length"] * 1.25, "half": p["half"] + 5}, None),
    "burn-long": (lambda p: {"length": p["length"] * 1.5, "half": p["half"] + 10}, None),
    "no-fuel": (lambda p: {"fuel_mass": 0.0}, None),
    "miss-1-in-4": (None, ("miss", 0.25, 0.0)),
}
BOTH = {
    **{f"{name}-{area:g}mm2": (leak(area, to), None)
       for name, to, areas in (("leak-crankcase", 0, (0.5, 1, 3)), ("leak-inlet", 1, (1, 3)), ("leak-exhaust", 2, (1, 3, 6)))
       for area in areas},
    "air-5": (air(0.95), None), "air-10": (air(0.90), None), "air-15": (air(0.85), None),
    "charge-20": (times(trapped_bar=0.8, fuel_mass=0.8), None),
    "charge+20": (times(trapped_bar=1.2, fuel_mass=1.2), None),
    "dilution+5": (diluted(0.05, 0.0), None), "dilution+10": (diluted(0.10, 0.0), None),
    "dilution+5-slow": (diluted(0.05, 0.2), None), "dilution+10-slow": (diluted(0.10, 0.45), None),
    "ratio-1": (add(ratio=-1), None), "ratio-2": (add(ratio=-2), None),
    "opens-5": (add(opens=-5), None), "opens-10": (add(opens=-10), None), "opens+10": (add(opens=10), None),
    "exhaust-pressure+30": (lambda p: {"exhaust_bar": p["exhaust_bar"] * 1.3, "residual": p["residual"] * 1.3}, None),
    "exhaust-pressure+30-slow": (lambda p: {"exhaust_bar": p["exhaust_bar"] * 1.3, "residual": p["residual"] * 1.3,
                                            "length": p["length"] * 1.15, "half": p["half"] + 3}, None),
    "runner-air+5": (None, ("air", 0.05, 0.0)), "runner-air+10": (None, ("air", 0.10, 0.0)),
    "runner-air+5-lit": (None, ("air", 0.05, 1.0)),
    "half-flow": (times(trapped_bar=0.5, fuel_mass=0.5), None),
}


def fresh_air(p):
    """Mass of fresh air trapped, kg, near enough to dose a diesel's fuel by."""
    swept = np.pi / 4 * p["bore"] ** 2 * p["stroke"]
    volume = swept / (p["ratio"] - 1) + 0.93 * swept
    return p["trapped_bar"] * 1e5 * volume / (287 * p["trapped_kelvin"]) * (1 - p["residual"])


class Runner:
    """From what left the cylinders of all variants to their displays."""

    def __init__(self, base, points):
        self.p = points
        self.base_flow = base.flow.sum(axis=0) / (base.flow > 0).sum(axis=0)
        self.metal = points["runner_wall"]
        low, high = np.zeros_like(self.metal), np.full_like(self.metal, 8.0)
        self.follow_from = None
        for _ in range(40):
            self.ntu = (low + high) / 2
            shown = self.shown([(1.0, base.t, base.flow)], fixed=True)[1]
            hot = shown > points["reads"]
            low, high = np.where(hot, self.ntu, low), np.where(hot, high, self.ntu)
        self.base_gas, reads = self.shown([(1.0, base.t, base.flow)], fixed=True)
        self.short = points["reads"] - reads  # above nought where no loss at all is still too cold
        self.follow_from = self.base_gas

    def gas(self, t, flow, wall):
        """Gas at the sensor, its mean weighted by flow."""
        rate = np.maximum(flow / self.base_flow, 0.02)
        kept = np.exp(-self.ntu * rate ** -self.p["exponent"])
        past = wall + (t - model.ZERO - wall) * kept
        weight = np.where(flow > 0, flow, 0.0) ** self.p["weight"]
        return (weight * past).sum(axis=0) / weight.sum(axis=0), flow.sum(axis=0)

    def shown(self, cycles, fixed=False):
        """Display where cycles of several kinds take turns; the wall follows the gas."""
        wall = self.metal
        for _ in range(1 if fixed else 15):
            gas, flow = 0.0, 0.0
            for share, t, f in cycles:
                one, amount = self.gas(t, f, wall)
                gas, flow = gas + share * one, flow + share * amount
            if not fixed:
                wall = self.metal + self.p["follows"] * (gas - self.follow_from)
        mean = flow / np.maximum(self.base_flow_sum, 1e-12) if hasattr(self, "base_flow_sum") else 1.0
        if fixed:
            self.base_flow_sum = flow
            mean = 1.0
        lost = np.minimum(self.p["stem"] * np.maximum(mean, 0.05) ** -0.3, 0.6)
        return gas, gas - lost * (gas - wall)


def stack(tables, fuel, cases):
    """Columns of all cases."""
    names = list(COMMON) + FIELDS + ["fuel_mass"]
    case = {n: np.array([float(c[n]) for c in cases]) for n in names}
    case["diesel"] = np.full(len(cases), float(fuel == "diesel"))
    case["row"] = np.array([tables.row(fuel, c["phi"]) for c in cases], dtype=float)
    return case


def with_air(cycle, share, complete, tables, fuel, phi):
    """Air drawn into the runner: mixed, and burning what is left in rich gas to a share."""
    f = phi * model.exact(fuel) / (1 + phi * model.exact(fuel))
    t, k = cycle.t, cycle.case["row"].astype(int)
    u_air, r_air = model.mixed({"O2": 1.0, "N2": model.NITROGEN}, np.array([310.0]))
    h_air = (u_air + r_air * 310.0)[0]
    lean_phi = f / (1 - f + share) / model.exact(fuel)
    after = np.array([tables.row(fuel, x) for x in lean_phi])
    _, _, ub, rb, _, _ = tables.at(k, t)
    burnt_out = model.solve_h(tables, after, 1.0, (ub + rb * t + share * h_air) / (1 + share), t)
    mixed = t - share / (1 + share) * (t - 310.0) * AIR_CP / GAS_CP
    return np.where(phi > 1, mixed + complete * (burnt_out - mixed), mixed)


def one_point(kind, name, values, rows):
    """All changes at one running point of one kind."""
    fuel = "diesel" if kind.startswith("diesel") else "petrol"
    point = {**COMMON, **dict(zip(FIELDS, values))}
    every = variants(point)
    for p in every:
        p["fuel_mass"] = p["phi"] * model.exact(fuel) * fresh_air(p)
    changes = {**(DIESEL if fuel == "diesel" else SPARK), **BOTH}
    asked = [(what, change) for what, (change, _) in changes.items() if change]
    tables = model.Tables()
    cases = every + [{**p, **change(p)} for _, change in asked for p in every]
    case = stack(tables, fuel, cases)
    phis = np.array([p["phi"] for p in every])
    if fuel == "petrol":
        for share in (0.05, 0.10):
            f = phis * model.exact(fuel) / (1 + phis * model.exact(fuel))
            for x in f / (1 - f + share) / model.exact(fuel):
                tables.row(fuel, x)
    tables.seal()
    n = len(every)
    whole = model.Cycle(tables, case)

    def part(i):
        one = object.__new__(model.Cycle)
        cut = slice(i * n, (i + 1) * n)
        one.case = {key: col[cut] for key, col in case.items()}
        one.tables, one.t, one.flow = tables, whole.t[:, cut], whole.flow[:, cut]
        one.burnt_share = whole.burnt_share[cut]
        return one
    base = part(0)
    columns = {key: col[:n] for key, col in case.items()}
    runner = Runner(base, columns)
    assert runner.short[0] < 1.0, f"{kind} {name}: gas is {runner.short[0]:.0f} °C too cold for its display"
    good = runner.short < 1.0
    ran = {what: part(i + 1) for i, (what, _) in enumerate(asked)}
    dead = ran["no-burn" if fuel == "petrol" else "no-fuel"]
    reads = runner.shown([(1.0, base.t, base.flow)])[1]
    for what, (change, mix) in changes.items():
        own = ran.get(what, base)
        if mix is None:
            cycles = [(1.0, own.t, own.flow)]
        elif mix[0] == "lit":
            cycles = [(1.0, model.lit(own, mix[1]), own.flow)]
        elif mix[0] == "miss":
            unburnt = model.lit(dead, mix[2]) if mix[2] else dead.t
            cycles = [(1 - mix[1], base.t, base.flow), (mix[1], unburnt, dead.flow)]
        else:
            if mix[2] and not (fuel == "petrol" and point["phi"] > 1):
                continue
            if fuel == "petrol":
                t = with_air(base, mix[1], mix[2], tables, fuel, phis)
            else:
                t = base.t - mix[1] / (1 + mix[1]) * (base.t - 310.0) * AIR_CP / GAS_CP
            cycles = [(1.0, t, base.flow * (1 + mix[1]))]
        shift = (runner.shown(cycles)[1] - reads)
        rest = shift[good]
        rows.append([kind, name, what, *(f"{x:+.1f}" for x in (shift[0], rest.mean())), f"{rest.std():.1f}",
                     f"{rest.min():+.1f}", f"{rest.max():+.1f}"])
    own = whole
    gas = (base.t * base.flow).sum(axis=0) / base.flow.sum(axis=0) - model.ZERO
    lost = own.heat_lost[0]
    heat = lost / (own.fuel_over_air[0] * model.exact(fuel) * model.FUELS[fuel][1] * own.charge[0])
    print(f"{kind:15} {name:7} gas {gas[0]:5.0f} °C leaves, {runner.base_gas[0]:4.0f} at the probe, wall "
          f"{point['runner_wall']}, display {reads[0]:4.0f}; ntu {runner.ntu[0]:.2f}; walls take {100 * heat:.0f} % "
          f"of the fuel; {good.sum()} of {n} variants", file=sys.stderr)


def main():
    """Records the table."""
    rows = []
    for (kind, name), values in POINTS.items():
        one_point(kind, name, values, rows)
    with open(Path(sys.argv[1]) / "effects.csv", "w", newline="") as out:
        out.write("# Shift of one cylinder's exhaust display in °C, recorded by tests/reference/effects.py "
                  f"(numpy {np.__version__})\n"
                  "# shift: everything as assumed; mean, sd, least, most: with what the model does not know taken "
                  "otherwise\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow("kind point change shift mean sd least most".split())
        writer.writerows(rows)


if __name__ == "__main__":
    main()
