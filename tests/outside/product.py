"""Running the product: the binary as a user has it, and the dev examples that print trees and random links."""
import os
import pathlib
import resource
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]
RELEASE = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "release"
BINARY = RELEASE / "colletline"
# A run that takes longer than this hangs, as far as a goldsmith is concerned.
TIMEOUT = 120


def run(*args, cwd=ROOT, timeout=TIMEOUT):
    p = subprocess.run([str(BINARY), *map(str, args)], capture_output=True, text=True, timeout=timeout, cwd=cwd)
    return p


def example(name, *args):
    p = subprocess.run([str(RELEASE / "examples" / name), *map(str, args)], capture_output=True, text=True, timeout=3600, cwd=ROOT)
    return p


def said(p):
    """What a failed run said, short enough for one line."""
    text = " ".join((p.stderr + " " + p.stdout).split())
    return f"exit {p.returncode}" + (f": {text[:400]}" if p.returncode else "")


def panicked(p):
    return "panicked at" in p.stderr or p.returncode in (101, 134, -6)


def peak_of_children_mb():
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
