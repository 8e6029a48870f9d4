"""The same queue in SimPy: one server, 30 arrivals and 35 services an hour. Prints seconds for one run."""

import random
import sys
import time

import simpy


def lorry(env, server, present, waits):
    arrived = env.now
    present[0] += present[1] * (env.now - present[2])
    present[1] += 1
    present[2] = env.now
    with server.request() as request:
        yield request
        waits.append(env.now - arrived)
        yield env.timeout(random.expovariate(35 / 3600))
    present[0] += present[1] * (env.now - present[2])
    present[1] -= 1
    present[2] = env.now


def source(env, server, lorries, present, waits):
    for _ in range(lorries):
        env.process(lorry(env, server, present, waits))
        yield env.timeout(random.expovariate(30 / 3600))


random.seed(1)
env = simpy.Environment()
present, waits = [0.0, 0, 0.0], []
env.process(source(env, simpy.Resource(env, 1), int(sys.argv[1]), present, waits))
start = time.perf_counter()
env.run()
print(time.perf_counter() - start)
