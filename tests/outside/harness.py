"""Counting and printing of checks. A check that raises is a failed check, never a missing one."""
import argparse
import contextlib
import pathlib
import sys
import tempfile
import time
import traceback


class Checks:
    def __init__(self):
        self.passed = 0
        self.failed = 0
        self.failures = []

    def check(self, name, ok, detail=""):
        """One line; `ok` must be a real truth value, so that an empty measurement cannot pass by accident."""
        if not isinstance(ok, bool):
            ok = bool(ok == True)  # noqa: E712  numpy bools and nothing else
        self.passed += ok
        self.failed += not ok
        if not ok:
            self.failures.append(name)
        print(f"{'ok  ' if ok else 'FAIL'} {name}{': ' + str(detail) if detail != '' else ''}", flush=True)
        return ok

    def none(self, name, problems, detail=""):
        """Passes when the list of problems is empty."""
        return self.check(name, len(problems) == 0, "; ".join(map(str, problems)) if problems else detail)

    def close(self, name, value, want, tol, unit="mm"):
        return self.check(name, abs(value - want) <= tol, f"{value:.9g} against {want:.9g} {unit}, off {value - want:+.2e}, allowed {tol:.1e}")

    @contextlib.contextmanager
    def section(self, name):
        """Whatever is raised inside counts as one failed check of that name."""
        start = time.monotonic()
        try:
            yield
        except Exception as e:  # noqa: BLE001  a broken check must not hide the others
            traceback.print_exc()
            self.check(name, False, f"{type(e).__name__}: {e}")
        print(f"     {name}: {time.monotonic() - start:.1f} s", flush=True)


def command(doc, run, count):
    """The command line of a check over many random files: run(checks, count, seed, folder)."""
    a = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    a.add_argument("--count", type=int, default=count)
    a.add_argument("--seed", type=int, default=1)
    a.add_argument("--keep", help="work in this folder and leave the files")
    a = a.parse_args()
    c = Checks()
    with contextlib.ExitStack() as stack:
        folder = a.keep or stack.enter_context(tempfile.TemporaryDirectory())
        pathlib.Path(folder).mkdir(parents=True, exist_ok=True)
        run(c, a.count, a.seed, folder)
    print(f"{c.passed} passed, {c.failed} failed")
    sys.exit(c.failed > 0 or c.passed == 0)
