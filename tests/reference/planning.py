"""A second implementation of what a belief is worth, straight from its definition.

Repairs are tried in order of probability per price; at the best moment the search takes over.
A case ends with the last of the repairs it needs. The first repair is priced from where the
engine stands, the others from the state in which a repair is verified, everything shut but for
what stays open for good. A repair that was not needed may cost something on top.
"""
import numpy as np


class Planning:
    """The workshop's prices of one job."""

    def __init__(self, plan):
        self.world = plan["world"]
        self.repairs = plan["repairs"]
        self.cures = plan["cures"]
        self.search = plan["search"] and plan["search"]["total"]
        self.later = self.later_from({"open": 0})
        self.in_vain = [repair["in_vain"] for repair in self.repairs]

    def later_from(self, at):
        """Prices of the repairs that are not the first, after work begun in a situation."""
        verified = {"state": self.world["verifying"], "open": at["open"] & self.world["lasting"]}
        return [self.first(repair, verified) for repair in self.repairs]

    def ready(self, at, needs):
        """Cheapest price of getting ready for work, and the situation then."""
        world, best = self.world, None
        for state in needs["states"]:
            price = world["change"][at["state"]][state]["total"]
            shut = world["runs"][state] or world["by_running"][at["state"]][state]
            stands_open = at["open"] & ~world["blocking"] if shut else at["open"]
            for bit, access in enumerate(world["access"]):
                wanted = needs["access"] >> bit & 1
                if wanted and not stands_open >> bit & 1:
                    price += access["total"] * needs["openings"]
            if best is None or price < best[0] - 1e-12:
                best = price, {"state": state, "open": stands_open | needs["access"]}
        return best or (0.0, at)

    def first(self, repair, at):
        """Price of a repair begun from a situation."""
        return self.ready(at, repair["needs"])[0] + repair["price"]["total"]

    def doing(self, probe, at):
        """Price of a test, and the situation after it."""
        price, there = self.ready(at, probe["needs"])
        state = there["state"] if probe["leaves"] is None else probe["leaves"]
        still = there["open"] & ~self.world["blocking"] if self.world["runs"][state] else there["open"]
        return price + probe["price"]["total"], {"state": state, "open": still | probe["opens"]}

    def stop(self, belief, at):
        """Expected price of repairing without another test; `belief` sums to one."""
        mass = np.zeros(len(self.repairs))
        for p, cures in zip(belief, self.cures):
            mass[cures] += p
        order = sorted((r for r in range(len(mass)) if mass[r] > 0),
                       key=lambda r: (-mass[r] / max(self.later[r] + self.in_vain[r], 1e-9), r))
        later = self.later_from(at)
        spent, so_far = [], 0.0
        for place, repair in enumerate(order):
            so_far += self.first(self.repairs[repair], at) if place == 0 else later[repair]
            so_far += self.in_vain[repair]
            spent.append(so_far)
        place_of = {repair: place for place, repair in enumerate(order)}
        # Whoever needs a repair did not have it in vain.
        cases = [(p, max(place_of[c] for c in cures), sum(self.in_vain[c] for c in cures),
                  sum(later[c] for c in cures))
                 for p, cures in zip(belief, self.cures) if p > 0]
        costs = [sum(p * (spent[end] - back) for p, end, back, _ in cases)]
        if self.search is not None:
            # After `cut` repairs the search, then the repairs of what it finds.
            for cut in range(len(order)):
                gone = spent[cut - 1] if cut else 0.0
                costs.append(sum(p * (spent[end] - back if end < cut else gone + self.search + alone)
                                 for p, end, back, alone in cases))
        return min(costs)
