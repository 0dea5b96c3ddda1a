"""The model of docs/models/futures.md in NumPy, vectorized over futures, for cases without windows, losses, groups,
crews, tolerance and lines that are not kept. Prints JSON: seconds and the share of futures on time of each line.

    python reference.py CASE.json FUTURES SEED
"""

import json
import sys
import time

import numpy as np
from scipy.special import ndtr

CHUNK = 500  # Futures at once: their arrays fit the processor's second cache.
SPREADS = 7.0  # Beyond this many spreads a plant is ready, to 1e-12.


class Nursery:
    """A case in numbers."""

    def __init__(self, case):
        self.weeks = case["weeks"]
        climates = case["paths"][0]["climates"].keys()
        self.before = {
            climate: np.array(
                [np.concatenate([[0.0], np.cumsum(path["climates"][climate][: self.weeks])]) for path in case["paths"]]
            )
            for climate in climates
        }
        self.paths = len(case["paths"])
        self.phases = case["phases"]
        self.limits = case["over_age_after_weeks"]
        stages = set(self.phases) | set(self.limits)
        stages |= {phase["split"]["otherwise"] for phase in self.phases.values() if phase.get("split")}
        self.stages = {stage: at for at, stage in enumerate(sorted(stages))}
        self.lots = case["lots"]
        self.oldest = max([age for lot in self.lots for age, _ in lot["ready"]], default=0)
        self.work = [[] for _ in range(self.weeks)]
        for at, operation in enumerate(case["operations"]):
            for week in range(max(operation["week"], 0), min(operation["late_until"] + 1, self.weeks)):
                self.work[week].append(at)
        self.operations = case["operations"]
        self.orders = sorted(case["orders"], key=lambda it: (it["priority"], it["due"], it["id"].encode()))
        self.lines = [[] for _ in range(self.weeks)]
        for at, order in enumerate(self.orders):
            for week in range(max(order["earliest"], 0), min(order["latest"] + 1, self.weeks)):
                self.lines[week].append(at)

    def limit(self, stage, week):
        limits = self.limits.get(stage)
        if limits is None:
            return None
        return limits[max(week, 0)] if isinstance(limits, list) else limits


class Futures:
    """Some futures at once; the first axis of most arrays is the future."""

    def __init__(self, nursery, count, rng):
        self.nursery, self.count, self.rng = nursery, count, rng
        self.path = rng.integers(nursery.paths, size=count)
        self.every = np.arange(count)
        stages, weeks = len(nursery.stages), nursery.weeks
        # Ready plants by stage, bucket and future; a bucket is a week in which they became ready.
        self.shift = nursery.oldest
        self.pool = np.zeros((stages, self.shift + weeks, count), np.int32)
        self.first = np.full(stages, self.shift + weeks)
        self.ready = np.zeros((stages, count), np.int32)
        self.arriving = np.zeros((weeks, stages, count), np.int32)
        self.expires = [[] for _ in range(weeks)]
        for stage, at in nursery.stages.items():
            for made in range(-self.shift, weeks):
                limit = nursery.limit(stage, made)
                if limit is not None and made + limit + 1 < weeks:
                    self.expires[max(made + limit + 1, 0)].append((at, made + self.shift))
        self.left = [np.full(count, work["plants"] if work["plants"] is not None else 2**31 - 1) for work in nursery.operations]
        self.lacks = [np.full(count, order["plants"]) for order in nursery.orders]
        self.on_time = np.zeros(len(nursery.orders), int)

    def share_ready(self, mean, rho):
        """A lot's own probability."""
        together = 1.0 / np.maximum(rho, 1e-300) - 1.0
        sure = (rho <= 0) | (mean <= 0) | (mean >= 1)
        a = np.where(sure, 1.0, mean * together)
        b = np.where(sure, 1.0, (1.0 - mean) * together)
        return np.where(sure, mean, self.rng.beta(a, b))

    def grow(self, lots, start):
        """Lots (stage, plants of each future, degree-days behind them) that start before week `start`."""
        if start >= self.nursery.weeks:
            return
        kinds = {}
        for stage, plants, behind in lots:
            phase = self.nursery.phases[stage]
            kinds.setdefault((phase["climate"], phase["degree_days"] // 300, behind > 0), []).append((stage, plants, behind))
        for (climate, _, _), lots in kinds.items():
            self.grow_alike(lots, start, self.nursery.before[climate])

    def grow_alike(self, lots, start, before):
        rng, stages = self.rng, self.nursery.stages
        phases = [self.nursery.phases[stage] for stage, _, _ in lots]
        plants = np.stack([plants for _, plants, _ in lots])
        lot, future = np.nonzero(plants)
        if len(lot) == 0:
            return

        def of(values):
            return np.array(values, float)[lot]

        behind = of([behind for _, _, behind in lots])
        theta = of([phase["degree_days"] for phase in phases])
        within = of([phase["within_lot"] for phase in phases])
        between = of([phase["between_lots"] for phase in phases])
        log_pace = between * (rng.standard_normal(len(lot)) - between / 2)
        mean = of([phase["survival"] for phase in phases]) ** (1 - np.minimum(1, behind / theta))
        survival = self.share_ready(mean, of([phase["survival_rho"] for phase in phases]))
        left = rng.binomial(plants[lot, future], survival)
        splits = [phase.get("split") or {"share": 1.0, "rho": 0.0, "otherwise": None} for phase in phases]
        share = self.share_ready(of([split["share"] for split in splits]), of([split.get("rho", 0.0) for split in splits]))
        own = rng.binomial(left, share)

        # The weeks by whose end every plant is ready, as far as there are any.
        median = np.log(theta) + log_pace - within**2 / 2
        path = self.path[future]
        farthest = np.exp(median + SPREADS * within) - behind + before[path, start]
        end = start + 1
        while end < self.nursery.weeks and np.any(before[path, end] < farthest):
            end += 1
        sums = before[:, start + 1 : end + 1] - before[:, start : start + 1]
        sums = sums[path] + behind[:, None]
        with np.errstate(divide="ignore"):
            not_ready = ndtr((median[:, None] - np.log(sums)) / within[:, None])
            at_start = np.where(behind > 0, ndtr((median - np.log(behind)) / within), 1.0)
        some = at_start > 0
        not_ready = np.where(some[:, None], not_ready / np.where(some, at_start, 1.0)[:, None], 0.0)
        in_week = -np.diff(np.concatenate([np.ones((len(lot), 1)), not_ready, np.zeros((len(lot), 1))], axis=1), axis=1)
        np.maximum(in_week, 0.0, out=in_week)
        in_week /= in_week.sum(axis=1, keepdims=True)
        at = np.array([stages[stage] for stage, _, _ in lots])[lot]
        self.arrive(rng.multinomial(own, in_week)[:, :-1], start, at, future)
        rest = np.nonzero(left - own)[0]
        if len(rest):
            otherwise = np.array([stages[split["otherwise"]] if split["otherwise"] else 0 for split in splits])[lot]
            weeks = rng.multinomial((left - own)[rest], in_week[rest])
            self.arrive(weeks[:, :-1], start, otherwise[rest], future[rest])

    def arrive(self, plants, start, stage, future):
        row, week = np.nonzero(plants)
        np.add.at(self.arriving, (start + week, stage[row], future[row]), plants[row, week].astype(np.int32))

    def put(self, stage, bucket, plants):
        self.pool[stage, bucket] += plants
        self.ready[stage] += plants
        self.first[stage] = min(self.first[stage], bucket)

    def take(self, stage, wanted, week):
        """The oldest first; returns how many there were."""
        taken = np.minimum(wanted, self.ready[stage])
        if not taken.any():
            return taken
        self.ready[stage] -= taken
        missing = taken.copy()
        first, last = self.first[stage], self.shift + week
        for bucket in range(first, last + 1):
            plants = self.pool[stage, bucket]
            step = np.minimum(missing, plants)
            plants -= step
            missing -= step
            if bucket == self.first[stage] and not plants.any():
                self.first[stage] += 1
            if not missing.any():
                break
        return taken

    def play(self):
        nursery = self.nursery
        for lot in nursery.lots:
            for age, plants in lot["ready"]:
                self.put(nursery.stages[lot["stage"]], self.shift - age, plants)
        standing = [lot for lot in nursery.lots if lot["immature"]]
        self.grow([(lot["stage"], np.full(self.count, lot["immature"]), lot["degree_days_so_far"]) for lot in standing], 0)
        for week in range(nursery.weeks):
            for stage, bucket in self.expires[week]:
                if bucket >= self.first[stage]:
                    self.ready[stage] -= self.pool[stage, bucket]
                    self.pool[stage, bucket] = 0
            for stage in np.nonzero(self.arriving[week].any(axis=1))[0]:
                self.put(stage, self.shift + week, self.arriving[week, stage])
            for at in nursery.lines[week]:
                self.fill(at, week)
            started = []
            for at in nursery.work[week]:
                started.extend(self.do(at, week))
            self.grow(started, week + 1)

    def fill(self, at, week):
        order, lacks = self.nursery.orders[at], self.lacks[at]
        if lacks.any():
            for stage in order["accepts"]:
                lacks -= self.take(self.nursery.stages[stage], lacks, week)
        if week == min(order["due"], order["latest"], self.nursery.weeks - 1):
            self.on_time[at] = np.count_nonzero(lacks == 0)

    def do(self, at, week):
        work, left = self.nursery.operations[at], self.left[at]
        if not left.any():
            return []
        plants = left
        if work["takes_from"] is not None:
            plants = self.take(self.nursery.stages[work["takes_from"]], left, week)
        if work["plants"] is not None:
            self.left[at] = left - plants
        return [(work["moves_to"], plants, 0.0)] if plants.any() else []


def main():
    path, count, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    with open(path, encoding="utf-8") as text:
        nursery = Nursery(json.load(text))
    rng = np.random.default_rng(seed)
    on_time = np.zeros(len(nursery.orders), int)
    begun = time.perf_counter()
    for start in range(0, count, CHUNK):
        futures = Futures(nursery, min(CHUNK, count - start), rng)
        futures.play()
        on_time += futures.on_time
    seconds = time.perf_counter() - begun
    shares = {order["id"]: on_time[at] / count for at, order in enumerate(nursery.orders)}
    json.dump({"seconds": seconds, "on_time": shares}, sys.stdout)


if __name__ == "__main__":
    main()
