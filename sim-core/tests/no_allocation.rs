//! Once warm, no part of the kernel allocates: the same work done a second time asks for no memory.

use allocation_counter::measure;
use sim_core::kernel::draw::Stream;
use sim_core::kernel::{
    Agenda, Change, CountTally, Level, Model, PoolError, PoolId, Pools, Shrink, Tick, Ticket, TimeTally, run,
};

/// Does the work twice and says how often the second time asked for memory.
fn second_time(mut work: impl FnMut()) -> u64 {
    let first = measure(&mut work);
    assert!(first.count_total > 0, "the counter counts");
    measure(&mut work).count_total
}

#[test]
fn the_counter_sees_a_list_that_grows() {
    let mut list = Vec::with_capacity(1);
    let counted = measure(|| (0..100).for_each(|i| list.push(i)));
    assert!(counted.count_total >= 3, "{counted:?}");
}

#[test]
fn the_agenda_allocates_nothing_once_warm() {
    let (mut agenda, mut handles) = (Agenda::new(), Vec::new());
    let draws = Stream::new(1, 0, 0);
    let count = second_time(|| {
        agenda.clear();
        handles.clear();
        for event in 0..1000usize {
            handles.push(agenda.schedule(event as Tick, 0, event));
        }
        for step in 0..20_000 {
            let (now, event) = agenda.pop().unwrap();
            handles[event] = agenda.schedule(now + (draws.uniform(step) * 1e4) as Tick, 0, event);
            if step % 10 == 0 {
                let other = (draws.bits(step) % 1000) as usize;
                assert!(agenda.cancel(handles[other]).is_some());
                handles[other] = agenda.schedule(now + 1, 0, other);
            }
        }
        assert_eq!(agenda.len(), 1000);
    });
    assert_eq!(count, 0);
}

enum Event {
    Arrival(u64),
    Leaving(Ticket),
}

struct Queue {
    draws: Stream,
    pools: Pools<(u64, Tick)>,
    server: PoolId,
    changes: Vec<Change<(u64, Tick)>>,
    present: TimeTally,
    waits: CountTally,
}

impl Queue {
    fn exponential(&self, index: u64, mean: f64) -> Tick {
        (-(1.0 - self.draws.uniform(index)).ln() * mean) as Tick
    }
}

impl Model for Queue {
    type Event = Event;
    type Error = PoolError;
    fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), PoolError> {
        match event {
            Event::Arrival(n) => {
                self.present.add(now, 1);
                self.pools.request((n, now), 0, &[(self.server, 1)], &mut self.changes)?;
                agenda.schedule(now + self.exponential(2 * n, 1200.0), 0, Event::Arrival(n + 1));
            }
            Event::Leaving(ticket) => {
                self.present.add(now, -1);
                self.pools.release(ticket, &mut self.changes)?;
            }
        }
        for at in 0..self.changes.len() {
            if let Change::Granted { ticket, tag: (n, arrived) } = self.changes[at] {
                self.waits.add((now - arrived) as f64);
                agenda.schedule(now + self.exponential(2 * n + 1, 1000.0), 0, Event::Leaving(ticket));
            }
        }
        self.changes.clear();
        Ok(())
    }
}

#[test]
fn a_queue_with_pools_and_tallies_allocates_nothing_once_warm() {
    let mut pools = Pools::new();
    let server = pools.add(1);
    let mut queue = Queue {
        draws: Stream::new(2, 0, 0),
        pools,
        server,
        changes: Vec::new(),
        present: TimeTally::new(0, 0),
        waits: CountTally::default(),
    };
    let mut agenda = Agenda::new();
    let count = second_time(|| {
        agenda.clear();
        queue.pools.clear();
        queue.present = TimeTally::new(0, 0);
        queue.waits.reset();
        agenda.schedule(0, 0, Event::Arrival(0));
        run(&mut queue, &mut agenda, 20_000_000).unwrap();
        assert!(queue.waits.count() > 10_000 && queue.present.max() > 5);
    });
    assert_eq!(count, 0);
}

#[test]
fn preemption_several_pools_and_changing_capacity_allocate_nothing_once_warm() {
    let mut pools = Pools::new();
    let ids = [pools.add(4), pools.add(3), pools.add(2)];
    let (mut changes, mut tickets) = (Vec::new(), Vec::new());
    let draws = Stream::new(3, 0, 0);
    let mut preempted = 0;
    let count = second_time(|| {
        pools.clear();
        tickets.clear();
        for step in 0..5_000u64 {
            changes.clear();
            let bits = draws.bits(step);
            let needs =
                [(ids[(bits % 3) as usize], 1), (ids[((bits + 1) % 3) as usize], 1 + (bits >> 8) as u32 % 2)];
            let priority = (bits >> 16) as i32 & 3;
            tickets.push(if bits >> 63 == 0 {
                pools.request(step, priority, &needs, &mut changes).unwrap()
            } else {
                pools.request_preempting(step, priority, &needs, &mut changes).unwrap()
            });
            if step % 50 == 0 {
                let capacity = 2 + (bits >> 32) as u32 % 3;
                pools.set_capacity(ids[0], capacity, Shrink::Preempt, &mut changes).unwrap();
            }
            for _ in 0..tickets.len() / 8 {
                let ticket = tickets.swap_remove((bits >> 20) as usize % tickets.len());
                if pools.is_held(ticket) {
                    pools.release(ticket, &mut changes).unwrap();
                } else {
                    pools.withdraw(ticket, &mut changes).unwrap();
                }
            }
            preempted += changes.iter().filter(|change| matches!(change, Change::Preempted { .. })).count();
        }
        pools.set_capacity(ids[0], 4, Shrink::Finish, &mut changes).unwrap();
    });
    assert!(preempted > 100, "{preempted}");
    assert_eq!(count, 0);
}

#[test]
fn levels_allocate_nothing_once_warm() {
    let (mut level, mut moved) = (Level::new(100, 50).unwrap(), Vec::new());
    let draws = Stream::new(4, 0, 0);
    let count = second_time(|| {
        level.reset(50).unwrap();
        for step in 0..5_000 {
            moved.clear();
            let amount = 1 + (draws.bits(step) % 100) as i64;
            if draws.bits(step) >> 63 == 0 || level.waiting().1 > 5 {
                level.put(step, amount, &mut moved).unwrap();
            } else {
                level.take(step, amount, &mut moved).unwrap();
            }
        }
    });
    assert_eq!(count, 0);
}
