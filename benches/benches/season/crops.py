"""The farm of several crops in SimPy: a process for each machine, one for who says in the morning what comes first.

Reads from standard input: first a line of numbers (fields, crops, soils, days); for each operation a line (first second
and end of its hours); for each crop a line (first and due day of each operation, last day); for each operation and soil a
line with the chance of a suitable day, day by day; for each field a line (crop, soil, seconds of work by operation);
then, for each season, a line for each operation and soil with one 0 or 1 a day. Writes the seconds that the seasons took
by its own clock, start of the interpreter and reading left out, and then a line for each season: when each job was done,
field by field (-1: never).
"""

import sys
import time
from bisect import insort
from itertools import accumulate

import simpy

DAY = 86_400
OPERATIONS = range(3)
CLEARLY = 1.5


class Season:
    def __init__(self, suits):
        self.env = simpy.Environment()
        self.suits = suits
        self.done = [[-1] * len(OPERATIONS) for _ in fields]
        self.needed = [list(sums) for sums in all_needed]
        self.ready = [[[] for _ in lots] for _ in OPERATIONS]
        for field, (crop, soil, *_) in enumerate(fields):
            self.ready[0][crop * soils + soil].append(field)
        self.begun = [[None] * len(lots) for _ in OPERATIONS]
        self.left = [list(work) for _, _, *work in fields]
        self.lists = [[] for _ in OPERATIONS]
        self.p_later = [1.0] * len(OPERATIONS)
        self.idle = [None] * len(OPERATIONS)
        self.env.process(self.mornings())
        for operation in OPERATIONS:
            self.env.process(self.machine(operation))
        self.env.run(until=(last + 1) * DAY)

    def suit(self, operation, lot, day):
        """Whether a lot's window is open on a day that suits it."""
        crop, soil = lots[lot]
        opens = windows[crop][operation][0]
        return opens <= day <= latest[crop] and self.suits[operation * soils + soil][day] == "1"

    def mornings(self):
        yield self.env.timeout(first * DAY)
        for day in range(first, last + 1):
            standing = [
                [
                    lot
                    for lot, ready in enumerate(self.ready[operation])
                    if (ready or self.begun[operation][lot] is not None) and self.suit(operation, lot, day)
                ]
                for operation in OPERATIONS
            ]
            for operation in OPERATIONS:
                later = operation + 1
                self.p_later[operation] = 1.0
                if later in OPERATIONS:
                    for lot in standing[later]:
                        p = chance[later * soils + lots[lot][1]][day]
                        self.p_later[operation] = min(self.p_later[operation], p)
                self.lists[operation] = sorted(self.rank(operation, lot, day) for lot in standing[operation])
            yield self.env.timeout(DAY)

    def rank(self, operation, lot, day):
        crop, soil = lots[lot]
        begin, end = hours[operation]
        key = operation * soils + soil
        due = windows[crop][operation][1]
        hope = expected[key][due + 1] - expected[key][day] if due >= day else 0.0
        days_needed = self.needed[operation][crop] / (end - begin)
        days_in_hand = (hope - self.needed[operation][crop]) / (end - begin)
        p = chance[key][day]
        gives_way = self.p_later[operation] * CLEARLY <= p
        begun = self.begun[operation][lot]
        field = self.ready[operation][lot][0] if begun is None else begun
        return (1e6 if gives_way else 0.0) + days_in_hand + days_needed / 2.0, begun is None, field, lot

    def next_job(self, operation):
        for *_, lot in self.lists[operation]:
            field = self.begun[operation][lot]
            if field is not None:
                self.begun[operation][lot] = None
                return lot, field
            if self.ready[operation][lot]:
                return lot, self.ready[operation][lot].pop(0)
        return None

    def machine(self, operation):
        env, (begin, end) = self.env, hours[operation]
        rows = self.suits[operation * soils : (operation + 1) * soils]
        for day in range(first, last + 1):
            if not any(row[day] == "1" for row in rows):
                continue
            yield env.timeout(day * DAY + begin - env.now)
            close = day * DAY + end
            while env.now < close:
                # What else ends at this second comes first.
                yield env.timeout(0)
                job = self.next_job(operation)
                if job is None:
                    if operation == 0:
                        break
                    self.idle[operation] = env.event()
                    yield self.idle[operation] | env.timeout(close - env.now)
                    self.idle[operation] = None
                    continue
                lot, field = job
                work = min(self.left[field][operation], close - env.now)
                yield env.timeout(work)
                self.left[field][operation] -= work
                self.needed[operation][lots[lot][0]] -= work
                if self.left[field][operation]:
                    self.begun[operation][lot] = field
                    break
                self.done[field][operation] = env.now
                if operation + 1 in OPERATIONS:
                    self.release(operation + 1, lot, field)

    def release(self, operation, lot, field):
        insort(self.ready[operation][lot], field)
        day = self.env.now // DAY
        if self.suit(operation, lot, day) and all(entry[3] != lot for entry in self.lists[operation]):
            insort(self.lists[operation], self.rank(operation, lot, day))
        if self.idle[operation] and not self.idle[operation].triggered:
            self.idle[operation].succeed()


lines = iter(sys.stdin.read().splitlines())
count, crops, soils, days = map(int, next(lines).split())
lots = [(crop, soil) for crop in range(crops) for soil in range(soils)]
hours = [tuple(map(int, next(lines).split())) for _ in OPERATIONS]
windows, latest = [], []
for _ in range(crops):
    *dates, end = map(int, next(lines).split())
    windows.append(list(zip(dates[::2], dates[1::2])))
    latest.append(end)
first, last = min(window[0] for crop in windows for window in crop), max(latest)
chance = [tuple(map(float, next(lines).split())) for _ in OPERATIONS for _ in range(soils)]
expected = []
for key, row in enumerate(chance):
    begin, end = hours[key // soils]
    expected.append(list(accumulate((p * (end - begin) for p in row), initial=0.0)))
fields = [tuple(map(int, next(lines).split())) for _ in range(count)]
all_needed = [
    [sum(field[2 + operation] for field in fields if field[0] == crop) for crop in range(crops)]
    for operation in OPERATIONS
]
lines = list(lines)
keys = len(OPERATIONS) * soils
skies = [lines[at : at + keys] for at in range(0, len(lines), keys)]
start = time.perf_counter()
finished = [Season(sky).done for sky in skies]
print(time.perf_counter() - start)
for done in finished:
    print(*(finish for jobs in done for finish in jobs))
