"""One cylinder's cycle from inlet closing to the display: the project's own model.

Used by `effects.py`, which says what is asked of it and records the answers. Everything is worked
out for many cases at once (numpy), without random numbers.

What is in it:
- gas: heat capacities of the NASA polynomials, burnt gas of petrol in chemical equilibrium of six
  species while it is hot enough to react, diesel as air and products of the exact mixture side by side;
- cylinder: one zone, burn after a Wiebe or a cosine law (diesel: one or two Wiebe laws), wall loss
  after Woschni or Hohenberg, a leak of a given area to the crankcase, the inlet or the exhaust;
- exhaust: flow through the valve, blow-down and push-out, wall loss in the cylinder meanwhile;
- runner: what flows past the probe has lost exp(-NTU) of its excess over the wall on its way, and a
  wall that follows its own gas by a share;
- sensor: a mean weighted by flow to a power (the film on a small cylinder), less what the stem leads
  to the wall.

NTU is not predicted: it is chosen so that the base case shows a usual figure, so that levels are put in
and differences come out. What is trapped (charge, burnt gas left) is put in as well: the cycle is not
closed over the gas exchange.

Where constants are from: [G] thermodynamic data of GRI-Mech 3.0 as in Cantera's gri30.yaml, read;
[H] Heywood, Internal Combustion Engine Fundamentals, 1988, from memory; [J] judgement.
"""
import math

import numpy as np

ZERO = 273.15
R = 8.314462618
ATM = 101325.0

# [G] NASA polynomials, 300 to 1000 K, then above 1000 K.
NASA = {
    "CO2": ((2.35677352, 0.00898459677, -7.12356269e-06, 2.45919022e-09, -1.43699548e-13,
             -48371.9697, 9.90105222),
            (3.85746029, 0.00441437026, -2.21481404e-06, 5.23490188e-10, -4.72084164e-14,
             -48759.166, 2.27163806)),
    "H2O": ((4.19864056, -0.0020364341, 6.52040211e-06, -5.48797062e-09, 1.77197817e-12,
             -30293.7267, -0.849032208),
            (3.03399249, 0.00217691804, -1.64072518e-07, -9.7041987e-11, 1.68200992e-14,
             -30004.2971, 4.9667701)),
    "CO": ((3.57953347, -0.00061035368, 1.01681433e-06, 9.07005884e-10, -9.04424499e-13,
            -14344.086, 3.50840928),
           (2.71518561, 0.00206252743, -9.98825771e-07, 2.30053008e-10, -2.03647716e-14,
            -14151.8724, 7.81868772)),
    "H2": ((2.34433112, 0.00798052075, -1.9478151e-05, 2.01572094e-08, -7.37611761e-12,
            -917.935173, 0.683010238),
           (3.3372792, -4.94024731e-05, 4.99456778e-07, -1.79566394e-10, 2.00255376e-14,
            -950.158922, -3.20502331)),
    "O2": ((3.78245636, -0.00299673416, 9.84730201e-06, -9.68129509e-09, 3.24372837e-12,
            -1063.94356, 3.65767573),
           (3.28253784, 0.00148308754, -7.57966669e-07, 2.09470555e-10, -2.16717794e-14,
            -1088.45772, 5.45323129)),
    "N2": ((3.298677, 0.0014082404, -3.963222e-06, 5.641515e-09, -2.444854e-12,
            -1020.8999, 3.950372),
           (2.92664, 0.0014879768, -5.68476e-07, 1.0097038e-10, -6.753351e-15,
            -922.7977, 5.980528)),
}
MASS = {"CO2": 44.010e-3, "H2O": 18.015e-3, "CO": 28.010e-3, "H2": 2.016e-3, "O2": 31.998e-3,
        "N2": 28.014e-3}
NITROGEN = 3.76  # moles beside one of oxygen in air

# Hydrogen over carbon; lower heating value of the liquid, J/kg; heat to vaporise it, J/kg. [H]
FUELS = {"petrol": (1.87, 44.0e6, 0.35e6), "diesel": (1.80, 42.5e6, 0.27e6)}

GRID = np.arange(250.0, 3400.0, 25.0)
# Below this burnt gas no longer keeps up with equilibrium, K. [H]: water gas holds as it was near 1700 K.
FREEZES = 1650.0
# Pressure at which equilibrium is tabulated; that of the working stroke. [J]
AT = 12e5


def h_over_rt(name, t):
    """Molar enthalpy over RT."""
    low, high = NASA[name]
    a = np.where(t[:, None] < 1000.0, low, high)
    return a[:, 0] + t / 2 * a[:, 1] + t ** 2 / 3 * a[:, 2] + t ** 3 / 4 * a[:, 3] \
        + t ** 4 / 5 * a[:, 4] + a[:, 5] / t


def g_over_rt(name, t):
    """Molar Gibbs energy over RT at one atmosphere."""
    low, high = NASA[name]
    a = np.where(t[:, None] < 1000.0, low, high)
    s = a[:, 0] * np.log(t) + a[:, 1] * t + a[:, 2] / 2 * t ** 2 + a[:, 3] / 3 * t ** 3 \
        + a[:, 4] / 4 * t ** 4 + a[:, 6]
    return h_over_rt(name, t) - s


def fuel_mass(fuel):
    """Mass of a mole of carbon with its hydrogen, kg."""
    return 12.011e-3 + FUELS[fuel][0] * 1.008e-3


def exact(fuel):
    """Fuel over air by mass, where both are used up."""
    need = 1 + FUELS[fuel][0] / 4
    return fuel_mass(fuel) / (need * (MASS["O2"] + NITROGEN * MASS["N2"]))


def formation(fuel):
    """Enthalpy of the liquid at 25 °C, J/kg, from its heating value."""
    y, lower, _ = FUELS[fuel]
    t = np.array([298.15])
    products = (h_over_rt("CO2", t) + y / 2 * h_over_rt("H2O", t))[0] * R * 298.15
    oxygen = (1 + y / 4) * h_over_rt("O2", t)[0] * R * 298.15
    return lower + (products - oxygen) / fuel_mass(fuel)


def vapour(fuel, t):
    """Enthalpy of the vapour, J/kg; heat capacity of a petrol vapour, straight up to 1000 K. [H]"""
    above = np.minimum(t, 1000.0) - 298.15
    cp = 1670.0 + 3.2 * above
    return formation(fuel) + FUELS[fuel][2] + 1670.0 * above + 1.6 * above ** 2 \
        + cp * np.maximum(t - 1000.0, 0.0)


def mixed(moles, t):
    """Internal energy (J/kg) and gas constant (J/kg K) of moles of species."""
    mass = sum(n * MASS[s] for s, n in moles.items())
    h = sum(n * h_over_rt(s, t) for s, n in moles.items()) * R * t
    gas = sum(moles.values()) * R / mass + 0.0 * t
    return h / mass - gas * t, gas


def fresh(fuel, phi):
    """Fuel vapour and air."""
    air = {"O2": 1.0, "N2": NITROGEN}
    u, gas = mixed(air, GRID)
    share = phi * exact(fuel) / (1 + phi * exact(fuel))
    own = R / 0.105  # a heavy vapour, some 105 g a mole
    return (1 - share) * u + share * (vapour(fuel, GRID) - own * GRID), \
        (1 - share) * gas + share * own


def burnt(fuel, phi, dissociates=True):
    """Products; CO2, H2O, CO, H2, O2, N2 in equilibrium while hot."""
    y = FUELS[fuel][0]
    c, h2, o, n2 = phi, phi * y / 2, 2 * (1 + y / 4), (1 + y / 4) * NITROGEN
    t = np.maximum(GRID, FREEZES)
    k1 = np.exp(g_over_rt("CO2", t) - g_over_rt("CO", t) - g_over_rt("O2", t) / 2)
    k2 = np.exp(g_over_rt("H2O", t) - g_over_rt("H2", t) - g_over_rt("O2", t) / 2)
    if not dissociates:
        return mixed({"CO2": c, "H2O": h2, "O2": max(0.0, o - 2 * c - h2) / 2, "N2": n2}, GRID)
    low, high = np.full_like(t, -40.0), np.full_like(t, math.log(math.sqrt(0.9 * AT / ATM)))
    for _ in range(80):
        s = np.exp((low + high) / 2)
        q = s ** 2 * ATM / AT
        oxygen = q * (c + h2 + n2) / (1 - q)
        held = c * (2 + k1 / s) / (1 + k1 / s) + h2 / (1 + k2 / s) + 2 * oxygen
        over = held > o
        high, low = np.where(over, (low + high) / 2, high), np.where(over, low, (low + high) / 2)
    return mixed({"CO2": c / (1 + k1 / s), "CO": c * k1 / s / (1 + k1 / s), "H2O": h2 / (1 + k2 / s),
                  "H2": h2 * k2 / s / (1 + k2 / s), "O2": oxygen, "N2": n2}, GRID)


class Tables:
    """Energy and gas constant of unburnt and burnt gas, a row for each kind of charge."""

    def __init__(self):
        self.rows, self.known = [], {}

    def row(self, fuel, phi):
        """The row of a charge; a diesel has one, whatever its fuel."""
        key = (fuel, None if fuel == "diesel" else round(float(phi), 5))
        if key not in self.known:
            one = fresh(fuel, 0.0 if fuel == "diesel" else key[1])
            two = burnt(fuel, 1.0, False) if fuel == "diesel" else burnt(fuel, key[1])
            self.known[key] = len(self.rows)
            self.rows.append((one[0], np.broadcast_to(one[1], GRID.shape), two[0], two[1]))
        return self.known[key]

    def seal(self):
        """Stacks the rows, so that one look-up reads all four figures."""
        self.flat = np.array([np.stack(r, axis=-1) for r in self.rows]).reshape(-1, 4)

    def at(self, k, t):
        """u and R of both gases, and the slopes of u, at temperatures."""
        x = np.clip((t - GRID[0]) / 25.0, 0.0, len(GRID) - 2.001)
        i = x.astype(np.intp)
        at = k * len(GRID) + i
        low = self.flat[at]
        slope = self.flat[at + 1] - low
        now = low + (x - i)[..., None] * slope
        return now[..., 0], now[..., 1], now[..., 2], now[..., 3], slope[..., 0] / 25.0, slope[..., 2] / 25.0


def solve(tables, k, ma, mb, energy, t):
    """Temperature at which the gases hold an energy."""
    for _ in range(2):
        ua, _, ub, _, ca, cb = tables.at(k, t)
        t = t - (ma * ua + mb * ub - energy) / (ma * ca + mb * cb)
        t = np.clip(t, 260.0, 3300.0)
    return t


def solve_h(tables, k, share, enthalpy, t):
    """Temperature at which a kilogram with this share burnt holds an enthalpy."""
    for _ in range(6):
        ua, ra, ub, rb, ca, cb = tables.at(k, t)
        h = (1 - share) * (ua + ra * t) + share * (ub + rb * t)
        t = t - (h - enthalpy) / ((1 - share) * (ca + ra) + share * (cb + rb))
        t = np.clip(t, 260.0, 3300.0)
    return t


def through(area, p, t, gas, beyond, gamma=1.32):
    """Mass flow through an opening, kg/s."""
    ratio = np.clip(beyond / p, 0.0, 1.0)
    choked = (2 / (gamma + 1)) ** (gamma / (gamma - 1))
    r = np.maximum(ratio, choked)
    psi = np.sqrt(np.maximum(2 * gamma / (gamma - 1) * (r ** (2 / gamma) - r ** ((gamma + 1) / gamma)), 0))
    return area * p / np.sqrt(gas * t) * psi


def share_burnt(case, angle):
    """Share of the fuel that has burnt by a crank angle, by the law of each case."""
    half, length = case["half"], case["length"]

    def wiebe(m, begins, long):
        x = np.maximum(angle - begins, 0.0) / long
        return 1 - np.exp(-5 * x ** (m + 1))

    def half_of(m):
        return (math.log(2) / 5) ** (1 / (m + 1))
    spark = wiebe(2, half - length * half_of(2), length)
    cosine = 0.5 * (1 - np.cos(np.pi * np.clip((angle - half) / (0.75 * length) + 0.5, 0, 1)))
    slow = wiebe(0.9, half - length * half_of(0.9), length)
    # A fifth before the spray has set in fully, the rest as air reaches it. [J]
    begins = half - 0.85 * length * half_of(0.9)
    double = 0.2 * wiebe(2, begins, 12.0) + 0.8 * wiebe(0.9, begins, length)
    law = np.where(case["diesel"] > 0, np.where(case["law"] > 0, double, slow),
                   np.where(case["law"] > 0, cosine, spark))
    return law * case["burns"]


class Cycle:
    """Runs cases from inlet closing to exhaust closing; what left past the valve is kept."""

    def __init__(self, tables, case, step=2.0):
        self.tables, self.case, self.step = tables, case, step
        c = case
        self.area = math.pi / 4 * c["bore"] ** 2
        self.swept = self.area * c["stroke"]
        self.clearance = self.swept / (c["ratio"] - 1)
        self.seconds = step / (6 * c["rpm"])
        self.run()

    def volume(self, angle):
        """Over the piston, m³."""
        c, a = self.case, math.radians(angle)
        crank = c["stroke"] / 2
        rod = 1.66 * c["stroke"]
        travel = crank * (1 - math.cos(a)) + rod - np.sqrt(rod ** 2 - (crank * math.sin(a)) ** 2)
        return self.clearance + self.area * travel

    def loss(self, v, t, p, motored, burning, exchange):
        """Heat flow to the walls, W: Woschni or Hohenberg [H], times the case's factor."""
        c = self.case
        piston = 2 * c["stroke"] * c["rpm"] / 60
        t0, p0, v0 = self.shut
        extra = 3.24e-3 * self.swept * t0 / (p0 * v0) * np.maximum(p - motored, 0.0)
        speed = (6.18 if exchange else 2.28) * piston + np.where(burning, extra, 0.0)
        woschni = 3.26 * c["bore"] ** -0.2 * (p / 1e3) ** 0.8 * t ** -0.55 * speed ** 0.8
        hohenberg = 130 * v ** -0.06 * (p / 1e5) ** 0.8 * t ** -0.4 * (piston + 1.4) ** 0.8
        h = c["loss"] * np.where(c["heat"] > 0, hohenberg, woschni)
        wall = 2.3 * self.area + 4 * (v - self.clearance) / c["bore"]
        return h * wall * (t - c["metal"])

    def run(self):
        """The whole of it."""
        c, tab, dt = self.case, self.tables, self.seconds
        k = c["row"].astype(int)
        p = c["trapped_bar"] * 1e5
        t = c["trapped_kelvin"].astype(float).copy()
        v = self.volume(-c["shuts"][0])
        self.shut = (t, p, v)
        diesel = c["diesel"] > 0
        # Burnt gas that stayed: of a diesel only the part without spare air is counted as burnt.
        left = c["residual"] * np.where(diesel, c["phi"], 1.0)
        _, ra, _, rb, _, _ = tab.at(k, t)
        mass = p * v / (((1 - left) * ra + left * rb) * t)
        ma, mb = mass * (1 - left), mass * left
        self.charge = mass.copy()
        fresh_air = mass * (1 - c["residual"])
        fuel = np.where(diesel, c["fuel_mass"], 0.0)
        air_for = 1 / exact("diesel")
        liquid = formation("diesel")
        self.fuel_over_air = np.where(diesel, fuel / fresh_air / exact("diesel"), c["phi"])
        burnable, heat_lost = ma.copy(), np.zeros_like(t)
        kept_t, kept_flow = [], []
        ua, _, ub, _, _, _ = tab.at(k, t)
        energy = ma * ua + mb * ub
        share, angle = np.zeros_like(t), -c["shuts"][0]
        opens = c["opens"]
        ends = 372.0
        out_total = np.zeros_like(t)
        while angle < ends:
            angle += self.step
            bigger = self.volume(angle)
            now = share_burnt(c, angle)
            closed = angle <= opens
            burning = now > 1e-6
            # A diesel burns no more than there is air for.
            want = np.where(diesel, (now - share) * fuel * air_for, (now - share) * burnable)
            take = np.minimum(np.where(closed, want, 0.0), ma)
            share = now
            ma = ma - take
            mb = mb + take * np.where(diesel, 1 + 1 / air_for, 1.0)
            energy = energy + np.where(diesel, take / air_for * liquid, 0.0)
            _, ra, _, rb, _, _ = tab.at(k, t)
            motored = self.shut[1] * (self.shut[2] / bigger) ** 1.32
            q = dt * self.loss(v, t, p, motored, burning & closed, False)
            q = np.where(closed, q, dt * self.loss(v, t, p, motored, burning & False, True))
            heat_lost = heat_lost + np.where(closed, q, 0.0)
            mean = p
            for _ in range(2):
                after = energy - q - mean * (bigger - v)
                t2 = solve(tab, k, ma, mb, after, t)
                p2 = (ma * ra + mb * rb) * t2 / bigger
                mean = (p + p2) / 2
            energy, t, p, v = after, t2, p2, bigger
            # What leaves: past a leak while the valves are shut, past the exhaust valve afterwards.
            ua, ra, ub, rb, _, _ = tab.at(k, t)
            m = ma + mb
            gas = (ma * ra + mb * rb) / m
            h = (ma * (ua + ra * t) + mb * (ub + rb * t)) / m
            sink = np.where(c["leak_to"] > 1, c["exhaust_bar"], np.where(c["leak_to"] > 0, c["inlet_bar"], 1.0)) * 1e5
            leaks = through(c["leak"] * 1e-6 * 0.8, p, t, gas, sink)
            lift = np.clip((angle - opens) / np.maximum(ends - opens, 1.0), 0.0, 1.0)
            valve = 0.6 * c["valve"] * math.pi * 0.36 * c["bore"] * 0.25 * 0.36 * c["bore"] * np.sin(np.pi * lift) ** 2
            beyond = c["exhaust_bar"] * 1e5
            # No more leaves in a step than evens the pressures.
            most = m * np.maximum(1 - (beyond / p) ** (1 / 1.32), 0.0)
            out = np.where(closed, np.minimum(leaks * dt, 0.2 * m), np.minimum(through(valve, p, t, gas, beyond) * dt, most))
            part = out / m
            ma, mb, energy = ma * (1 - part), mb * (1 - part), energy - out * h
            # Exhaust that comes back where the cylinder is below it: half-way from wall to gas. [J]
            back_t = c["runner_wall"] + ZERO + 0.5 * (t - c["runner_wall"] - ZERO)
            back_t = np.clip(back_t, 260.0, 3300.0)
            uab, rab, ubb, rbb, _, _ = tab.at(k, back_t)
            need = m * np.maximum((beyond / p) ** (1 / 1.32) - 1, 0.0)
            into = np.where(closed, 0.0, np.minimum(through(valve, beyond, back_t, gas, p) * dt, need))
            y = mb / (ma + mb)
            energy = energy + into * ((1 - y) * (uab + rab * back_t) + y * (ubb + rbb * back_t))
            ma, mb = ma + into * (1 - y), mb + into * y
            t = solve(tab, k, ma, mb, energy, t)
            ua, ra, ub, rb, _, _ = tab.at(k, t)
            energy = ma * ua + mb * ub
            p = (ma * ra + mb * rb) * t / v
            past = np.where(closed & (c["leak_to"] < 2), 0.0, out)
            kept_t.append(t.copy())
            kept_flow.append(past / dt)
            out_total = out_total + past
        self.t, self.flow = np.array(kept_t), np.array(kept_flow)
        self.burnt_share = mb / (ma + mb)
        self.out, self.heat_lost = out_total, heat_lost


def lit(cycle, complete):
    """Gas temperatures when what is left unburnt in it burns in the runner, to a share."""
    k, y = cycle.case["row"].astype(int), cycle.burnt_share
    ua, ra, ub, rb, _, _ = cycle.tables.at(k, cycle.t)
    h = (1 - y) * (ua + ra * cycle.t) + y * (ub + rb * cycle.t)
    return solve_h(cycle.tables, k, y + (1 - y) * complete, h, cycle.t)
