"""The fixtures of a run folder: figures of the station, rows of the cause table.

The files use a small part of YAML; this reads that part alone: mappings by indentation,
lists, flow lists and flow mappings, folded text, comments.
"""

import math
import re

UNITS = {"s": 1, "ms": 1e-3, "deg": math.pi / 180, "deg/s": math.pi / 180, "%": 0.01}


def quantity(text):
    """A value with its unit, in SI; a mapping tells its value."""
    if isinstance(text, dict):
        text = text["value"]
    number, _, unit = text.partition(" ")
    return float(number) * UNITS.get(unit, 1)


def read(path):
    lines = []
    for raw in path.read_text().splitlines():
        line = uncommented(raw)
        if line.strip():
            lines.append((len(line) - len(line.lstrip()), line.strip()))
    return block(lines, 0)[0]


def uncommented(line):
    quoted = False
    for i, c in enumerate(line):
        if c == '"':
            quoted = not quoted
        if c == "#" and not quoted and (i == 0 or line[i - 1] == " "):
            return line[:i].rstrip()
    return line.rstrip()


def block(lines, i):
    """The node that starts at line i, and the line after it."""
    indent = lines[i][0]
    if lines[i][1].startswith("- "):
        return items(lines, i, indent)
    node = {}
    while i < len(lines) and lines[i][0] == indent:
        key, _, rest = lines[i][1].partition(":")
        node[key], i = value(lines, i, indent, rest.strip())
    return node, i


def items(lines, i, indent):
    node = []
    while i < len(lines) and lines[i][0] == indent and lines[i][1].startswith("- "):
        rest = lines[i][1][2:].strip()
        if rest[0] in "{[" or ":" not in rest:
            entry, i = value(lines, i, indent, rest)
        else:
            lines[i] = (indent + 2, rest)
            entry, i = block(lines, i)
        node.append(entry)
    return node, i


def value(lines, i, indent, rest):
    i += 1
    deeper = i < len(lines) and lines[i][0] > indent
    if not rest:
        return block(lines, i) if deeper else (None, i)
    folded = rest == ">-"
    if folded:
        rest = ""
    while i < len(lines) and lines[i][0] > indent:
        rest, i = rest + " " + lines[i][1], i + 1
    return rest.strip() if folded else flow(rest), i


def flow(text):
    if text[:1] not in ("{", "["):
        return text.strip('"')
    tokens = re.findall(r'"[^"]*"|[\[\]{},]|:(?= )|[^\[\]{},: ](?:[^\[\]{},:]|:(?! ))*', text)
    return parse([t.strip() for t in tokens])


def parse(tokens):
    first = tokens.pop(0)
    if first == "[":
        node = []
        while tokens[0] != "]":
            node.append(parse(tokens))
            skip(tokens)
        tokens.pop(0)
        return node
    if first == "{":
        node = {}
        while tokens[0] != "}":
            key = tokens.pop(0)
            tokens.pop(0)  # the colon
            node[key] = parse(tokens)
            skip(tokens)
        tokens.pop(0)
        return node
    return first.strip('"')


def skip(tokens):
    if tokens[0] == ",":
        tokens.pop(0)


class Station:
    """What the definitions ask of a station and of the causes that it stops for."""

    def __init__(self, run, name):
        self.figures = read(run / "fixtures" / "station" / f"{name}.yaml")
        tables = [read(p) for p in sorted((run / "fixtures" / "requirements").glob("*.yaml"))]
        self.causes = {row["cause"]: row for t in tables for row in t.get("causes", [])}
        self.duties = {d["measure"]: key for t in tables for key, d in t.get("duties", {}).items()}

    def figure(self, path):
        node = self.figures
        for key in path.split("."):
            node = node[key]
        return quantity(node)

    def duty(self, cause, measure):
        """What the row of a cause says about that duty beyond its id."""
        found = self.causes[cause].get(self.duties.get(measure, "torque"), {})
        return found if isinstance(found, dict) else {}

    def supervision(self, cause, measure):
        """The time after which the cause must have been found: a stop is counted from its end."""
        row = self.causes[cause]
        named = self.duty(cause, measure).get("supervision", row.get("supervision", []))
        return sum(self.figure(path) for path in named)

    def overspeed_rate(self, axis):
        return self.figure("overspeed.ratio") * self.figure(f"axes.{axis}.full_rate")
