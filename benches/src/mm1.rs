//! One server, random arrivals, random service (M/M/1): on the kernel, and written by hand twice.
//!
//! All three draw the same lorries, keep the same figures (number present over time; mean, spread and
//! extremes of the waits) and must find the same.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

use sim_core::kernel::draw::Stream;
use sim_core::kernel::{
    Agenda, Change, CountTally, Model, PoolError, PoolId, Pools, Tick, Ticket, TimeTally, run,
};

/// Mean ticks (microseconds) between arrivals: 30 an hour.
pub const BETWEEN: f64 = 3.6e9 / 30.0;
/// Mean ticks of service: 35 an hour.
pub const SERVICE: f64 = 3.6e9 / 35.0;

/// Where the times of lorry number `n` come from.
#[derive(Debug, Clone, Copy)]
pub struct Draws {
    between: Stream,
    service: Stream,
}

impl Default for Draws {
    fn default() -> Self {
        Self { between: Stream::new(1, 0, 0), service: Stream::new(1, 0, 1) }
    }
}

impl Draws {
    /// Ticks from lorry `n` to the next.
    #[inline]
    #[must_use]
    pub fn between(&self, n: u64) -> Tick {
        (-(1.0 - self.between.uniform(n)).ln() * BETWEEN) as Tick
    }

    /// Ticks of service of lorry `n`.
    #[inline]
    #[must_use]
    pub fn service(&self, n: u64) -> Tick {
        (-(1.0 - self.service.uniform(n)).ln() * SERVICE) as Tick
    }
}

/// What is compared: integral of the number present, its maximum, waits counted.
#[must_use]
pub fn found(area: i128, max: i64, waits: u64) -> u64 {
    (area as u64).wrapping_mul(31).wrapping_add(max as u64).wrapping_mul(31).wrapping_add(waits)
}

/// What happens in the queue.
#[derive(Debug)]
pub enum Event {
    /// Lorry number so and so comes.
    Arrival(u64),
    /// The lorry being served leaves.
    Leaving(Ticket),
}

/// The queue on the kernel.
#[derive(Debug)]
pub struct OnKernel {
    lorries: u64,
    draws: Draws,
    pools: Pools<(u64, Tick)>,
    server: PoolId,
    changes: Vec<Change<(u64, Tick)>>,
    present: TimeTally,
    waits: CountTally,
}

impl Model for OnKernel {
    type Event = Event;
    type Error = PoolError;

    #[inline]
    fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), PoolError> {
        match event {
            Event::Arrival(n) => {
                self.present.add(now, 1);
                self.pools.request((n, now), 0, &[(self.server, 1)], &mut self.changes)?;
                if n + 1 < self.lorries {
                    agenda.schedule(now + self.draws.between(n), 0, Event::Arrival(n + 1));
                }
            }
            Event::Leaving(ticket) => {
                self.present.add(now, -1);
                self.pools.release(ticket, &mut self.changes)?;
            }
        }
        for change in self.changes.drain(..) {
            if let Change::Granted { ticket, tag: (n, arrived) } = change {
                self.waits.add((now - arrived) as f64);
                agenda.schedule(now + self.draws.service(n), 0, Event::Leaving(ticket));
            }
        }
        Ok(())
    }
}

impl OnKernel {
    /// A queue that `lorries` will come to.
    #[must_use]
    pub fn new(lorries: u64) -> Self {
        let mut pools = Pools::new();
        let server = pools.add(1);
        Self {
            lorries,
            draws: Draws::default(),
            pools,
            server,
            changes: Vec::new(),
            present: TimeTally::new(0, 0),
            waits: CountTally::default(),
        }
    }

    /// Runs it from the beginning.
    ///
    /// # Panics
    ///
    /// If the model misuses its pool.
    pub fn work(&mut self, agenda: &mut Agenda<Event>) -> u64 {
        agenda.clear();
        self.pools.clear();
        self.present = TimeTally::new(0, 0);
        self.waits.reset();
        agenda.schedule(0, 0, Event::Arrival(0));
        if let Err(error) = run(self, agenda, Tick::MAX) {
            panic!("{error}");
        }
        found(self.present.integral(agenda.now()), self.present.max(), self.waits.count())
    }
}

/// The figures, kept by hand.
#[derive(Default)]
struct Kept {
    area: i128,
    present: i64,
    since: Tick,
    max: i64,
    waits: u64,
    sum: f64,
    squares: f64,
    least: f64,
    most: f64,
}

impl Kept {
    #[inline]
    fn present(&mut self, now: Tick, change: i64) {
        self.area += i128::from(self.present) * i128::from(now - self.since);
        self.since = now;
        self.present += change;
        self.max = self.max.max(self.present);
    }

    #[inline]
    fn wait(&mut self, wait: f64) {
        self.waits += 1;
        self.sum += wait;
        self.squares += wait * wait;
        self.least = self.least.min(wait);
        self.most = self.most.max(wait);
    }

    fn found(&self) -> u64 {
        std::hint::black_box((self.sum, self.squares, self.least, self.most));
        found(self.area, self.max, self.waits)
    }
}

/// The loop a careful person writes for this one queue with the standard library: a heap of events, a
/// list of who waits, a busy flag.
#[must_use]
pub fn with_standard_heap(lorries: u64) -> u64 {
    let (draws, mut kept) = (Draws::default(), Kept::default());
    let mut heap = BinaryHeap::new();
    let mut queue = VecDeque::new();
    let mut busy = false;
    let mut serial = 0u64;
    // (time, serial, Some(lorry) arriving or None leaving)
    heap.push(Reverse((0, serial, Some(0u64))));
    while let Some(Reverse((now, _, event))) = heap.pop() {
        match event {
            Some(n) => {
                kept.present(now, 1);
                if busy {
                    queue.push_back((n, now));
                } else {
                    busy = true;
                    kept.wait(0.0);
                    serial += 1;
                    heap.push(Reverse((now + draws.service(n), serial, None)));
                }
                if n + 1 < lorries {
                    serial += 1;
                    heap.push(Reverse((now + draws.between(n), serial, Some(n + 1))));
                }
            }
            None => {
                kept.present(now, -1);
                if let Some((n, arrived)) = queue.pop_front() {
                    kept.wait((now - arrived) as f64);
                    serial += 1;
                    heap.push(Reverse((now + draws.service(n), serial, None)));
                } else {
                    busy = false;
                }
            }
        }
    }
    kept.found()
}

/// The least this queue can cost: no set of events at all, only the next arrival and the next leaving.
#[must_use]
pub fn with_two_variables(lorries: u64) -> u64 {
    let (draws, mut kept) = (Draws::default(), Kept::default());
    let mut queue = VecDeque::new();
    let (mut arrival, mut next, mut leaving) = (0, 0u64, Tick::MAX);
    loop {
        if next < lorries && arrival < leaving {
            let (now, n) = (arrival, next);
            kept.present(now, 1);
            if leaving == Tick::MAX {
                kept.wait(0.0);
                leaving = now + draws.service(n);
            } else {
                queue.push_back((n, now));
            }
            next += 1;
            arrival = now + draws.between(n);
        } else if leaving < Tick::MAX {
            let now = leaving;
            kept.present(now, -1);
            if let Some((n, arrived)) = queue.pop_front() {
                kept.wait((now - arrived) as f64);
                leaving = now + draws.service(n);
            } else {
                leaving = Tick::MAX;
            }
        } else {
            return kept.found();
        }
    }
}
