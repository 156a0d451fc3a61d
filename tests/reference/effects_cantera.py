#!/usr/bin/env python3
"""The effects that another cycle gives, for the cargo tests to hold the project's own against.

    venv/bin/pip install -r tests/reference/cycle-requirements.txt
    venv/bin/python tests/reference/effects_cantera.py tests/fixtures

Writes effects_cantera.csv. Apart from `engine_model.py` in every part: gas properties and equilibrium
are Cantera's (species data of its gri30.yaml, OH, O, H and NO among the products), propane stands for
petrol and a hydrocarbon of the same heating value by carbon for diesel, heat loss is Hohenberg's, and
the display is that of an energy mean over the exhaust stroke that loses a fixed share of its excess
over a wall which stays as it is. Running conditions are its own, levels are put in here too.
"""
import csv
import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import cantera as ct

from cycle_check import AIR, FUEL, burnt, charge, fresh

ZERO, FREEZES = 273.15, 1600.0
BORE = STROKE = 0.086
AREA = math.pi / 4 * BORE ** 2
SWEPT = AREA * STROKE
SHUTS = -140
# Diesel: fuel as propane burnt out, which has 46 MJ/kg, so that fuel is counted by heat.
NAMES = charge.species_names
INDEX = {n: NAMES.index(n) for n in ("CO2", "H2O", "O2", "N2", FUEL)}
STOICH = 1 / 15.67  # propane over air by mass


@dataclass(frozen=True)
class Point:
    """A running point; pressures in bar, temperatures in K unless said."""
    rpm: float
    bar: float
    kelvin: float
    residual: float
    exhaust: float
    half: float      # degrees after top dead centre
    burn: float      # degrees
    metal: float
    wall: float      # of the runner, °C
    loss: float      # on Hohenberg's coefficient
    reads: float     # °C
    mixture: float   # of a diesel: of the engine as it is, fuel is then kept
    ratio: float
    opens: float
    diesel: bool = False
    fires: bool = True
    leak: float = 0.0    # mm² to 1 bar
    fuel: float = 1.0    # of a diesel, times what is usual
    air: float = 1.0     # trapped, times what is usual


POINTS = {
    ("port", "idle"): Point(900, 0.36, 395, 0.18, 1.02, 22, 75, 400, 160, 1.2, 400, 1.00, 9.5, 128),
    ("port", "cruise"): Point(2400, 0.55, 360, 0.11, 1.04, 11, 58, 420, 340, 1.2, 620, 1.00, 9.5, 128),
    ("port", "full"): Point(5300, 1.00, 340, 0.05, 1.22, 15, 58, 450, 540, 1.1, 860, 1.15, 9.5, 128),
    ("diesel", "idle"): Point(800, 1.00, 335, 0.03, 1.02, 9, 45, 380, 85, 1.0, 150, 0.20, 18.0, 132, True),
    ("diesel", "cruise"): Point(1900, 1.00, 345, 0.03, 1.05, 12, 60, 420, 200, 1.0, 350, 0.42, 18.0, 132, True),
    ("diesel", "full"): Point(3500, 0.96, 350, 0.03, 1.15, 16, 75, 450, 340, 1.0, 550, 0.68, 18.0, 132, True),
}


def volume(point, angle):
    """Over the piston, m³."""
    a, crank, rod = math.radians(angle), STROKE / 2, 0.143
    return SWEPT / (point.ratio - 1) + AREA * (
        crank * (1 - math.cos(a)) + rod - math.sqrt(rod ** 2 - (crank * math.sin(a)) ** 2))


def burnt_air(share):
    """Mass fractions of air in which a share of what it could burn has burnt."""
    charge.set_equivalence_ratio(share, FUEL, AIR)
    y = charge.Y.copy()
    fuel = y[INDEX[FUEL]]
    y[INDEX[FUEL]] = 0.0
    y[INDEX["O2"]] -= fuel * 5 * 31.998 / 44.097
    y[INDEX["CO2"]] += fuel * 3 * 44.010 / 44.097
    y[INDEX["H2O"]] += fuel * 4 * 18.015 / 44.097
    return y


def gas_leaves(point, step=1.0):
    """Energy-mean exhaust temperature in °C and mass in kg."""
    v = volume(point, SHUTS)
    pascal, kelvin = point.bar * point.air * 1e5, point.kelvin
    if point.diesel:
        start = (1 - point.residual) * burnt_air(0.0) + point.residual * burnt_air(point.mixture)
    else:
        unburnt = fresh(point.mixture)
        hot = burnt(unburnt, 1300.0, ct.one_atm)
        start = (1 - point.residual) * unburnt + point.residual * hot
    charge.TPY = kelvin, pascal, start
    mass = charge.density * v
    # Fuel of a diesel, kg, by the air that is usual.
    dose = point.fuel * point.mixture * STOICH * mass / point.air * (1 - point.residual)
    hot_fuel = None
    if point.diesel:
        charge.TPY = 330.0, ct.one_atm, {FUEL: 1.0}
        hot_fuel = charge.enthalpy_mass
        charge.TPY = kelvin, pascal, start
    energy, made, burnt_share = mass * charge.int_energy_mass, start, 0.0
    begins = point.half - point.burn * (math.log(2) / 5) ** (1 / (2.0 if point.diesel else 3.0))
    seconds, piston = step / (6 * point.rpm), 2 * STROKE * point.rpm / 60
    for i in range(round((point.opens - SHUTS) / step)):
        angle = SHUTS + (i + 1) * step
        bigger = volume(point, angle)
        x = max(angle - begins, 0.0) / point.burn
        share = (1 - math.exp(-5 * x ** (2.0 if point.diesel else 3.0))) if point.fires else 0.0
        if point.diesel:
            adds = (share - burnt_share) * dose
            if adds > 0:
                # Oxygen of what is in the cylinder burns the fuel; the rest of it is carried along.
                y = made * mass
                adds = min(adds, y[INDEX["O2"]] / (5 * 31.998 / 44.097))
                y[INDEX["O2"]] -= adds * 5 * 31.998 / 44.097
                y[INDEX["CO2"]] += adds * 3 * 44.010 / 44.097
                y[INDEX["H2O"]] += adds * 4 * 18.015 / 44.097
                mass += adds
                energy += adds * hot_fuel
                made = y / mass
        else:
            if share > 0 and kelvin > FREEZES:
                hot = burnt(unburnt, kelvin, pascal)
            made = (1 - share) * start + share * hot
        burnt_share = share
        h = 130 * v ** -0.06 * (pascal / 1e5) ** 0.8 * kelvin ** -0.4 * (piston + 1.4) ** 0.8
        surface = 2.3 * AREA + 4 * (v - SWEPT / (point.ratio - 1)) / BORE
        heat = seconds * point.loss * h * surface * (kelvin - point.metal)
        mean = pascal
        for _ in range(2):
            after = energy - heat - mean * (bigger - v)
            charge.UVY = after / mass, bigger / mass, made
            mean = (pascal + charge.P) / 2
        energy, v, kelvin, pascal = after, bigger, charge.T, charge.P
        if point.leak and pascal > 1e5:
            ratio, g = max(1e5 / pascal, 0.54), 1.3
            psi = math.sqrt(2 * g / (g - 1) * (ratio ** (2 / g) - ratio ** ((g + 1) / g)))
            gone = 0.8 * point.leak * 1e-6 * pascal * psi / math.sqrt(ct.gas_constant / charge.mean_molecular_weight * kelvin)
            gone = min(gone * seconds, 0.2 * mass)
            energy -= gone * charge.enthalpy_mass
            mass -= gone
    leaving = energy / mass + point.exhaust * 1e5 * v / mass
    charge.HPY = leaving, point.exhaust * 1e5, charge.Y
    return charge.T - ZERO, mass


CHANGES = {
    "fuel-15": lambda p: {"mixture": p.mixture * 0.85}, "fuel-10": lambda p: {"mixture": p.mixture * 0.90},
    "fuel+10": lambda p: {"mixture": p.mixture * 1.10}, "fuel+15": lambda p: {"mixture": p.mixture * 1.15},
    "burn-10": lambda p: {"half": p.half - 10}, "burn-5": lambda p: {"half": p.half - 5},
    "burn-3": lambda p: {"half": p.half - 3}, "burn+3": lambda p: {"half": p.half + 3},
    "burn+5": lambda p: {"half": p.half + 5}, "burn+7": lambda p: {"half": p.half + 7},
    "burn+10": lambda p: {"half": p.half + 10},
    "burn-longer": lambda p: {"burn": p.burn * 1.25, "half": p.half + 4},
    "burn-long": lambda p: {"burn": p.burn * 1.5, "half": p.half + 8},
    "no-burn": lambda p: {"fires": False},
    "air-10": lambda p: {"air": 0.9, "mixture": p.mixture / 0.9},
    "dilution+10": lambda p: {"residual": p.residual + 0.10},
}
DIESEL = {
    "fuel+5": lambda p: {"fuel": 1.05}, "fuel+8": lambda p: {"fuel": 1.08},
    "fuel+10": lambda p: {"fuel": 1.10}, "fuel-12": lambda p: {"fuel": 0.88}, "fuel-8": lambda p: {"fuel": 0.92},
    "burn-5": lambda p: {"half": p.half - 5}, "burn+3": lambda p: {"half": p.half + 3},
    "burn+5": lambda p: {"half": p.half + 5},
    "burn+8": lambda p: {"half": p.half + 8},
    "burn-longer": lambda p: {"burn": p.burn * 1.25, "half": p.half + 5},
    "burn-long": lambda p: {"burn": p.burn * 1.5, "half": p.half + 10},
    "no-fuel": lambda p: {"fires": False},
    "air-5": lambda p: {"air": 0.95}, "air-10": lambda p: {"air": 0.90}, "air-15": lambda p: {"air": 0.85},
}
BOTH = {
    "leak-crankcase-1mm2": lambda p: {"leak": 1.0}, "leak-crankcase-3mm2": lambda p: {"leak": 3.0},
    "ratio-1": lambda p: {"ratio": p.ratio - 1}, "ratio-2": lambda p: {"ratio": p.ratio - 2},
}


def main():
    """Records the table."""
    rows = []
    for (kind, name), point in POINTS.items():
        gas, usual = gas_leaves(point)
        kept = (point.reads - point.wall) / (gas - point.wall)
        assert 0 < kept <= 1, f"{kind} {name}: gas at {gas:.0f} °C"
        print(f"{kind} {name}: gas {gas:.0f} °C, kept {kept:.2f}", file=sys.stderr)
        for what, change in {**(DIESEL if point.diesel else CHANGES), **BOTH}.items():
            other, mass = gas_leaves(replace(point, **change(point)))
            share = math.exp(math.log(kept) * (mass / usual) ** -0.2)
            rows.append([kind, name, what, f"{point.wall + (other - point.wall) * share - point.reads:+.1f}"])
    with open(Path(sys.argv[1]) / "effects_cantera.csv", "w", newline="") as out:
        out.write("# Shift of one cylinder's exhaust display in °C, recorded by tests/reference/effects_cantera.py "
                  f"(PyPI cantera {ct.__version__})\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow("kind point change shift".split())
        writer.writerows(rows)


if __name__ == "__main__":
    main()
