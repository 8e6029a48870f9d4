"""The plain farm in SimPy: a machine is a resource, a field a process that asks for one after the other.

Reads from standard input: first a line of numbers (fields, days, last day); for each operation a line (first second and
end of its hours, its first day); for each field a line (seconds of work by operation); then, for each season, a line for
each operation with one 0 or 1 a day. Writes the seconds that the seasons took by its own clock, start of the interpreter
and reading left out, and then a line for each season: when each job was done, field by field (-1: never).
"""

import sys
import time

import simpy

DAY = 86_400


def until_open(now, hours, days):
    """Seconds until the next open second and the end of that stretch; None if there is none."""
    begin, end = hours
    day, second = divmod(now, DAY)
    if second >= end:
        day, second = day + 1, 0
    first = days.find("1", day)
    if first < 0:
        return None
    start = first * DAY + begin
    if first == day:
        start = max(start, now)
    return start - now, first * DAY + end


def field(env, machines, hours, opens, works, suits, done):
    for operation, machine in enumerate(machines):
        if env.now < opens[operation] * DAY:
            yield env.timeout(opens[operation] * DAY - env.now)
        with machine.request() as request:
            yield request
            left = works[operation]
            while left:
                stretch = until_open(env.now, hours[operation], suits[operation])
                if stretch is None:
                    return
                wait, end = stretch
                if wait:
                    yield env.timeout(wait)
                now = env.now
                work = min(left, end - now)
                yield env.timeout(work)
                left -= work
        done[operation] = env.now


def season(last, hours, opens, fields, suits):
    env = simpy.Environment()
    machines = [simpy.Resource(env) for _ in hours]
    done = [[-1] * len(hours) for _ in fields]
    for works, finish in zip(fields, done):
        env.process(field(env, machines, hours, opens, works, suits, finish))
    env.run(until=(last + 1) * DAY)
    return done


lines = sys.stdin.read().splitlines()
count, days, last = map(int, lines[0].split())
rows = [tuple(map(int, line.split())) for line in lines[1:4]]
hours, opens = [row[:2] for row in rows], [row[2] for row in rows]
fields = [tuple(map(int, line.split())) for line in lines[4 : 4 + count]]
skies = [lines[at : at + 3] for at in range(4 + count, len(lines), 3)]
start = time.perf_counter()
finished = [season(last, hours, opens, fields, sky) for sky in skies]
print(time.perf_counter() - start)
for done in finished:
    print(*(finish for jobs in done for finish in jobs))
