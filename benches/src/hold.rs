//! The hold model: a fixed number of pending events, each of which, when it happens, schedules its
//! successor; every tenth step also cancels some other event and schedules it anew. The classic measure
//! of a pending-event set (Jones 1986, "An empirical comparison of priority-queue and event-set
//! implementations", from memory).

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use sim_core::kernel::draw::Stream;
use sim_core::kernel::{Agenda, Handle, Tick};

/// A set of pending events, each known by a number.
pub trait Pending {
    /// What names a scheduled event.
    type Handle: Copy;
    /// Adds `event` at `at`.
    fn add(&mut self, at: Tick, event: u32) -> Self::Handle;
    /// Takes the earliest event.
    fn take(&mut self) -> Option<(Tick, u32)>;
    /// Takes back a pending event.
    fn cancel(&mut self, handle: Self::Handle) -> bool;
    /// Forgets everything but its capacity.
    fn clear(&mut self);
}

impl Pending for Agenda<u32> {
    type Handle = Handle;
    #[inline]
    fn add(&mut self, at: Tick, event: u32) -> Handle {
        self.schedule(at, 0, event)
    }
    #[inline]
    fn take(&mut self) -> Option<(Tick, u32)> {
        self.pop()
    }
    #[inline]
    fn cancel(&mut self, handle: Handle) -> bool {
        Agenda::cancel(self, handle).is_some()
    }
    #[inline]
    fn clear(&mut self) {
        Agenda::clear(self);
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Entry {
    time: Tick,
    serial: u64,
    place: u32,
    event: u32,
}

impl Ord for Entry {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        (other.time, other.serial).cmp(&(self.time, self.serial))
    }
}

impl PartialOrd for Entry {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The floor: the standard library's heap used by hand, events inside, with a table of who is alive for
/// cancelling. It does no more than the hold model needs: no phases, no refusal of the past.
#[derive(Debug, Default)]
pub struct ByHand {
    heap: BinaryHeap<Entry>,
    alive: Vec<u64>,
    free: Vec<u32>,
    serial: u64,
}

impl Pending for ByHand {
    type Handle = (u32, u64);
    #[inline]
    fn add(&mut self, at: Tick, event: u32) -> (u32, u64) {
        self.serial += 1;
        let serial = self.serial;
        let place = if let Some(place) = self.free.pop() {
            self.alive[place as usize] = serial;
            place
        } else {
            self.alive.push(serial);
            (self.alive.len() - 1) as u32
        };
        self.heap.push(Entry { time: at, serial, place, event });
        (place, serial)
    }
    #[inline]
    fn take(&mut self) -> Option<(Tick, u32)> {
        loop {
            let entry = self.heap.pop()?;
            let alive = &mut self.alive[entry.place as usize];
            if *alive == entry.serial {
                *alive = 0;
                self.free.push(entry.place);
                return Some((entry.time, entry.event));
            }
        }
    }
    #[inline]
    fn cancel(&mut self, (place, serial): (u32, u64)) -> bool {
        let alive = &mut self.alive[place as usize];
        if *alive != serial {
            return false;
        }
        *alive = 0;
        self.free.push(place);
        true
    }
    #[inline]
    fn clear(&mut self) {
        self.heap.clear();
        self.alive.clear();
        self.free.clear();
    }
}

/// How far ahead each next event lies, drawn beforehand so that the draws are not what is measured.
#[derive(Debug)]
pub struct Ahead(Vec<Tick>);

impl Default for Ahead {
    fn default() -> Self {
        let stream = Stream::new(1, 0, 0);
        // Exponential with a mean of a million ticks.
        Self((0..1 << 16).map(|i| (-1.0e6 * (1.0 - stream.uniform(i)).ln()) as Tick).collect())
    }
}

impl Ahead {
    #[inline]
    fn at(&self, i: usize) -> Tick {
        self.0[i & 0xffff]
    }
}

/// `steps` steps of the hold model with `events` pending; returns a hash of the order they came in.
pub fn hold<P: Pending>(
    pending: &mut P,
    handles: &mut Vec<P::Handle>,
    ahead: &Ahead,
    events: u32,
    steps: usize,
) -> u64 {
    pending.clear();
    handles.clear();
    for event in 0..events {
        handles.push(pending.add(ahead.at(event as usize), event));
    }
    let (mut hash, mut used) = (0u64, events as usize);
    let mut until_cancel = 10;
    let mut victim = 0;
    for _ in 0..steps {
        let Some((now, event)) = pending.take() else { break };
        hash = hash.wrapping_mul(31).wrapping_add(now as u64 ^ u64::from(event));
        handles[event as usize] = pending.add(now + ahead.at(used), event);
        used += 1;
        until_cancel -= 1;
        if until_cancel == 0 {
            until_cancel = 10;
            victim = (victim + 7) % events;
            if pending.cancel(handles[victim as usize]) {
                handles[victim as usize] = pending.add(now + ahead.at(used), victim);
            }
            used += 1;
        }
    }
    hash
}
