"""One record: its samples, edges, marks and asks, and what they say at an instant."""

import json
import pathlib
import subprocess
import tempfile

import numpy as np
from scipy.interpolate import CubicHermiteSpline

HERE = pathlib.Path(__file__).parent


def read_all(folders):
    """Yields (folder, Record); the columns lie in a temporary folder meanwhile."""
    with tempfile.TemporaryDirectory() as scratch:
        for start in range(0, len(folders), 40):  # bounds what lies on disk
            part = folders[start:start + 40]
            targets = [pathlib.Path(scratch, f"{i}.bin") for i in range(len(part))]
            lines = "".join(f"{f}\t{t}\n" for f, t in zip(part, targets))
            subprocess.run(["node", HERE / "columns.mjs"], input=lines, text=True, check=True)
            for folder, target in zip(part, targets):
                yield folder, Record(read_tables(target))
                target.unlink()


def read_tables(path):
    tables = {}
    with open(path, "rb") as f:
        while line := f.readline():
            head = json.loads(line)
            columns = dict(head["words"])
            for name, kind in head["numbers"]:
                columns[name] = np.frombuffer(f.read(8 * head["rows"]), kind)
            tables[head["table"]] = columns
    return tables


def rows(table):
    names = list(table)
    return [dict(zip(names, values)) for values in zip(*(table[n] for n in names))]


class Record:
    def __init__(self, tables):
        self.samples = tables["samples"]
        self.t = self.samples["at_ns"] * 1e-9
        self.marks = seconds(rows(tables["marks"]))
        self.asks = seconds(rows(tables["asks"]))
        edges = seconds(rows(tables["edges"]))
        self.levels = levels(edges)
        self.end = max([float(self.t[-1])] + [e["at"] for e in edges])  # both end in an interval

    def motors(self, axis):
        """The motors of an axis, or of all where none is named."""
        found = [c.removesuffix(".torque_on") for c in self.levels if c.endswith(".torque_on")]
        return [m for m in found if not axis or m.split(".")[0] == axis]

    def axes(self):
        return [c.removesuffix(".standstill") for c in self.levels if c.endswith(".standstill")]

    def level(self, channel, at):
        """The level after what happened at that instant."""
        times, values = self.levels.get(channel, ([], []))
        i = np.searchsorted(times, at + 1e-9, side="right") - 1
        return int(values[i]) if i >= 0 else 0

    def changes(self, channel, value, since, until=np.inf):
        """The instants in [since, until] at which the channel took that value."""
        times, values = self.levels.get(channel, ([], []))
        return [float(t) for t, v in zip(times, values)
                if v == value and since - 1e-9 <= t <= until + 1e-9]

    def position(self, axis):
        """The path between samples, from positions and rates at both ends of each interval."""
        s = self.samples
        return CubicHermiteSpline(self.t, s[f"{axis}.position_rad"], s[f"{axis}.rate_rad_per_s"])

    def greatest_rate(self, whose):
        """The greatest speed in each interval that ends with its sample."""
        s = self.samples
        return np.maximum(np.abs(s[f"{whose}.rate_min_rad_per_s"]),
                          np.abs(s[f"{whose}.rate_max_rad_per_s"]))


def seconds(table):
    for row in table:
        for key in [k for k in row if k.endswith("_ns")]:
            row[key.removesuffix("_ns")] = float(row.pop(key)) * 1e-9
    return table


def levels(edges):
    """Channel to (instants, values), by instant: an edge is told when it is known."""
    found = {}
    for e in sorted(edges, key=lambda e: e["at"]):
        found.setdefault(e["channel"], ([], []))
        found[e["channel"]][0].append(e["at"])
        found[e["channel"]][1].append(e["value"])
    return {c: (np.array(t), np.array(v)) for c, (t, v) in found.items()}
