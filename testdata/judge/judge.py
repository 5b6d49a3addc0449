"""Judges a run folder anew, from its records and the definitions in words alone.

    python3 judge.py [--exact] RUN...

Prints a line for each disagreement and a count by measure; exit code 1 on any.
"""

import argparse
import collections
import json
import math
import pathlib
import sys

import numpy as np

import measure
from fixture import Station
from record import read_all

WATCHED = ("torque_gone", "partner_off")


def main():
    args = argparse.ArgumentParser(description=__doc__)
    args.add_argument("--exact", action="store_true",
                      help="hold values to the timing uncertainty, leaving out the model's")
    args.add_argument("run", nargs="+", type=pathlib.Path)
    args = args.parse_args()
    tally = Tally(args.exact)
    for run in args.run:
        judge_run(run.resolve(), tally)
    tally.report()
    sys.exit(1 if tally.wrong else 0)


class Tally:
    def __init__(self, exact):
        self.exact, self.wrong = exact, 0
        self.counts = collections.defaultdict(collections.Counter)

    def compare(self, name, where, told, found, allowed):
        """Both are spans, angles, or words; NEVER must be told as such."""
        same = told == found
        if isinstance(told, float) and math.isfinite(told) and math.isfinite(found):
            same = abs(told - found) <= allowed + 1e-9
        self.note(name, same)
        if not same:
            meant = measure.DEFINITIONS.get(name, MEANINGS.get(name, ""))
            print(f"{name}: {where}: told {told}, found {found}, within {allowed:.6g}: {meant}")

    def note(self, name, same):
        self.counts[name]["agree" if same else "disagree"] += 1
        self.wrong += not same

    def skip(self, name, why):
        self.counts[name][f"not judged, {why}"] += 1

    def report(self):
        for name in sorted(self.counts):
            told = ", ".join(f"{n} {what}" for what, n in sorted(self.counts[name].items()))
            print(f"{name:28} {told}")


MEANINGS = {
    "never": "a member that never came makes the whole never",
    "expanded": "U = 2 sqrt(timing^2 + model^2)",
    "timing": "two stamps, each rectangular over one plant step",
    "spread": "over the phases; the phase interval is minimum to maximum, widened by the largest "
              "change between neighbouring phases",
    "requirement": "summary.json tells each requirement at its worst, README",
    "worst": "a worst value is that of its named phase",
    "summary": "summary.json tells what case.json tells",
    "standstill_edge": "motors below the standstill rate for the hold time, by their extremes",
    "torque_edge": "no torque of a motor while torque_on is 0, by its extremes",
    "stop.standstill": "from the cause to standstill of the motors",
    "stop.torque_off": "from the cause to the last torque of the axis",
    "stop.brake_set": "from the cause to the last brake of the axis",
    "stop.load_at_rest": "from the cause until the load stays below the standstill rate for the "
                         "hold time",
    "stop.travel": "as stop_travel, whether a sentence asked for it or not",
    "window": "a travel of which nothing is left to measure is no value",
    "settled": "the window of a travel ends when the load has settled",
    "leg": "a Then is measured from its own leg, the last cause of that name",
}


def judge_run(run, tally):
    summary = json.loads((run / "summary.json").read_text())
    station = Station(run, pathlib.Path(summary["station"]).stem)
    told = {s["number"]: s for s in summary["scenarios"]}
    cases, folders = {}, []
    for path in sorted(run.glob("scenarios/*/case.json")):
        case = json.loads(path.read_text())
        cases[path.parent] = case
        tally.compare("summary", path, told[case["number"]]["measurements"] == case["measurements"],
                      True, 0)
        check_figures(case, path, summary, tally)
        folders += sorted(p for p in path.parent.glob("phase-*") if (p / "edges.parquet").exists())
    check_requirements(run, summary, cases.values(), tally)
    for folder, record in read_all(folders):
        judge_record(Judged(record, station, cases[folder.parent], folder, summary), tally)


def check_requirements(run, summary, cases, tally):
    """Each at its worst: the least margin that any case tells of it."""
    margins = collections.defaultdict(list)
    for case in cases:
        for outcome in outcomes(case):
            if outcome["measured"]:
                margins[outcome["requirement"]].append(outcome["margin"])
    for requirement in summary["requirements"]:
        if told := requirement.get("worst"):
            tally.compare("requirement", f"{run} {requirement['id']}", float(told["margin"]),
                          float(min(margins[requirement["id"]], default=math.nan)), 0)


def outcomes(case):
    return case["measurements"] + case["watches"]


def check_figures(case, path, summary, tally):
    """What case.json tells of a worst value must follow from what else it tells."""
    for of, outcome in enumerate(outcomes(case)):
        u = outcome["uncertainty"]
        if not outcome["measured"]:
            continue
        where = f"{path} {outcome['requirement']}"
        tally.compare("expanded", where, u["expanded"], 2 * math.hypot(u["timing"], u["model"]), 0)
        if outcome["dimension"] == "span" and u["timing"]:
            step = summary["plant_step_s"]
            tally.compare("timing", where, u["timing"], math.sqrt(2 * step**2 / 12), 0)
        check_spread(case, of, outcome["spread"], where, tally)
        worst = case["phases"][outcome["spread"]["worst_phase"]]
        figure = [f["value"] for f in worst["figures"] if f["of"] == of]
        tally.compare("worst", where, float(outcome["value"]),
                      float(figure[0]) if figure else math.nan, 0)


def check_spread(case, of, spread, where, tally):
    """Neighbouring phases lie beside each other within the control cycle."""
    phases = sorted(case["phases"], key=lambda p: p["shift_s"])
    values = [f["value"] for p in phases for f in p["figures"] if f["of"] == of]
    if not values:
        return
    widest = max((abs(a - b) for a, b in zip(values, values[1:])), default=0)
    found = {"minimum": min(values), "maximum": max(values), "mean": sum(values) / len(values),
             "interval_from": min(values) - widest, "interval_until": max(values) + widest}
    for name, value in found.items():
        tally.compare("spread", f"{where} {name}", float(spread[name]), float(value), 0)


class Judged:
    """One kept record beside what its case tells of it."""

    def __init__(self, record, station, case, folder, summary):
        self.record, self.station, self.case, self.folder = record, station, case, folder
        self.step = summary["plant_step_s"]
        self.number = int(folder.name.removeprefix("phase-"))
        self.phase = next(p for p in case["phases"] if p["number"] == self.number)

    def value(self, of):
        return next((f["value"] for f in self.phase["figures"] if f["of"] == of), None)

    def allowed(self, outcome, exact):
        u = outcome["uncertainty"]
        return 2 * u["timing"] if exact else u["expanded"]


def judge_record(judged, tally):
    check_standstill(judged, tally)
    check_torque(judged, tally)
    asked = len(judged.case["measurements"])
    for of, outcome in enumerate(outcomes(judged.case)):
        told = judged.value(of)
        if told is None or not outcome["measured"]:
            continue
        if of < asked and outcome["quantity"] in MEASURES:
            judge_ask(judged, outcome, float(told), tally)
        if of >= asked and outcome["quantity"] in WATCHED:
            judge_watch(judged, outcome, float(told), tally)
    for told in judged.case.get("stops", []):
        if judged.phase is phase_of(judged.case, told):
            judge_stop(judged, told, tally)


def phase_of(case, stop):
    """A stop does not name its phase; it is that of the first value with the same instants."""
    worst = next((m["spread"]["worst_phase"] for m in case["measurements"]
                  if m.get("parts") == stop["parts"] and m.get("axis") == stop["axis"]),
                 case["worst_phase"])
    return case["phases"][worst]


MEASURES = {
    "stop_time": lambda stop, item: measure.stop_time(stop),
    "stop_travel": lambda stop, item: measure.stop_travel(stop),
    "torque_gone": lambda stop, item: measure.torque_gone(stop),
    "partner_off": measure.partner_off,
    "brake_time": measure.brake_time,
}


def judge_ask(judged, outcome, told, tally):
    name = outcome["quantity"]
    ask = next(a for a in judged.record.asks if a["requirement"] == outcome["requirement"]
               and a["text"] == outcome["sentence"] and a["axis"] == outcome.get("axis", ""))
    struck = last_cause(judged.record, ask["cause"], ask["axis"], ask["at"])
    tally.compare("leg", place(judged, outcome), ask["from"], struck, 1e-9)
    stop = measure.Stop(judged.record, judged.station, ask["cause"], ask["axis"], struck,
                        leg_end(judged.record, ask["at"]), name)
    found, blur = MEASURES[name](stop, outcome.get("item", ""))
    if name == "stop_travel":
        check_window(judged, outcome, found, stop, tally)
    hold_against(judged, outcome, told, found, blur, stop, tally)


def check_window(judged, outcome, held, stop, tally):
    """Whether it matters that the window ends with the hold time."""
    where, allowed = place(judged, outcome), judged.allowed(outcome, tally.exact)
    tally.compare("window", where, measure.held(stop) > stop.origin, True, 0)
    settled, blur = measure.travel_until_settled(stop)
    tally.compare("settled", where, held, settled, allowed + blur)


def hold_against(judged, outcome, told, found, blur, stop, tally):
    name, where = outcome["quantity"], place(judged, outcome)
    if found == measure.NEVER:
        tally.compare("never", f"{where} {name}", never_is_told(outcome), True, 0)
        found = judged.record.end - stop.origin  # how long it was waited for
        blur = 0.011  # the record may end between two samples
    tally.compare(name, where, told, found, judged.allowed(outcome, tally.exact) + blur)


def never_is_told(outcome):
    return bool(outcome.get("open") or "never" in outcome.get("reason", ""))


def last_cause(record, name, axis, until):
    marks = [m["at"] for m in record.marks if m["kind"] == "cause" and m["name"] == name
             and m["at"] <= until + 1e-9 and (not axis or m["axis"] in ("", axis))]
    return marks[-1] if marks else math.nan


def leg_end(record, asked):
    """The next command or release; what it brings about belongs to another leg."""
    return next((m["at"] for m in record.marks if m["kind"] in ("command", "release")
                 and m["at"] > asked), math.inf)


def place(judged, outcome):
    axis = outcome.get("axis") or "every axis"
    return f"{judged.folder} {outcome['requirement']} {outcome.get('cause', '')} {axis}"


def judge_watch(judged, outcome, told, tally):
    """A watch holds at every occasion; its value is that of the worst one."""
    causes = [c for c, row in judged.station.causes.items()
              if judged.station.causes[c].get("torque", {}).get("id") == outcome["requirement"]]
    name = outcome["quantity"]
    found = [(torque_at(judged, name, m), m) for m in judged.record.marks
             if m["kind"] == "cause" and m["name"] in causes]
    if not found:
        tally.compare(name + ", watch", place(judged, outcome), told, math.nan, 0)
        return
    (value, blur, stop), _ = max(found, key=lambda f: f[0][0])
    watch = dict(outcome, quantity=name)
    if value == measure.NEVER:
        tally.compare("never", f"{place(judged, outcome)} {name}, watch", never_is_told(watch),
                      True, 0)
        value, blur = judged.record.end - stop.origin, 0.011
    tally.compare(name + ", watch", place(judged, outcome), told, value,
                  judged.allowed(outcome, tally.exact) + blur)


def torque_at(judged, name, mark):
    """(value, resolution, stop) at one occasion."""
    row = judged.station.causes[mark["name"]]
    axis = "" if row.get("every_axis") == "true" else mark["axis"].split(".")[0]
    stop = measure.Stop(judged.record, judged.station, mark["name"], axis, mark["at"],
                        leg_end(judged.record, mark["at"]), "torque_gone")
    if name == "partner_off":
        return *measure.partner_off(stop, mark["text"] or mark["axis"]), stop
    return *measure.torque_gone(stop), stop


def judge_stop(judged, told, tally):
    """The table of stops: its instants count from the cause itself."""
    r, where = judged.record, f"{judged.folder} {told['cause']} {told['axis']}"
    asked = [a["at"] for a in r.asks if a["cause"] == told["cause"]]
    struck = last_cause(r, told["cause"], told["axis"], max(asked, default=math.inf))
    stop = measure.Stop(r, judged.station, told["cause"], told["axis"], struck, math.inf,
                        "torque_gone")
    tally.compare("removed_by", where, told["torque_removed_by"], measure.removed_by(stop), 0)
    stop.origin = struck
    tolerance = 2 * math.sqrt(2 * judged.step**2 / 12)
    for part, found in parts(stop).items():
        if part + "_s" in told["parts"]:
            slack = 0.01 if part == "load_at_rest" else tolerance
            tally.compare("stop." + part, where, float(told["parts"][part + "_s"]), found, slack)
        else:
            tally.compare("stop." + part, where, measure.NEVER, found, 0)
    travel, blur = measure.stop_travel(measure.Stop(r, judged.station, told["cause"], told["axis"],
                                                    struck, math.inf, "stop_travel"))
    tally.compare("stop.travel", where, float(told["travel_rad"]), travel, 1e-4 + blur)


def parts(stop):
    braked = [m for m in stop.record.motors(stop.axis) if f"{m}.brake_set" in stop.record.levels]
    return {
        "standstill": measure.standstill(stop, stop.struck) - stop.struck,
        "load_at_rest": measure.load_at_rest(stop) - stop.struck,
        "brake_set": max([measure.brake_set(stop, m) for m in braked],
                         default=measure.NEVER) - stop.struck,
        "torque_off": measure.torque_gone(stop)[0],
    }


def check_standstill(judged, tally):
    """The edges of standstill against the extremes of the motors' rates between samples."""
    r, rate = judged.record, judged.station.figure("standstill.rate")
    held = judged.station.figure("standstill.hold")
    for axis in r.axes():
        fastest = np.max([r.greatest_rate(m) for m in r.motors(axis)], axis=0)
        where = f"{judged.folder} {axis}"
        for at in r.changes(f"{axis}.standstill", 1, 1e-6):
            inside = (r.t[:-1] >= at) & (r.t[1:] <= at + held)
            quiet = bool((fastest[1:][inside] < rate).all())
            before = (r.t[1:] >= at - 1e-9) & (r.t[:-1] <= at + 1e-9)
            came = bool((fastest[1:][before] >= rate).any())
            tally.compare("standstill_edge", f"{where} {at:.5f} 1", (quiet, came), (True, True), 0)
        for at in r.changes(f"{axis}.standstill", 0, 1e-6):
            around = (r.t[1:] >= at - 1e-9) & (r.t[:-1] <= at + 1e-9)
            left = bool((fastest[1:][around] >= rate).any())
            tally.compare("standstill_edge", f"{where} {at:.5f} 0", left, True, 0)


def check_torque(judged, tally):
    r = judged.record
    for motor in r.motors(""):
        s = r.samples
        pull = np.maximum(abs(s[f"{motor}.torque_min_Nm"]), abs(s[f"{motor}.torque_max_Nm"]))
        for at in r.changes(f"{motor}.torque_on", 0, 1e-6):
            again = r.changes(f"{motor}.torque_on", 1, at)
            inside = (r.t[:-1] >= at) & (r.t[1:] <= (again[0] if again else math.inf))
            tally.compare("torque_edge", f"{judged.folder} {motor} {at:.5f}",
                          bool((pull[1:][inside] == 0).all()), True, 0)


if __name__ == "__main__":
    main()
