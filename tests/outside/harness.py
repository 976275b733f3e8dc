"""Counting and printing of checks. A check that raises is a failed check, never a missing one."""
import contextlib
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
