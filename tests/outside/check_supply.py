"""What the program is built from: licences, sources, locked versions, the oldest compiler it claims to need.

`cargo metadata` says it, from the lock file; what is allowed stands in deny.toml, which `cargo deny check` reads too. Its advisories
need a database that is not in a package registry and are not seen here: run it where there is a network.
"""
import json
import re
import subprocess
import tomllib

import product
from harness import Checks

DENY = tomllib.loads((product.ROOT / "deny.toml").read_text(encoding="utf-8"))
ALLOWED = set(DENY["licenses"]["allow"])
# `links` that only keep one version of a Rust crate in the program.
RUST_ONLY = {"rayon-core"}
REGISTRIES = {f"registry+{r}" for r in DENY["sources"]["allow-registry"]}


def allowed(expression):
    """Whether an SPDX expression can be met with the allowed licences: `OR` chooses, `AND` asks for both."""
    text = expression.replace("/", " OR ")
    tokens = re.findall(r"\(|\)|[^\s()]+(?: WITH [^\s()]+)?", text)

    def either():
        ok = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            ok = both() or ok
        return ok

    def both():
        ok = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            ok = one() and ok
        return ok

    def one():
        if tokens[0] == "(":
            tokens.pop(0)
            ok = either()
            tokens.pop(0)
            return ok
        return tokens.pop(0) in ALLOWED

    return either()


def version(text):
    return tuple(int(x) for x in text.split("."))[:2]


def main(c):
    c.check("licence terms are read", allowed("MIT OR GPL-3.0") and not allowed("MIT AND GPL-3.0") and allowed("(Apache-2.0 OR MIT) AND BSD-3-Clause"))
    got = subprocess.run(["cargo", "metadata", "--format-version", "1", "--locked", "--filter-platform", "x86_64-unknown-linux-gnu"], cwd=product.ROOT, capture_output=True, text=True)
    if not c.check("the lock file is whole", got.returncode == 0, got.stderr.strip()[-200:]):
        return
    packages = json.loads(got.stdout)["packages"]
    ours = next(p for p in packages if p["name"] == "colletline")
    others = [p for p in packages if p is not ours]
    c.check("there are dependencies to look at", len(others) > 20, len(others))
    c.none("every licence may be shipped", [f"{p['name']}: {p['license']}" for p in others if not (p["license"] and allowed(p["license"]))])
    c.none("all come from the package registry", [p["name"] for p in others if p["source"] not in REGISTRIES])
    c.none("nothing that deny.toml bans", sorted({p["name"] for p in others} & {d["name"] for d in DENY["bans"]["deny"]}))
    # A crate that links a library of another language names it.
    c.none("no library of another language is linked", [f"{p['name']}: {p['links']}" for p in others if p["links"] and p["links"] not in RUST_ONLY])
    c.none("none asks for a newer compiler than we say", [f"{p['name']} {p['rust_version']}" for p in others if p["rust_version"] and version(p["rust_version"]) > version(ours["rust_version"])])
    tool = re.search(r"(\d+\.\d+)", subprocess.run(["rustc", "--version"], capture_output=True, text=True).stdout).group(1)
    c.check("the compiler that built this is no older than we say", version(tool) >= version(ours["rust_version"]), f"{tool}, {ours['rust_version']} stated")
    loose = [d["name"] for d in ours["dependencies"] if d["req"] == "*"]
    c.none("no dependency at any version", loose)


if __name__ == "__main__":
    c = Checks()
    main(c)
    print(f"{c.passed} passed, {c.failed} failed")
