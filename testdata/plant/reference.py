#!/usr/bin/env python3
"""Writes the figures in testdata/plant/reference/, one file for each scenario.

The mechanics of a main axis once more, apart from the Go code: SciPy's
solve_ivp (Dormand-Prince, order 8) between events. Dry friction and brakes are
modes of each body (up, down, held), gear flanks are modes of each gear (away,
pressed, lifting), the ends of travel are zones. A mode ends where an event
function is zero. Nothing here has a fixed step.

Run as: /usr/bin/python3 testdata/plant/reference.py [--to FOLDER] [NAME ...]
Needs Debian's python3-scipy. Without names it writes all (about a minute).
"""

import json
import math
import os
import sys

import numpy as np
from scipy.integrate import solve_ivp

DEGREE = math.pi / 180
HERE = os.path.dirname(os.path.abspath(__file__))
LOAD, REFLECTOR = 0, 3  # bodies: load (or mount), two motors, reflector


def columns():
    rows = {}
    with open(os.path.join(HERE, "stations.txt"), encoding="ascii") as text:
        for line in text:
            cells = line.split()
            if cells and cells[0] != "#":
                rows[cells[0]] = cells[1:]
    out = {}
    for i, name in enumerate(rows.pop("column")):
        out[name] = {key: float(cells[i]) for key, cells in rows.items()}
    return out


class Axis:
    """One axis between events: parameters, modes, torques."""

    def __init__(self, get, more):
        load = get["load_inertia_t_m2"] * 1e3
        motor = get["motor_inertia_t_m2"] * 1e3
        self.inertia = np.array([load, motor, motor, 1.0])
        whole = load * (2 * math.pi * get["locked_rotor_hz"]) ** 2
        self.spring = whole / 2
        self.damping = get["gear_damping_ratio"] * math.sqrt(whole * load)
        self.play = get["gear_play_deg"] * DEGREE / 2
        self.coulomb = get["coulomb_kn_m"] * 1e3
        self.viscous = get["viscous_kn_m_s_per_rad"] * 1e3
        self.breakaway = more.get("breakaway_n_m", 0.0)
        self.stribeck = more.get("stribeck_deg_per_s", 1.0) * DEGREE
        self.gravity = more.get("gravity_n_m", 0.0)
        self.phase = more.get("gravity_phase_deg", 0.0) * DEGREE
        self.brake = [get["brake_kn_m"] * 1e3 * s for s in more.get("brake_scale", [1, 1])]
        self.engage, self.release = get["brake_engage_s"], get["brake_release_s"]
        self.held = 0.0  # spring between mount and reflector
        if "mount_share" in more:
            share = more["mount_share"]
            self.inertia[LOAD], self.inertia[REFLECTOR] = share * load, (1 - share) * load
            omega = 2 * math.pi * more["reflector_hz"]
            self.held = self.inertia[REFLECTOR] * omega**2
            self.held_damping = 2 * more["reflector_damping"] * self.inertia[REFLECTOR] * omega
        # The ends: a buffer, and behind it structure at 60 Hz with the load.
        touch = get["buffer_beyond_deg"] * DEGREE
        self.touch = [get["software_lower_deg"] * DEGREE - touch,
                      get["software_upper_deg"] * DEGREE + touch]
        self.stroke = get["buffer_stroke_deg"] * DEGREE
        self.buffer = 2 * get["buffer_needed_j"] / self.stroke**2
        self.structure = load * (2 * math.pi * 60) ** 2
        self.motor, self.external, self.grip = [0.0, 0.0], 0.0, [0.0, 0.0]
        self.way, self.flank, self.lifting, self.zone = [0, 0, 0], [0, 0], [False, False], 0

    def through(self, y, i):
        """What the flank in contact would give, pressed."""
        twist, slip = y[2 + 2 * i] - y[0], y[3 + 2 * i] - y[1]
        return self.spring * (twist - self.flank[i] * self.play) + self.damping * slip

    def gear(self, y, i):
        return self.through(y, i) if self.flank[i] and not self.lifting[i] else 0.0

    def ends(self, x):
        """Elastic torque of the ends and the dry one against going outward."""
        if self.zone == 0:
            return 0.0, 0.0
        upper = self.zone > 0
        depth = x - self.touch[1] if upper else self.touch[0] - x
        buffer = self.buffer * (min(depth, self.stroke) if abs(self.zone) > 1 else depth)
        structure = self.structure * (depth - self.stroke) if abs(self.zone) > 1 else 0.0
        back = 0.2 * buffer + 0.1 * structure
        return (-back if upper else back), buffer + structure - back

    def dry(self, y, body, way):
        """Dry resistance of a body against a way."""
        if body != LOAD:
            return self.grip[body - 1]
        resist = self.coulomb
        if self.breakaway:
            resist += self.breakaway / (1 + (y[1] / self.stribeck) ** 2)
        return resist + (self.ends(y[0])[1] if way * self.zone > 0 else 0.0)

    def applied(self, y, body):
        """All torques on a body but the dry ones."""
        if body == REFLECTOR:
            twist, slip = y[0] - y[6], y[1] - y[7]
            return self.sky(y[6]) + self.held * twist + self.held_damping * slip
        if body != LOAD:
            return self.motor[body - 1] - self.gear(y, body - 1)
        torque = self.gear(y, 0) + self.gear(y, 1) - self.viscous * y[1] + self.ends(y[0])[0]
        if self.held:
            return torque - self.held * (y[0] - y[6]) - self.held_damping * (y[1] - y[7])
        return torque + self.sky(y[0])

    def sky(self, x):
        return self.external + self.gravity * math.cos(x + self.phase)

    def slope(self, _, y):
        out = np.zeros(8)
        for body in range(4 if self.held else 3):
            way = 1 if body == REFLECTOR else self.way[body]
            if way == 0 and self.dry(y, body, 1):
                continue
            resist = way * self.dry(y, body, way) if body != REFLECTOR else 0.0
            out[2 * body] = y[2 * body + 1]
            out[2 * body + 1] = (self.applied(y, body) - resist) / self.inertia[body]
        return out

    def settle(self, y, body):
        """The way of a body that stands."""
        push = self.applied(y, body)
        up, down = push > self.dry(y, body, 1), push < -self.dry(y, body, -1)
        self.way[body] = int(up) - int(down)

    def look(self, y):
        """Modes anew, where inputs have jumped."""
        for body in range(3):
            if self.dry(y, body, 1) == 0 or y[2 * body + 1]:
                self.way[body] = int(np.sign(y[2 * body + 1]))
            else:
                self.settle(y, body)

    def tidy(self, y):
        """Takes along what came at the same instant as an event."""
        for body in range(3):
            at, way = 2 * body + 1, self.way[body]
            if self.dry(y, body, 1) == 0:
                continue
            if way * y[at] < 0:
                y[at] = 0.0
            if y[at] == 0 and not way * self.applied(y, body) > 0:
                self.settle(y, body)
        for i in range(2):
            twist, slip, side = y[2 + 2 * i] - y[0], y[3 + 2 * i] - y[1], self.flank[i]
            if side == 0 and abs(twist) > self.play - 1e-14 and twist * slip > 0:
                self.flank[i], self.lifting[i] = int(np.sign(twist)), False
            elif side and self.lifting[i] and side * twist < self.play:
                self.flank[i], self.lifting[i] = 0, False
            elif side and side * self.through(y, i) < 0:
                self.lifting[i] = True

    def events(self):
        """(function, direction, what then) for the modes as they are."""
        out = []

        def add(function, direction, then):
            event = lambda _, y: function(y)
            event.terminal, event.direction = True, direction
            out.append((event, then))

        for body in range(3):
            if body != LOAD and self.grip[body - 1] == 0:
                continue
            at, way = 2 * body + 1, self.way[body]
            if way:
                def stand(y, body=body):
                    y[2 * body + 1] = 0.0
                    self.settle(y, body)
                add(lambda y, at=at: y[at], -way, stand)
                continue
            for to in (1, -1):
                def leave(y, body=body, to=to):
                    self.way[body] = to
                add(lambda y, b=body, to=to: to * self.applied(y, b) - self.dry(y, b, to),
                    1, leave)
        for i in range(2):
            self.flank_events(add, i)
        self.zone_events(add)
        return out

    def flank_events(self, add, i):
        def to(flank, lifting):
            def then(_):
                self.flank[i], self.lifting[i] = flank, lifting
            return then

        at, side = 2 + 2 * i, self.flank[i]
        if side == 0:
            for s in (1, -1):
                add(lambda y, s=s: s * (y[at] - y[0]) - self.play, 1, to(s, False))
        elif self.lifting[i]:
            add(lambda y: side * (y[at] - y[0]) - self.play, -1, to(0, False))
            add(lambda y: side * self.through(y, i), 1, to(side, False))
        else:
            add(lambda y: side * self.through(y, i), -1, to(side, True))

    def zone_events(self, add):
        def to(zone):
            def then(_):
                self.zone = zone
            return then

        if self.zone == 0:
            add(lambda y: y[0] - self.touch[1], 1, to(1))
            add(lambda y: y[0] - self.touch[0], -1, to(-1))
            return
        side = int(np.sign(self.zone))
        depth = lambda y: side * (y[0] - self.touch[side > 0])
        if abs(self.zone) == 1:
            add(depth, -1, to(0))
            add(lambda y: depth(y) - self.stroke, 1, to(2 * side))
        else:
            add(lambda y: depth(y) - self.stroke, -1, to(side))

    def stands(self):
        return not self.held and all(w == 0 for w in self.way) and all(self.grip)

    def run(self, y, begin, end, at, rows):
        """Integrates to end, writing a row at each sample instant."""
        self.look(y)
        while begin < end:
            if self.stands():
                rows += [(t, y.copy()) for t in at if begin <= t < end]
                return y
            events = self.events()
            solved = solve_ivp(self.slope, (begin, end), y, method="DOP853", rtol=1e-9,
                               atol=1e-13, max_step=2e-3, dense_output=True,
                               events=[event for event, _ in events])
            last = solved.t[-1]
            rows += [(t, solved.sol(t)) for t in at if begin <= t < last]
            y, begin = solved.y[:, -1].copy(), last
            if solved.status != 1:
                return y
            for (_, then), when in zip(events, solved.t_events):
                if len(when):
                    then(y)
            self.tidy(y)
        return y


def simulate(scenario, get):
    axis = Axis(get, scenario.get("more", {}))
    start = scenario["start"]
    y = np.zeros(8)
    y[0::2] = start["load_deg"] * DEGREE
    y[1::2] = start["rate_deg_per_s"] * DEGREE
    y[6:] = y[:2] if axis.held else 0.0
    for i in range(2):
        y[2 + 2 * i] += start["twist_deg"][i] * DEGREE
        twist = y[2 + 2 * i] - y[0]
        axis.flank[i] = int(np.sign(twist)) if abs(twist) > axis.play else 0
    changes = {0.0, scenario["lasts_s"]}
    grips = [[(-1.0, not start["coil"])] for _ in range(2)]
    coils = [start["coil"], start["coil"]]
    for row in scenario["inputs"]:
        changes.add(row["at_s"])
        for i in range(2):
            if row["coil"][i] != coils[i]:
                coils[i] = row["coil"][i]
                when = row["at_s"] + (axis.release if coils[i] else axis.engage)
                grips[i].append((when, not coils[i]))
                changes.add(when)
    every = scenario["every_s"]
    at = [k * every for k in range(round(scenario["lasts_s"] / every) + 1)]
    rows, times = [], sorted(changes)
    for begin, end in zip(times, times[1:]):
        for row in scenario["inputs"]:
            if row["at_s"] <= begin + 1e-12:
                axis.motor, axis.external = row["motor_n_m"], row["external_n_m"]
        for i in range(2):
            holds = [held for when, held in grips[i] if when <= begin + 1e-12][-1]
            axis.grip[i] = axis.brake[i] if holds else 0.0
        y = axis.run(y, begin, end, at, rows)
    rows.append((times[-1], y))
    out = []
    for t, y in rows:
        seen = [y[0], y[2], y[4]] + ([y[6]] if axis.held else [])
        out.append([round(t, 6)] + [round(x / DEGREE, 8) for x in seen])
    return out


def push(at, one, two, external=0.0, coil=(True, True)):
    return {"at_s": at, "motor_n_m": [one, two], "external_n_m": external, "coil": list(coil)}


def wind_nm(get, wind, name):
    """Torque at the worst attitude, by search."""
    first, second = {"az": (0.0463, 0.0858), "el": (0.0386, 0.0715)}[name[-2:]]
    x = np.linspace(0, math.pi, 200001)
    worst = np.abs(first * np.sin(x) - second * np.sin(2 * x)).max()
    return float(worst * 0.5 * 1.225 * wind**2 * math.pi / 4 * get["dish_m"] ** 3)


def rest(at=0.0, coil=True):
    return {"load_deg": at, "rate_deg_per_s": 0.0, "twist_deg": [0.0, 0.0], "coil": coil}


def turning(get, at, way, external):
    """Full rate with both gears wound against each other by the bias."""
    rate = way * get["full_rate_deg_per_s"]
    spring = get["load_inertia_t_m2"] * 1e3 * (2 * math.pi * get["locked_rotor_hz"]) ** 2 / 2
    resist = way * get["coulomb_kn_m"] * 1e3 + get["viscous_kn_m_s_per_rad"] * 1e3 * rate * DEGREE
    each, bias, twist = (resist - external) / 2, get["torque_bias_kn_m"] * 1e3, []
    for torque in (each + bias, each - bias):
        wound = torque / spring / DEGREE
        twist.append(wound + math.copysign(get["gear_play_deg"] / 2, torque))
    start = {"load_deg": at, "rate_deg_per_s": rate, "twist_deg": twist, "coil": True}
    return start, each + bias, each - bias


def slew(get, more=None, start=0.0, external=0.0):
    """Wind the gears, to full rate, along, down, stand, brakes."""
    bias = get["torque_bias_kn_m"] * 1e3
    inertia = (get["load_inertia_t_m2"] + 2 * get["motor_inertia_t_m2"]) * 1e3
    dry = get["coulomb_kn_m"] * 1e3
    rate = get["full_rate_deg_per_s"] * DEGREE
    viscous = get["viscous_kn_m_s_per_rad"] * 1e3
    takes = 1.6
    needs = inertia * rate / takes
    inputs = [push(0, bias, -bias, external)]
    for at, total in ((0.5, dry + viscous * rate / 2 + needs), (0.5 + takes, dry + viscous * rate),
                      (4.0, dry + viscous * rate / 2 - needs), (4.0 + takes, 0.0)):
        inputs.append(push(at, total / 2 + bias, total / 2 - bias, external))
    inputs.append(push(6.5, 0, 0, external, (False, False)))
    return {"start": rest(start), "more": more or {}, "lasts_s": 7.5, "every_s": 0.02,
            "inputs": inputs}


def reversal(get, share, ways):
    """To and fro; more torque than twice the bias takes a motor through its play."""
    bias = share * get["torque_bias_kn_m"] * 1e3
    total = 2.2 * get["torque_bias_kn_m"] * 1e3 if share else 2.2 * get["coulomb_kn_m"] * 1e3
    inputs = [push(0, bias, -bias)]
    for k, way in enumerate(ways):
        inputs.append(push(round(0.5 + k * 0.3, 3), way * total / 2 + bias, way * total / 2 - bias))
    end = round(0.5 + len(ways) * 0.3, 3)
    inputs.append(push(end, 0, 0, 0, (False, False)))
    return {"start": rest(40.0), "lasts_s": round(end + 1.0, 3), "every_s": 0.01, "inputs": inputs}


def brake_drop(get, name, at, way, more=None):
    """Torque gone at full rate, coils 20 ms later, wind and unbalance assisting."""
    sky = way * (wind_nm(get, 20, name) + get["unbalance_kn_m"] * 1e3)
    start, one, two = turning(get, at, way, sky)
    inputs = [push(0, one, two, sky), push(0.1, 0, 0, sky),
              push(0.12, 0, 0, sky, (False, False))]
    return {"start": start, "more": more or {}, "lasts_s": 2.5, "every_s": 0.005,
            "inputs": inputs}


def limit_hit(get, name, way, share):
    """Driven on into the buffer, then let go, then held by brakes."""
    sky = way * share * wind_nm(get, 20, name)
    end = "upper" if way > 0 else "lower"
    touch = get[f"software_{end}_deg"] + way * get["buffer_beyond_deg"]
    start, one, two = turning(get, touch - way * 0.3, way, sky)
    more = way * share * get["peak_torque_kn_m"] * 1e3
    inputs = [push(0, one, two, sky), push(0.1, one + more, two + more, sky),
              push(0.6, 0, 0, sky), push(0.62, 0, 0, sky, (False, False)),
              push(1.5, 0, 0, 0, (False, False))]
    return {"start": start, "lasts_s": 2.5, "every_s": 0.005, "inputs": inputs}


def held(get):
    """Both brakes under 80 % of their torque for a minute, loaded in eight parts."""
    sky = 0.8 * 2 * get["brake_kn_m"] * 1e3
    inputs = [push(k * 0.75, 0, 0, k / 8 * sky, (False, False)) for k in range(9)]
    return {"start": rest(10.0, False), "lasts_s": 66.0, "every_s": 0.1, "inputs": inputs}


def wind_step(get, name, coil):
    """A gust that comes, doubles, turns round and goes."""
    bias = get["torque_bias_kn_m"] * 1e3 * coil
    sky = wind_nm(get, 14, name)
    inputs = [push(at, bias, -bias, share * sky, (coil, coil))
              for at, share in ((0, 0), (0.5, 1), (1.5, 2), (2.5, -1), (3.5, 0))]
    return {"start": rest(20.0, coil), "lasts_s": 5.0, "every_s": 0.01, "inputs": inputs}


def scenarios(sheet):
    weak = {"brake_scale": [0.35, 1.0]}
    reflector = {"mount_share": 0.35, "reflector_hz": 7.0, "reflector_damping": 0.01}
    soft = {"mount_share": 0.4, "reflector_hz": 3.0, "reflector_damping": 0.01}
    # A fifth more friction at rest, gone a tenth of full rate up.
    sticky = {"breakaway_n_m": 20e3, "stribeck_deg_per_s": 0.05}
    top = {"gravity_n_m": 1800.0, "gravity_phase_deg": 0.0}
    d, e = sheet["demo.az"], sheet["demo.el"]
    s, g = sheet["small.el"], sheet["large.az"]
    return {
        "slew": ("demo.az", slew(d)),
        "slew_sticky": ("large.az", slew(g, sticky)),
        "reversal": ("demo.el", reversal(e, 1.0, (1, -1, -1))),
        "reversal_five": ("demo.el", reversal(e, 1.0, (1, -1, -1, 1, 0))),
        "reversal_unbiased": ("demo.el", reversal(e, 0.0, (1, -1, -1, 1, 0))),
        "brake_drop_small": ("small.az", brake_drop(sheet["small.az"], "small.az", 0, 1)),
        "brake_drop": ("demo.el", brake_drop(e, "demo.el", 40, -1)),
        "brake_drop_unequal": ("large.el", brake_drop(sheet["large.el"], "large.el", 40, 1, weak)),
        "limit_hit": ("demo.az", limit_hit(d, "demo.az", 1, 0.2)),
        "limit_hit_lower": ("large.el", limit_hit(sheet["large.el"], "large.el", -1, 0.1)),
        "held_brake": ("demo.el", held(e)),
        "wind_step": ("demo.az", wind_step(d, "demo.az", False)),
        "wind_step_moving": ("large.el", wind_step(sheet["large.el"], "large.el", True)),
        "reflector": ("demo.az", slew(d, reflector)),
        "reflector_brake_drop": ("large.az", brake_drop(g, "large.az", 0, 1, soft)),
        "over_the_top": ("small.el", slew(s, top, 86.0)),
    }


def main(arguments):
    folder = os.path.join(HERE, "reference")
    if arguments[:1] == ["--to"]:
        folder, arguments = arguments[1], arguments[2:]
    os.makedirs(folder, exist_ok=True)
    sheet = columns()
    for name, (column, scenario) in scenarios(sheet).items():
        if arguments and name not in arguments:
            continue
        rows = simulate(scenario, sheet[column])
        head = json.dumps({"name": name, "column": column, **scenario}, indent=1)
        body = ",\n  ".join(json.dumps(row) for row in rows)
        with open(os.path.join(folder, name + ".json"), "w", encoding="ascii") as out:
            out.write(head[:-2] + ',\n "rows": [\n  ' + body + "\n ]\n}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
