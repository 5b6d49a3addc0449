"""Prints the row elastic_peak_deg of stations.txt.

A category 0 stop of a load on two biased motors: Runge-Kutta of the fourth
order, each body's dry friction by a mode (up, down, stuck) that is kept for a
step, where the Go code has position Verlet and a clamp on the velocity.
Run as: python3 testdata/plant/elastic_stop.py (a few seconds).
"""

import math
import os

DEGREE = math.pi / 180
STEP_S = 4e-5
LASTS_S = 1.2
RELAY_S = 0.02
WIND_MS = 20
SHAPE = {"az": (0.0463, 0.0858), "el": (0.0386, 0.0715)}


def columns():
    here = os.path.dirname(os.path.abspath(__file__))
    rows = {}
    with open(os.path.join(here, "stations.txt"), encoding="ascii") as text:
        for line in text:
            cells = line.split()
            if cells and cells[0] != "#":
                rows[cells[0]] = cells[1:]
    for i, name in enumerate(rows["column"]):
        yield name, lambda row, i=i: float(rows[row][i])


def wind_nm(name, diameter):
    first, second = SHAPE[name[-2:]]
    worst = max(
        abs(first * math.sin(x / 5000) - second * math.sin(x / 2500)) for x in range(15708)
    )
    return worst * 0.5 * 1.225 * WIND_MS**2 * math.pi / 4 * diameter**3


def peak_deg(name, get):
    load = get("load_inertia_t_m2") * 1e3
    motor = get("motor_inertia_t_m2") * 1e3
    whole = load * (2 * math.pi * get("locked_rotor_hz")) ** 2
    spring, damping = whole / 2, get("gear_damping_ratio") * math.sqrt(whole * load)
    play = get("gear_play_deg") * DEGREE / 2
    coulomb, viscous = get("coulomb_kn_m") * 1e3, get("viscous_kn_m_s_per_rad") * 1e3
    push = wind_nm(name, get("dish_m")) + get("unbalance_kn_m") * 1e3
    rate = get("full_rate_deg_per_s") * DEGREE
    bias, brake = get("torque_bias_kn_m") * 1e3, get("brake_kn_m") * 1e3
    bites = round((RELAY_S + get("brake_engage_s")) / STEP_S)

    def flank(twist, slip):
        if twist > play:
            return max(0.0, spring * (twist - play) + damping * slip)
        if twist < -play:
            return min(0.0, spring * (twist + play) + damping * slip)
        return 0.0

    def torques(y):
        one = flank(y[2] - y[0], y[3] - y[1])
        two = flank(y[4] - y[0], y[5] - y[1])
        return one + two + push - viscous * y[1], -one, -two

    def slope(y, mode, dry):
        out = []
        for body, torque in enumerate(torques(y)):
            inertia = motor if body else load
            moves = mode[body] != 0
            out.append(y[2 * body + 1] if moves else 0.0)
            out.append((torque - mode[body] * dry[body]) / inertia if moves else 0.0)
        return out

    y = [0.0, rate]
    for sign in (1, -1):
        torque = (coulomb + viscous * rate - push) / 2 + sign * bias
        y += [torque / spring + math.copysign(play, torque), rate]
    peak = 0.0
    for n in range(round(LASTS_S / STEP_S)):
        dry = (coulomb,) + 2 * (brake if n >= bites else 0.0,)
        mode = []
        for body, torque in enumerate(torques(y)):
            pull = y[2 * body + 1] or (torque if abs(torque) > dry[body] else 0.0)
            mode.append((pull > 0) - (pull < 0))
        h = STEP_S
        a = slope(y, mode, dry)
        b = slope([p + h / 2 * d for p, d in zip(y, a)], mode, dry)
        c = slope([p + h / 2 * d for p, d in zip(y, b)], mode, dry)
        d = slope([p + h * s for p, s in zip(y, c)], mode, dry)
        new = [p + h / 6 * (q + 2 * r + 2 * s + t) for p, q, r, s, t in zip(y, a, b, c, d)]
        for v in (1, 3, 5):
            if dry[v // 2] and mode[v // 2] and y[v] and new[v] * y[v] <= 0:
                new[v] = 0.0
        y = new
        peak = max(peak, y[0])
    return peak / DEGREE


print("elastic_peak_deg", *(f"{peak_deg(*c):.5f}" for c in columns()))
