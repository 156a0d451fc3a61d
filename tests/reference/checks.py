"""Counting what agrees."""
import math


class Checks:
    """Compares numbers and keeps count; says only what fails."""

    def __init__(self, title):
        self.title, self.passed, self.failed, self.worst = title, 0, 0, 0.0

    def near(self, what, got, want, within=1e-9):
        """Both numbers the same to `within`, relative to the larger of 1 and `want`."""
        error = abs(got - want) / max(1.0, abs(want))
        good = math.isfinite(got) and error <= within
        if good:
            self.passed += 1
            # Published values have fewer digits; they say nothing of how near we are.
            if within <= 1e-9:
                self.worst = max(self.worst, error)
        else:
            self.failed += 1
            print(f"FAILED {self.title}: {what}: {got!r} against {want!r}")

    def holds(self, what, condition):
        """A condition."""
        if condition:
            self.passed += 1
        else:
            self.failed += 1
            print(f"FAILED {self.title}: {what}")

    def report(self):
        """One line."""
        print(f"{self.title}: {self.passed} agree (largest difference {self.worst:.1e}), "
              f"{self.failed} do not")
