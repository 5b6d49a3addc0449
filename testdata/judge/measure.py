"""The measures, each from its definition in words. Instants and spans are seconds, angles
rad; NEVER is a member that did not come before the end of the record.

A reading is (value, resolution): how far the value may be off because this judge has seen
samples where the bench saw every plant step.
"""

import math

import numpy as np

NEVER = math.inf
EXACT = 0.0

DEFINITIONS = {
    "stop_time": "from the cause, less the supervision time, to the instant from which the "
                 "motors stay below the standstill rate for the hold time",
    "stop_travel": "greatest excursion of the load from where it was at the cause, less the "
                   "supervision time, until the end of the hold time",
    "torque_gone": "from the cause, less the supervision time, to the last torque of the axis, "
                   "or of any axis",
    "partner_off": "from the trip to the end of the partner's torque",
    "brake_time": "to the last brake set: from the cause for category 0, from standstill or the "
                  "end of the monitored ramp, whichever is first, for category 1",
    "removed_by": "what opened first of the enable chain, supply and drive state, when the "
                  "first motor of the axis lost its torque",
}


class Stop:
    """One cause on one axis (none: every axis) of one record."""

    def __init__(self, record, station, cause, axis, struck, until, measure):
        self.record, self.station, self.axis = record, station, axis
        self.cause, self.struck, self.until = cause, struck, until
        self.row = station.causes[cause]
        self.category = int(self.row.get("category", 1))
        self.origin, self.blur = self.counted_from(measure)

    def counted_from(self, measure):
        begun, blur = self.struck, EXACT
        rule = self.row.get("counted_from")
        if rule == "first_motion":
            begun = self.first_motion()
        if rule == "overspeed_rate":
            begun, blur = self.first_overspeed()
        return begun + self.station.supervision(self.cause, measure), blur

    def first_motion(self):
        """An axis that rests when its feedback fails can show it only once it moves."""
        channel = f"{self.axis}.standstill"
        if not self.record.level(channel, self.struck):
            return self.struck
        moved = self.record.changes(channel, 0, self.struck)
        return moved[0] if moved else NEVER

    def first_overspeed(self):
        rate = self.station.overspeed_rate(self.axis)
        r, found = self.record, (NEVER, EXACT)
        for motor in r.motors(self.axis):
            after = np.flatnonzero((r.t > self.struck) & (r.greatest_rate(motor) > rate))
            if len(after):
                i = after[0]
                ends = np.abs(r.samples[f"{motor}.rate_rad_per_s"][i - 1:i + 1])
                part = np.clip((rate - ends[0]) / (ends[1] - ends[0] or 1), 0, 1)
                found = min(found, (r.t[i - 1] + part * (r.t[i] - r.t[i - 1]), 0.002))
        return found


def standstill(stop, since):
    """The instant from which the motors stand; it lies before, where they stand already."""
    channel = f"{stop.axis}.standstill"
    if stop.record.level(channel, since):
        return stop.record.changes(channel, 1, 0, since)[-1]
    came = stop.record.changes(channel, 1, since)
    return came[0] if came else NEVER


def stop_time(stop):
    return standstill(stop, stop.origin) - stop.origin, stop.blur


def stop_travel(stop):
    return excursion(stop, stop.origin, held(stop)), 1e-6


def held(stop):
    """The end of the hold time; nothing of a travel is left to measure after it."""
    hold = stop.station.figure("standstill.hold")
    return min(standstill(stop, stop.origin) + hold, stop.record.end)


def travel_until_settled(stop):
    """The same, until the load rests too."""
    until = max(load_at_rest(stop) + stop.station.figure("standstill.hold"), held(stop))
    return excursion(stop, stop.origin, min(until, stop.record.end)), 1e-6


def load_at_rest(stop):
    """To one interval between samples."""
    r = stop.record
    slow = r.greatest_rate(stop.axis) < stop.station.figure("standstill.rate")
    width = round(stop.station.figure("standstill.hold") / (r.t[1] - r.t[0]))
    for i in range(len(slow) - width):
        if r.t[i] >= stop.struck and slow[i + 1:i + 1 + width].all():
            return float(r.t[i])
    return NEVER


def excursion(stop, since, until):
    """From whole intervals by their extremes, from the two broken ones along the curve."""
    if until <= since:
        return 0.0
    r, s = stop.record, stop.record.samples
    path = r.position(stop.axis)
    home = float(path(since))
    whole = (r.t[:-1] >= since) & (r.t[1:] <= until)
    places = [s[f"{stop.axis}.position_min_rad"][1:][whole],
              s[f"{stop.axis}.position_max_rad"][1:][whole],
              path(broken(r.t, since, until))]
    return float(np.max(np.abs(np.concatenate(places) - home)))


def broken(t, since, until):
    first = t[np.searchsorted(t, since)]
    last = t[max(np.searchsorted(t, until, side="right") - 1, 0)]
    return np.concatenate([np.linspace(since, min(first, until), 41),
                           np.linspace(max(last, since), until, 41)])


def torque_gone(stop, motors=None):
    motors = motors or stop.record.motors(stop.axis)
    return max(last_torque(stop, m) for m in motors) - stop.origin, stop.blur


def last_torque(stop, motor):
    """The end of its last torque in this leg; a motor that had none is not counted."""
    r, channel = stop.record, f"{motor}.torque_on"
    until = min(stop.until, r.end)
    if r.level(channel, until):
        return NEVER
    falls = r.changes(channel, 0, stop.struck, until)
    return falls[-1] if falls else -NEVER


def partner_off(stop, item):
    partners = [m for m in stop.record.motors(item.split(".")[0]) if m != item]
    return torque_gone(stop, partners)


def brake_time(stop, item):
    braked = [m for m in stop.record.motors(stop.axis) if f"{m}.brake_set" in stop.record.levels]
    origin = brake_origin(stop, item)
    return max(brake_set(stop, m) for m in braked) - origin, stop.blur


def brake_origin(stop, item):
    ramp_ends = stop.origin + stop.station.figure("interlock.ss1_time")
    if item == "end_of_ss1":
        return ramp_ends
    if stop.category == 0:
        return stop.origin
    return min(standstill(stop, stop.origin), ramp_ends)


def brake_set(stop, motor):
    """Its first closing; what it does later is another matter, of other requirements."""
    r, channel = stop.record, f"{motor}.brake_set"
    if r.level(channel, stop.origin):
        return stop.origin
    came = r.changes(channel, 1, stop.origin, stop.until)
    return came[0] if came else NEVER


FAULT_STATES = (6, 7)  # fault reaction active, fault: the states of IEC 61800-7-201 in order


def removed_by(stop):
    """What took the torque first, proved by contacts, supply and states alone."""
    r = stop.record
    falls = [(t, m) for m in r.motors(stop.axis)
             for t in r.changes(f"{m}.torque_on", 0, stop.struck, stop.until)[:1]]
    if not falls:
        return "nothing"
    at, motor = min(falls)
    if r.level(f"{motor}.sto", at):
        return opened_first(stop, motor, at)
    if r.level(f"{motor}.supply", at) < 1000:
        return "the supply, which was lost or dipped"
    if r.level(f"{motor}.drive_state", at) in FAULT_STATES:
        return "the drive's own fault reaction"
    return "the controller, through the drive's state"


def opened_first(stop, motor, at):
    """At the same step the outputs of the unit come last: they drop because the delayed contact
    opens."""
    r, axis = stop.record, motor.split(".")[0]
    ends = [r.changes(f"{axis}.final_limit.{end}", 1, 0, at) for end in ("lower", "upper")]
    paths = {"the final limit's own contact": ends[0] + ends[1],
             "the isolator of the axis": isolator(r, axis, at),
             "the safety relay's delayed contact": r.changes("relay.delayed", 0, 0, at),
             "the controller, through the interlock enable":
                 r.changes(f"interlock.enable.{axis}", 0, 0, at)}
    torque = r.changes(f"{motor}.torque_on", 1, 0, at)
    begun = torque[-1] if torque else 0
    opened = [(t, order, path) for order, (path, times) in enumerate(paths.items())
              for t in times if t >= begun]
    return min(opened)[2] if opened else "unknown"


def isolator(record, axis, at):
    """It has no channel; the record tells it by its mark alone."""
    return [m["at"] for m in record.marks if m["name"] == "isolator_opened"
            and m["kind"] == "cause" and m["axis"] in ("", axis) and m["at"] <= at]
