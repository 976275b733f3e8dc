"""Writes the first inputs of each target: `python3 tests/fuzz/seed.py FOLDER`. The rest of the corpus is found by the fuzzer."""
import pathlib
import random
import struct
import sys

ROOT = pathlib.Path(__file__).parents[2]
out = pathlib.Path(sys.argv[1])


def put(target, name, content):
    (out / target).mkdir(parents=True, exist_ok=True)
    (out / target / name).write_bytes(content if isinstance(content, bytes) else content.encode())


# The files of params/ are read from there: tests/fuzz/run, tests/corpus.rs.
PLAIN = '{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 3.0 }, "wearer": { "wrist": 165 } }'
for name, t in {
    "mark": "\ufeff" + PLAIN,
    "carriage": PLAIN.replace(", ", ",\r\n"),
    "comments": "// a\n/* b */" + PLAIN.replace("3.0", "3.0 /* mm */") + "// c",
    "too-large": PLAIN.replace("3.0", "1e999"),
    "tiny": PLAIN.replace("3.0", "4e-320"),
    "negative": PLAIN.replace("3.0", "-3.0"),
    "list": "[" + PLAIN + "]",
    "deep": '{"a":' * 600,
    "escapes": PLAIN.replace("silver925", "\\ud800\\u0000"),
    "bytes": b'{ "metal": { "alloy": "\xff\xfe" } }',
}.items():
    put("text", name, t)
for i, t in enumerate(["4.0 mm", "0.75mm", " 0.03 in ", "20 AWG", "90 deg", "90°", "0.25 ct", "4,0 mm", "41 AWG", "1.2.3 mm", "-1 mm", "1e3 mm", ""]):
    put("quantity", f"{i:02}", t)
rnd = random.Random(1)
for target in ("link", "clasp", "mend"):
    for base in range(6):
        for changes in (0, 2, 5) if target != "mend" else (2,):
            put(target, f"{base}-{changes}", bytes([base]) + bytes(rnd.randrange(256) for _ in range(3 * changes)))
for base in (0, 2, 5):
    put("walls", f"{base}", bytes([base]) + bytes(rnd.randrange(256) for _ in range(6)))
for i, t in enumerate(['{"collet.wall":"0.5"}', '{"collet.wall":null,"stone.diameter":"4.1 mm"}', '{"joint.kind":"tube","line.gap":" 0.1 "}', '{"metal.alloy":"","nowhere.at":"1"}', '{}']):
    put("edits", f"{i}", t)
    put("edits", f"{i}-file", '// mine\n{ "stone": { "diameter": 3.0, /* as bought */ }, "metal": { "alloy": "silver925" }, "wearer": { "wrist": 165 } }\0' + t)
put("readings", "plain", "".join(f"{a}, {n}, {n * 0.996 + 0.01:.3f}\n" for a in "xyz" for n in (2, 5, 8, 12, 16, 20, 25)) + "".join(f"hole, {n}, {n - 0.04:.2f}\n" for n in (1, 2, 3, 4, 5)))
put("readings", "semicolons", "".join(f"{a}; {n},0; {n},02\n" for a in "xyz" for n in (2, 5, 8, 12, 16, 20, 25)))
put("readings", "inches", "".join(f"{a}, {n}, {n / 25.4:.4f}\n" for a in "xyz" for n in (2, 5, 8, 12, 16, 20, 25)))
put("measured", "comma", "link,pitch,stone\n" + "2.60,2.68,2.50\n" * 60)
put("measured", "semicolon", "link;stone\n" + "2,60;2,50\n" * 40)
put("measured", "stones", "stone\n2.48\n2.51\n")
put("bench", "example", (ROOT / "params/bench/bench.jsonc").read_bytes())
put("bench", "little", '{ "prices": { "metal_per_g": 40, "stone_each": 12 }, "stock": [{ "section": "wire 0.55", "length": 300, "count": 2 }] }')
for i, t in enumerate(["collet.wall=0.40..0.60:0.05", "collet.wall=0.4,0.5", "line.gap=0.1", "collet.wall=1..0:1", "collet.wall=0..1e9:1e-9", "metal.alloy=1"]):
    put("vary", f"{i}", t)
TETRA = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3)]
AT = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)]


def binary(at, faces):
    return bytes(80) + struct.pack("<I", len(faces)) + b"".join(struct.pack("<12fH", 0, 0, 0, *at[a], *at[b], *at[c], 0) for a, b, c in faces)


def text(at, faces):
    one = lambda f: " facet normal 0 0 0\n  outer loop\n" + "".join(f"   vertex {x} {y} {z}\n" for x, y, z in (at[v] for v in f)) + "  endloop\n endfacet\n"  # noqa: E731
    return "solid a\n" + "".join(map(one, faces)) + "endsolid a\n"


BOX = [(x, y, z) for x in (0, 4) for y in (0, 3) for z in (0, 0.3)]
SIDES = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)]
for name, at, faces in [("tetrahedron", AT, TETRA), ("box", BOX, SIDES), ("open", BOX, SIDES[1:]), ("twice", AT, TETRA + TETRA), ("turned", BOX, [f[::-1] for f in SIDES])]:
    put("mesh", name + ".stl", binary(at, faces))
    put("mesh", name + ".text.stl", text(at, faces))


def model(at, faces, more="", unit="millimeter", build='<item objectid="1"/>'):
    v = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in at)
    t = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
    return (f'<model unit="{unit}" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model"><mesh><vertices>{v}</vertices>'
            f'<triangles>{t}</triangles></mesh></object>{more}</resources><build>{build}</build></model>')


put("model", "box", model(BOX, SIDES))
put("model", "inch", model(AT, TETRA, unit="inch"))
put("model", "mirrored", model(AT, TETRA, '<object id="2"><components><component objectid="1"/><component objectid="1" transform="-1 0 0 0 1 0 0 0 1 5 0 0"/></components></object>', build='<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 10"/>'))
put("model", "loop", model(AT, TETRA, '<object id="2"><components><component objectid="2"/></components></object>', build='<item objectid="2"/>'))
