"""A small farm's season told in SimPy, from the rules below and not from the program's source.

Reads JSON on standard input (`farm`, and `seasons`: for each season, for each operation, one flag a day) and writes,
for each season and each job (field by field, operation by operation), the second at which it was done, or null.

The rules
---------
1. The clock counts seconds from midnight of the first day. Every operation is done on every field: a job. Its length is
   area over work rate, rounded to whole seconds, and does not depend on when it is worked.
2. A job may be worked from midnight of the day `from`. After the end of the day `latest` it is given up, done or not,
   and so is everything that waits for it.
3. An operation comes after the one before it in the list on the same field: `lag_s` seconds after that is done.
4. A job is worked only on a day that suits its operation, and only within the operation's hours. What is left at their
   end is kept for later.
5. It takes one tractor (with its implement) and one driver who is on duty, both or neither, until it stops. A tractor
   belongs to one operation; a driver may belong to several. Of several free drivers, the one comes who can drive the
   fewest tractors, and of those the first in the list. Work stops when the driver goes off duty.
6. Each morning all are at the yard. An outfit goes at `road_km_h` from where its parts are; the one that has farthest
   to go sets the time, rounded to whole seconds. Fields of one block lie along one road from the yard, so that between
   them it is the difference of their distances; between others the way leads past the yard. Whoever is called away on
   the road counts as being where they were going. Going home costs nothing.
7. Nobody sets out who would not arrive before the end of the hours or of their duty.
8. Whenever a driver comes on duty, an operation's hours begin, work stops or a job comes due, the waiting jobs are gone
   through once, operations by their rank (the lowest first), then fields by number, and each takes what is free.
9. A job may also take tractor or driver away from jobs of worse rank if nothing else will do; those wait again. But it
   takes nothing away from jobs of its own operation.
10. All that happens at one instant happens before the waiting jobs are gone through.
"""

import json
import sys

import simpy

DAY = 86_400


def seconds(hours):
    return round(hours * 3600)


class Driver:
    def __init__(self, env, name, duty_h, drives):
        self.name, self.drives = name, drives
        self.start, self.end = map(seconds, duty_h)
        self.seat = simpy.Resource(env)
        self.place = None


class Tractor:
    def __init__(self, env):
        self.seat = simpy.Resource(env)
        self.place = None


class Job:
    """One operation on one field; its life is a process."""

    def __init__(self, farm, field, number, operation):
        self.farm, self.field, self.number, self.operation = farm, field, number, operation
        self.left = max(1, round(field["area_ha"] / operation["ha_h"] * 3600))
        self.done = farm.env.event()
        self.finish = None
        self.crew = None
        self.orders = None
        self.before = None
        self.process = farm.env.process(self.live())

    @property
    def rank(self):
        return self.operation["rank"], self.number

    def live(self):
        env, operation = self.farm.env, self.operation
        yield env.timeout(operation["from"] * DAY)
        if self.before:
            yield self.before.done
            if self.before.finish is None:
                self.done.succeed()
                return
            free_at = self.before.finish + operation["lag_s"]
            if free_at > env.now:
                yield env.timeout(free_at - env.now)
        given_up = env.timeout(max(0, (operation["latest"] + 1) * DAY - env.now))
        while self.left:
            self.orders = env.event()
            self.farm.waiting.append(self)
            self.farm.ring()
            yield self.orders | given_up
            if not self.orders.triggered:
                self.farm.waiting.remove(self)
                break
            yield from self.work(*self.orders.value)
        if not self.left:
            self.finish = env.now
        self.done.succeed()

    def work(self, road_s, end):
        env = self.farm.env
        arrived = env.now + road_s
        self.farm.working.append(self)
        try:
            yield env.timeout(min(road_s + self.left, end - env.now))
            self.farm.ring()
        except simpy.Interrupt:
            pass
        self.left -= max(0, env.now - arrived)
        if self in self.farm.working:  # whoever calls an outfit away frees it at once
            self.leave()

    def leave(self):
        self.farm.working.remove(self)
        for part, request in self.crew:
            part.seat.release(request)
        self.crew = None


class Farm:
    def __init__(self, data, suits):
        self.env = simpy.Environment()
        self.data, self.suits = data, suits
        self.drivers = [Driver(self.env, **driver) for driver in data["drivers"]]
        self.drivers.sort(key=lambda driver: len(driver.drives))  # stable: then as listed
        self.tractors = {operation["name"]: Tractor(self.env) for operation in data["operations"]}
        self.waiting, self.working = [], []
        self.bell = self.env.event()
        self.jobs = []
        for number, field in enumerate(data["fields"]):
            chain = [Job(self, field, number, operation) for operation in data["operations"]]
            for before, after in zip(chain, chain[1:]):
                after.before = before
            self.jobs += chain
        self.env.process(self.foreman())
        self.env.process(self.mornings())
        for driver in self.drivers:
            self.env.process(self.every_day(driver.start))
        for operation in data["operations"]:
            self.env.process(self.every_day(seconds(operation["hours"][0])))

    def ring(self):
        if not self.bell.triggered:
            self.bell.succeed()

    def mornings(self):
        while True:
            for part in [*self.drivers, *self.tractors.values()]:
                part.place = None
            yield self.env.timeout(DAY)

    def every_day(self, second):
        yield self.env.timeout(second)
        while True:
            self.ring()
            yield self.env.timeout(DAY)

    def foreman(self):
        while True:
            yield self.bell
            while self.env.peek() == self.env.now:  # let the rest of this instant happen first
                yield self.env.timeout(0)
            self.bell = self.env.event()
            for job in sorted(self.waiting, key=lambda job: job.rank):
                self.try_to_send(job)

    def try_to_send(self, job):
        day, second = divmod(self.env.now, DAY)
        begin, end = map(seconds, job.operation["hours"])
        name = job.operation["name"]
        if not self.suits[name][day] or not begin <= second < end:
            return
        tractor = self.tractors[name]
        able = [driver for driver in self.drivers if name in driver.drives and driver.start <= second < driver.end]
        others = [other for other in self.working if other.operation is not job.operation]
        worse = {part for other in others if other.rank > job.rank for part, _ in other.crew}

        def choose(parts):
            free = [part for part in parts if not part.seat.count]
            taken = [part for part in parts if part in worse]
            return next(iter(free + taken), None)

        driver, tractor = choose(able), choose([tractor])
        if not driver or not tractor:
            return
        road_km = max(self.road_km(part.place, job.field) for part in (driver, tractor))
        road_s = round(road_km / self.data["road_km_h"] * 3600)
        end = day * DAY + min(end, driver.end)
        if self.env.now + road_s >= end:
            return
        for other in [other for other in self.working if any(part in (driver, tractor) for part, _ in other.crew)]:
            other.leave()
            other.process.interrupt()
        job.crew = [(part, part.seat.request()) for part in (driver, tractor)]
        assert all(request.triggered for _, request in job.crew), "taken twice"
        driver.place = tractor.place = job.field
        self.waiting.remove(job)
        job.orders.succeed((road_s, end))

    @staticmethod
    def road_km(place, field):
        if place is None:
            return field["km"]
        if place is field:
            return 0.0
        if place["block"] is not None and place["block"] == field["block"]:
            return abs(place["km"] - field["km"])
        return place["km"] + field["km"]


def season(data, suits):
    farm = Farm(data, suits)
    farm.env.run(until=data["days"] * DAY)
    return [job.finish for job in farm.jobs]


if __name__ == "__main__":
    question = json.load(sys.stdin)
    names = [operation["name"] for operation in question["farm"]["operations"]]
    answers = [season(question["farm"], dict(zip(names, days))) for days in question["seasons"]]
    json.dump(answers, sys.stdout)
