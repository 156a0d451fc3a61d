#!/usr/bin/env python3
"""Records what mixture and timing do to the exhaust of one cylinder, for the cargo tests.

    python3 -m venv venv && venv/bin/pip install -r tests/reference/cycle-requirements.txt
    venv/bin/python tests/reference/cycle_check.py tests/fixtures

Writes flame_temperature.csv and cycle_exhaust.csv. Thermodynamic properties and equilibrium are
Cantera's (species data of its `gri30.yaml`); the cycle around them is written here, apart from the
program. It has no random numbers, so it repeats.

The cycle: one zone, fresh charge with residual, burnt after a Wiebe function, burnt gas in chemical
equilibrium while it is hot enough to react, wall loss after Woschni. The exhaust leaves with the
enthalpy u + p·v, v at exhaust-valve opening and p that of the exhaust: an energy mean over the
exhaust stroke. On its way to the probe it loses a share of its excess over the wall, exp(-NTU), and
NTU is not predicted: it is chosen so that the base case reads a usual figure. So levels are put in,
and only differences come out. Running conditions are assumed, typical of half a litre of petrol
engine; propane stands for petrol.
"""
import csv
import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import cantera as ct
import numpy as np

ZERO = 273.15
FUEL, AIR = "C3H8", "O2:1, N2:3.76"
BURNT = "CO2 CO H2O H2 O2 N2 OH O H NO".split()
BORE = STROKE = 0.086
ROD = 0.143
COMPRESSION = 9.8
SWEPT = math.pi / 4 * BORE ** 2 * STROKE
CLEARANCE = SWEPT / (COMPRESSION - 1)
VALVE_SHUTS, VALVE_OPENS = -140, 130
# Below this burnt gas no longer keeps up with equilibrium, K.
FREEZES = 1600.0


@dataclass(frozen=True)
class Point:
    """A running point; pressures in bar, temperatures in °C unless said."""
    rpm: float
    trapped_bar: float
    trapped_kelvin: float
    residual: float
    exhaust_bar: float
    half_burnt: float   # crank angle after top dead centre
    burn: float         # degrees of crank
    metal_kelvin: float
    runner_wall: float
    loss_factor: float  # on Woschni's coefficient
    reads: float        # at the base mixture
    mixture: float      # base, fuel over air as a multiple of the exact one


POINTS = {
    "idle": Point(900, 0.35, 390, 0.20, 1.02, 20, 70, 400, 150, 1.5, 400, 1.00),
    "cruise": Point(2500, 0.55, 365, 0.12, 1.05, 10, 55, 420, 350, 1.6, 620, 1.00),
    "full": Point(5500, 1.00, 345, 0.06, 1.25, 14, 60, 450, 550, 1.8, 860, 1.15),
}
MIXTURES = [0.75, 0.80, 0.85, 0.90, 0.95, 1.00, 1.05, 1.10, 1.15, 1.20, 1.30, 1.40, 1.50]
SHIFTS = [-10, -7, -6, -3, 0, 3, 6, 7, 10]

# What is assumed, taken otherwise: one thing at a time, there and back.
OTHERWISE = {
    "loss_factor": lambda p, up: p.loss_factor * (1.4 if up else 0.6),
    "residual": lambda p, up: p.residual * (1.4 if up else 0.6),
    "burn": lambda p, up: p.burn + (15 if up else -15),
    "half_burnt": lambda p, up: p.half_burnt + (4 if up else -4),
    "runner_wall": lambda p, up: p.runner_wall + (60 if up else -60),
    "exhaust_bar": lambda p, up: p.exhaust_bar * (1.15 if up else 0.95),
    "trapped_kelvin": lambda p, up: p.trapped_kelvin + (25 if up else -25),
    "reads": lambda p, up: p.reads + (60 if up else -60),
}

species = {s.name: s for s in ct.Species.list_from_file("gri30.yaml")}
charge = ct.Solution(thermo="ideal-gas", species=[species[n] for n in [FUEL, *BURNT]])
products = ct.Solution(thermo="ideal-gas", species=[species[n] for n in BURNT])


def fresh(mixture):
    """Mass fractions of fuel and air."""
    charge.set_equivalence_ratio(mixture, FUEL, AIR)
    return charge.Y.copy()


def burnt(elements_of, kelvin, pascal):
    """Mass fractions after complete reaction of a charge, in equilibrium."""
    # Any mixture of the same elements will do to start from: moles of each element make it.
    charge.Y = elements_of
    c, h, o, n = (charge.elemental_mole_fraction(e) for e in "CHON")
    carbon_in_co2 = max(0.0, min(c, o - c - h / 2))
    start = {"CO": c - carbon_in_co2, "CO2": carbon_in_co2, "N2": n / 2}
    oxygen = o - c - carbon_in_co2
    water = max(0.0, min(h / 2, oxygen))
    start |= {"H2O": water, "H2": h / 2 - water, "O2": max(0.0, oxygen - water) / 2}
    products.TPX = kelvin, pascal, start
    products.equilibrate("TP", max_steps=5000)
    return np.concatenate([[0.0], products.Y])


def volume(angle):
    """Volume over the piston at a crank angle in degrees, m³."""
    a, crank = math.radians(angle), STROKE / 2
    travel = crank * (1 - math.cos(a)) + ROD - math.sqrt(ROD ** 2 - (crank * math.sin(a)) ** 2)
    return CLEARANCE + math.pi / 4 * BORE ** 2 * travel


def wall_loss(point, v, kelvin, pascal, motored, reference, burning):
    """Heat flow to the walls, W: Woschni's coefficient with the factor of the point."""
    piston = 2 * STROKE * point.rpm / 60
    t0, p0, v0 = reference
    extra = 3.24e-3 * SWEPT * t0 / (p0 * v0) * max(pascal - motored, 0.0) if burning else 0.0
    speed = 2.28 * piston + extra
    h = 3.26 * BORE ** -0.2 * (pascal / 1e3) ** 0.8 * kelvin ** -0.55 * speed ** 0.8
    area = 2.3 * math.pi / 4 * BORE ** 2 + 4 * (v - CLEARANCE) / BORE
    return point.loss_factor * h * area * (kelvin - point.metal_kelvin)


def exhaust(point, step=0.5):
    """Energy-mean exhaust temperature in °C and trapped mass in kg."""
    unburnt = fresh(point.mixture)
    residual = burnt(unburnt, 1200.0, ct.one_atm)
    start = (1 - point.residual) * unburnt + point.residual * residual
    p0, v = point.trapped_bar * 1e5, volume(VALVE_SHUTS)
    charge.TPY = point.trapped_kelvin, p0, start
    mass, reference = charge.density * v, (point.trapped_kelvin, p0, v)
    energy, kelvin, pascal = mass * charge.int_energy_mass, charge.T, p0
    # Half burnt where 1 - exp(-5·x³) = ½.
    begins = point.half_burnt - point.burn * (math.log(2) / 5) ** (1 / 3)
    seconds, hot = step / (6 * point.rpm), residual
    for i in range(round((VALVE_OPENS - VALVE_SHUTS) / step)):
        angle = VALVE_SHUTS + (i + 1) * step
        bigger = volume(angle)
        share = 1 - math.exp(-5 * (max(angle - begins, 0.0) / point.burn) ** 3)
        if share > 0 and kelvin > FREEZES:
            hot = burnt(unburnt, kelvin, pascal)
        made = (1 - share) * start + share * hot
        motored = p0 * (reference[2] / v) ** 1.32
        heat = seconds * wall_loss(point, v, kelvin, pascal, motored, reference, share > 0)
        # Work with the pressure at the start of the step, then with the mean of both ends.
        mean = pascal
        for _ in range(2):
            after = energy - heat - mean * (bigger - v)
            charge.UVY = after / mass, bigger / mass, made
            mean = (pascal + charge.P) / 2
        energy, v, kelvin, pascal = after, bigger, charge.T, charge.P
    leaving = energy / mass + point.exhaust_bar * 1e5 * v / mass
    charge.HPY = leaving, point.exhaust_bar * 1e5, charge.Y
    return charge.T - ZERO, mass


def anchored(point):
    """Reading of a probe in the runner as a function of what is changed at a point."""
    base, base_mass = exhaust(point)
    ntu = -math.log((point.reads - point.runner_wall) / (base - point.runner_wall))

    def reading(**changed):
        gas, mass = exhaust(replace(point, **changed))
        # Less flow loses more on its way: NTU goes with flow^-0.2.
        kept = math.exp(-ntu * (mass / base_mass) ** -0.2)
        return point.runner_wall + (gas - point.runner_wall) * kept
    return reading


def flame(fuel, mixture):
    """Adiabatic flame temperature at constant pressure, °C."""
    gas.set_equivalence_ratio(mixture, fuel, AIR)
    gas.TP = 298.15, ct.one_atm
    gas.equilibrate("HP")
    return gas.T - ZERO


def write(folder, name, notes, header, rows):
    """A CSV file whose first lines say where the numbers are from."""
    with open(folder / name, "w", newline="") as out:
        for note in notes:
            out.write(f"# {note}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


if __name__ == "__main__":
    to = Path(sys.argv[1])
    source = f"PyPI cantera {ct.__version__}, recorded by tests/reference/cycle_check.py " \
             "(pinned in cycle-requirements.txt)"
    gas = ct.Solution("gri30.yaml")
    write(to, "flame_temperature.csv",
          ["adiabatic flame temperature in °C at constant pressure, 25 °C and 1 atm", source],
          ["fuel", "mixture", "celsius"],
          [[name, f"{m:.2f}", f"{flame(formula, m):.1f}"]
           for name, formula in (("propane", "C3H8"), ("methane", "CH4"))
           for m in np.arange(0.70, 1.51, 0.05)])
    rows = []
    for name, point in POINTS.items():
        every = [point] + [replace(point, **{what: change(point, up)})
                           for what, change in OTHERWISE.items() for up in (False, True)]
        tried = [(p, anchored(p)) for p in every]

        def row(what, value, changed):
            shifts = [read(**changed(p)) - p.reads for p, read in tried]
            return [name, what, f"{value:g}", f"{point.reads + shifts[0]:.1f}",
                    *(f"{v:+.1f}" for v in (shifts[0], min(shifts), max(shifts)))]
        rows += [row("mixture", m, lambda p: {"mixture": m}) for m in MIXTURES]
        rows += [row("burn-later", d, lambda p: {"half_burnt": p.half_burnt + d}) for d in SHIFTS]
    write(to, "cycle_exhaust.csv",
          ["reading in °C of a probe in the runner of one cylinder, from a single-zone cycle with "
           "assumed running conditions; levels are put in, differences come out",
           "mixture: fuel over air as a multiple of the exact one, air and timing kept; burn-later: "
           "degrees of crank by which half of the charge is burnt later, at the base mixture",
           "shift: from the base case; least and most of it when each assumption is taken otherwise",
           source], ["point", "what", "value", "celsius", "shift", "least", "most"], rows)
