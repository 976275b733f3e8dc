"""Reads a STEP file as text (ISO 10303-21 clear text), with no CAD kernel, and counts who uses what.

Lists what is wrong against the topology rules of ISO 10303-42: in a closed shell each EDGE_CURVE is used by exactly two
ORIENTED_EDGEs that run it in opposite directions.
"""
import re
from collections import Counter

_STRING = r"'(?:[^']|'')*'"
_TOKEN = re.compile(rf"\s+|/\*.*?\*/|({_STRING}|\"[0-9A-F]*\"|#\d+|\.[A-Z0-9_]+\.|[-+]?\d+(?:\.\d*)?(?:E[-+]?\d+)?|[A-Z_][A-Z0-9_]*|[(),;=$*])", re.S)


class StepError(Exception):
    """Not a clear-text STEP file, or one that says something twice or not at all."""


def _tokens(text):
    i, out = 0, []
    while i < len(text):
        m = _TOKEN.match(text, i)
        if not m:
            raise StepError(f"cannot read at offset {i}: {text[i:i + 40]!r}")
        if m.group(1):
            out.append(m.group(1))
        i = m.end()
    return out


class Ref(int):
    """#n"""


class Step:
    def __init__(self, path):
        with open(path, encoding="ascii") as f:  # the clear text encoding is ASCII; anything else must be escaped
            text = f.read()
        if not text.startswith("ISO-10303-21;") or not text.rstrip().endswith("END-ISO-10303-21;"):
            raise StepError("no ISO-10303-21 frame")
        m = re.search(r"\bHEADER;(.*?)ENDSEC;\s*DATA;(.*)ENDSEC;\s*END-ISO-10303-21;\s*\Z", text, re.S)
        if not m:
            raise StepError("no HEADER and DATA section")
        self.header = m.group(1)
        self.entities = {}
        t, i = _tokens(m.group(2)), 0
        while i < len(t):
            if not t[i].startswith("#") or t[i + 1] != "=":
                raise StepError(f"entity expected at {t[i]}")
            n, i = int(t[i][1:]), i + 2
            if n in self.entities:
                raise StepError(f"#{n} defined twice")
            parts = []
            if t[i] == "(":  # complex entity: a list of simple ones
                i += 1
                while t[i] != ")":
                    kind = t[i]
                    args, i = self._list(t, i + 1)
                    parts.append((kind, args))
                i += 1
            else:
                kind = t[i]
                args, i = self._list(t, i + 1)
                parts.append((kind, args))
            if t[i] != ";":
                raise StepError(f"#{n}: no semicolon")
            i += 1
            self.entities[n] = parts

    def _list(self, t, i):
        if t[i] != "(":
            raise StepError(f"( expected, found {t[i]}")
        i, out = i + 1, []
        while t[i] != ")":
            if t[i] == ",":
                i += 1
            elif t[i] == "(":
                sub, i = self._list(t, i)
                out.append(sub)
            elif re.match(r"[A-Z_]", t[i]) and t[i + 1] == "(":  # typed value
                kind = t[i]
                sub, i = self._list(t, i + 1)
                out.append((kind, sub))
            else:
                out.append(self._value(t[i]))
                i += 1
        return out, i + 1

    @staticmethod
    def _value(s):
        if s[0] == "#":
            return Ref(s[1:])
        if s[0] == "'":
            return s[1:-1].replace("''", "'")
        if s[0] in "+-0123456789":
            return float(s)
        return s

    def of(self, kind):
        return [(n, args) for n, parts in self.entities.items() for k, args in parts if k == kind]

    def kind(self, n):
        return self.entities[n][0][0]

    def args(self, n, kind=None):
        for k, a in self.entities.get(n, []):
            if kind in (None, k):
                return a
        raise StepError(f"#{n} is not {kind}")


def _refs(value):
    if isinstance(value, Ref):
        yield value
    elif isinstance(value, (list, tuple)):
        for v in value:
            yield from _refs(v)


def face_names(step):
    return [a[0] for _, a in step.of("ADVANCED_FACE")]


def faces_by_surface(step):
    """How many faces lie on each kind of surface."""
    return Counter(step.kind(a[2]) for _, a in step.of("ADVANCED_FACE"))


def problems(path):
    """(list of what is wrong, the parsed file)."""
    s = Step(path)
    found = []
    dangling = sorted({r for parts in s.entities.values() for _, a in parts for r in _refs(a) if r not in s.entities})
    if dangling:
        found.append(f"references to nothing: {dangling[:5]}")
        return found, s
    # topology
    solids, shells = s.of("MANIFOLD_SOLID_BREP"), s.of("CLOSED_SHELL")
    if len(solids) != 1 or s.of("BREP_WITH_VOIDS"):
        found.append(f"{len(solids)} MANIFOLD_SOLID_BREP, {len(s.of('BREP_WITH_VOIDS'))} BREP_WITH_VOIDS where one plain solid is wanted")
    if len(shells) != 1 or s.of("OPEN_SHELL"):
        found.append(f"{len(shells)} CLOSED_SHELL, {len(s.of('OPEN_SHELL'))} OPEN_SHELL")
    in_shell = Counter(r for _, a in shells for r in a[1])
    faces = s.of("ADVANCED_FACE")
    if not faces:
        found.append("no ADVANCED_FACE")
    for n, _ in faces:
        if in_shell[n] != 1:
            found.append(f"face #{n} in {in_shell[n]} shells")
    uses = {n: [] for n, _ in s.of("EDGE_CURVE")}
    used_oriented = Counter()
    for n, a in faces:
        for bound in a[1]:
            if s.kind(bound) not in ("FACE_BOUND", "FACE_OUTER_BOUND"):
                found.append(f"face #{n}: bound #{bound} is {s.kind(bound)}")
                continue
            _, loop, sense = s.args(bound)
            ends = []
            for oe in s.args(loop, "EDGE_LOOP")[1]:
                used_oriented[oe] += 1
                _, _, _, edge, orient = s.args(oe, "ORIENTED_EDGE")
                uses.setdefault(edge, []).append((orient == ".T.") == (sense == ".T."))
                _, a0, a1, _, _ = s.args(edge, "EDGE_CURVE")
                ends.append((a0, a1) if orient == ".T." else (a1, a0))
            for (_, e), (b, _) in zip(ends, ends[1:] + ends[:1]):
                if e != b:
                    found.append(f"loop #{loop} breaks: vertex #{e} then #{b}")
                    break
    for n, u in uses.items():
        if len(u) != 2:
            found.append(f"EDGE_CURVE #{n} used {len(u)} times")
        elif u[0] == u[1]:
            found.append(f"EDGE_CURVE #{n} run twice the same way")
    for n, _ in s.of("ORIENTED_EDGE"):
        if used_oriented[n] != 1:
            found.append(f"ORIENTED_EDGE #{n} used {used_oriented[n]} times")
    # names
    names = face_names(s)
    if blank := sum(not n.strip() for n in names):
        found.append(f"{blank} faces without a name")
    if twice := [n for n, c in Counter(names).items() if c > 1 and n.strip()]:
        found.append(f"face names used twice: {twice[:5]}")
    parts = [a for _, a in s.of("PRODUCT")]
    if len(parts) != 1 or not parts[0][0].strip():
        found.append(f"{len(parts)} PRODUCT, or one without a name")
    # unit
    lengths = [n for n, p in s.entities.items() if any(k == "LENGTH_UNIT" for k, _ in p)]
    si = [s.args(n, "SI_UNIT") for n in lengths if any(k == "SI_UNIT" for k, _ in s.entities[n])]
    if len(lengths) != 1 or si != [[".MILLI.", ".METRE."]]:
        found.append(f"length unit is not millimetre alone: {si}")
    return found, s
