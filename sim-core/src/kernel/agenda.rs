//! The agenda: the events still to come, in a total order, with cancel.
//!
//! What an event means lives in the model ([`Model`](super::Model)); nothing here looks inside one.
//!
//! Events are parked in numbered slots and only small keys move in the heap, so the size of an event
//! does not matter to the ordering. The heap has four children a node: half the depth of a binary one.

/// A point in time, or a length of it, in whole ticks. A farm's tick is one second.
pub type Tick = i64;

/// Bits of an order word that number the schedulings; the phase sits above them.
const SERIAL_BITS: u32 = 56;

/// Children of a node.
const FAN: usize = 4;

/// The order word of an empty slot: no scheduling reaches it.
const EMPTY: u64 = u64::MAX;

/// Fewer keys than this are never worth compacting.
const COMPACT_FROM: usize = 64;

/// Names one scheduled event, to cancel it. It stays harmless for ever: once its event has happened, or
/// was cancelled or cleared, it names nothing, even after its place has been used again.
///
/// A handle belongs to the agenda that gave it; another agenda may take it for one of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Handle {
    slot: u32,
    order: u64,
}

#[derive(Debug, Clone, Copy)]
struct Key {
    time: Tick,
    /// Phase, then the number of the scheduling: unique, so it also tells a slot's tenants apart.
    order: u64,
    slot: u32,
}

impl Key {
    #[inline]
    fn rank(&self) -> i128 {
        (i128::from(self.time) << 64) | i128::from(self.order)
    }
}

#[derive(Debug, Clone)]
struct Slot<E> {
    order: u64,
    event: Option<E>,
}

/// The events still to come.
///
/// Events come out in the order of (time, phase, order in which they were scheduled): a total order, so
/// a run never depends on how the agenda is built. Phases sort what happens at one instant: a smaller
/// phase comes first, also when it was scheduled later.
///
/// Scheduling, taking and cancelling cost O(log n) (cancelling amortised), and allocate nothing once the
/// agenda has been as full as it gets.
///
/// ```
/// use sim_core::kernel::Agenda;
/// let mut agenda = Agenda::new();
/// let late = agenda.schedule(20, 0, "late");
/// agenda.schedule(10, 1, "second");
/// agenda.schedule(10, 0, "first");
/// assert_eq!(agenda.cancel(late), Some("late"));
/// assert_eq!(agenda.cancel(late), None);
/// assert_eq!(agenda.pop(), Some((10, "first")));
/// assert_eq!(agenda.pop(), Some((10, "second")));
/// assert_eq!(agenda.pop(), None);
/// assert_eq!(agenda.now(), 10);
/// ```
#[derive(Debug, Clone)]
pub struct Agenda<E> {
    /// A heap of keys, smallest first. A key is dead when its slot holds another order. The root is
    /// never dead.
    heap: Vec<Key>,
    slots: Vec<Slot<E>>,
    free: Vec<u32>,
    now: Tick,
    start: Tick,
    serial: u64,
    stop: bool,
}

impl<E> Default for Agenda<E> {
    fn default() -> Self {
        Self::new()
    }
}

impl<E> Agenda<E> {
    /// An empty agenda whose clock stands at tick 0.
    #[must_use]
    pub fn new() -> Self {
        Self::starting_at(0)
    }

    /// An empty agenda whose clock stands at `start`.
    #[must_use]
    pub fn starting_at(start: Tick) -> Self {
        Self {
            heap: Vec::new(),
            slots: Vec::new(),
            free: Vec::new(),
            now: start,
            start,
            serial: 0,
            stop: false,
        }
    }

    /// The clock: the time of the event taken last, or the start.
    #[inline]
    #[must_use]
    pub fn now(&self) -> Tick {
        self.now
    }

    /// How many events are still to come.
    #[inline]
    #[must_use]
    pub fn len(&self) -> usize {
        self.slots.len() - self.free.len()
    }

    /// Whether nothing is still to come.
    #[inline]
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.heap.is_empty()
    }

    /// The time of the next event.
    #[inline]
    #[must_use]
    pub fn peek_time(&self) -> Option<Tick> {
        self.heap.first().map(|key| key.time)
    }

    /// Lets `event` happen at tick `at`, among the events of that tick in the given `phase` (0 first).
    ///
    /// # Panics
    ///
    /// If `at` lies before [`now`](Self::now): a model that plans the past is wrong, and going on would
    /// give a wrong answer. Also at 2^32 pending events.
    #[inline]
    pub fn schedule(&mut self, at: Tick, phase: u8, event: E) -> Handle {
        assert!(at >= self.now, "event scheduled at tick {at}, but the clock stands at {}", self.now);
        let order = (u64::from(phase) << SERIAL_BITS) | self.serial;
        // 2^56 schedulings are two thousand years at a million a second: the count does not run out.
        self.serial += 1;
        let slot = if let Some(slot) = self.free.pop() {
            self.slots[slot as usize] = Slot { order, event: Some(event) };
            slot
        } else {
            assert!(self.slots.len() < u32::MAX as usize, "too many events pending");
            self.slots.push(Slot { order, event: Some(event) });
            // Room for all of them to be empty at once, so that taking an event never allocates.
            self.free.reserve(self.slots.len());
            (self.slots.len() - 1) as u32
        };
        let key = Key { time: at, order, slot };
        self.heap.push(key);
        let last = self.heap.len() - 1;
        sift_up(&mut self.heap, 0, last, key);
        Handle { slot, order }
    }

    /// Takes the event of `handle` off the agenda and returns it; `None` if it is no longer there.
    #[inline]
    pub fn cancel(&mut self, handle: Handle) -> Option<E> {
        if self.is_pending(handle) { self.take_off(handle) } else { None }
    }

    fn take_off(&mut self, handle: Handle) -> Option<E> {
        let slot = self.slots.get_mut(handle.slot as usize)?;
        slot.order = EMPTY;
        let event = slot.event.take();
        self.free.push(handle.slot);
        // The key stays behind, dead, until it reaches the root or the dead outnumber the living.
        if self.heap.len() > COMPACT_FROM && self.heap.len() > 2 * self.len() {
            self.compact();
        }
        self.drop_dead_roots();
        event
    }

    /// Whether the event of `handle` is still to come.
    #[inline]
    #[must_use]
    pub fn is_pending(&self, handle: Handle) -> bool {
        self.slots.get(handle.slot as usize).is_some_and(|slot| slot.order == handle.order)
    }

    /// Takes the next event and moves the clock to its time.
    #[inline]
    pub fn pop(&mut self) -> Option<(Tick, E)> {
        self.pop_until(Tick::MAX)
    }

    /// Takes the next event if its time is `until` at the latest, and moves the clock to its time.
    #[inline]
    pub fn pop_until(&mut self, until: Tick) -> Option<(Tick, E)> {
        let key = *self.heap.first()?;
        if key.time > until {
            return None;
        }
        let slot = &mut self.slots[key.slot as usize];
        slot.order = EMPTY;
        let event = slot.event.take();
        self.free.push(key.slot);
        self.remove_root();
        self.drop_dead_roots();
        self.now = key.time;
        event.map(|event| (key.time, event))
    }

    /// Forgets every event and puts the clock back to the start. Capacity is kept and old handles stay
    /// harmless, so one agenda serves any number of runs.
    pub fn clear(&mut self) {
        self.heap.clear();
        self.slots.clear();
        self.free.clear();
        self.now = self.start;
        self.stop = false;
    }

    /// Asks the run loop to stop after the event at hand.
    #[inline]
    pub fn stop(&mut self) {
        self.stop = true;
    }

    /// Whether a stop was asked for; the request is used up.
    #[inline]
    pub(super) fn take_stop(&mut self) -> bool {
        std::mem::take(&mut self.stop)
    }

    /// Moves the clock on to `to`, where no event lies before it.
    pub(super) fn advance(&mut self, to: Tick) {
        debug_assert!(self.peek_time().is_none_or(|next| next >= to));
        self.now = self.now.max(to);
    }

    #[inline]
    fn drop_dead_roots(&mut self) {
        while let Some(key) = self.heap.first() {
            if self.slots[key.slot as usize].order == key.order {
                break;
            }
            self.remove_root();
        }
    }

    #[inline]
    fn remove_root(&mut self) {
        if let Some(last) = self.heap.pop()
            && !self.heap.is_empty()
        {
            sift_down(&mut self.heap, 0, last);
        }
    }

    #[cold]
    fn compact(&mut self) {
        let slots = &self.slots;
        self.heap.retain(|key| slots[key.slot as usize].order == key.order);
        for place in (0..self.heap.len().div_ceil(FAN)).rev() {
            let key = self.heap[place];
            sift_down(&mut self.heap, place, key);
        }
    }
}

/// Puts `key` into the hole at `hole`, moving larger ancestors down, no higher than `top`.
#[inline]
fn sift_up(heap: &mut [Key], top: usize, mut hole: usize, key: Key) {
    while hole > top {
        let parent = (hole - 1) / FAN;
        if heap[parent].rank() <= key.rank() {
            break;
        }
        heap[hole] = heap[parent];
        hole = parent;
    }
    heap[hole] = key;
}

/// Puts `key` into the hole at `top`. The hole sinks to a leaf first, since a key that comes from a leaf
/// mostly belongs there, and that saves a comparison a level.
#[inline]
fn sift_down(heap: &mut [Key], top: usize, key: Key) {
    let mut hole = top;
    loop {
        let first = hole * FAN + 1;
        let Some(children) = heap.get(first..) else { break };
        let least = if let Some(four) = children.first_chunk::<FAN>() {
            let left = usize::from(four[1].rank() < four[0].rank());
            let right = 2 + usize::from(four[3].rank() < four[2].rank());
            if four[right].rank() < four[left].rank() { right } else { left }
        } else {
            let mut least = 0;
            for child in 1..children.len() {
                if children[child].rank() < children[least].rank() {
                    least = child;
                }
            }
            if children.is_empty() {
                break;
            }
            least
        };
        heap[hole] = heap[first + least];
        hole = first + least;
    }
    sift_up(heap, top, hole, key);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[should_panic(expected = "event scheduled at tick 4, but the clock stands at 5")]
    fn the_past_is_refused() {
        let mut agenda = Agenda::new();
        agenda.schedule(5, 0, ());
        agenda.pop();
        agenda.schedule(4, 0, ());
    }

    #[test]
    fn the_present_is_not_the_past() {
        let mut agenda = Agenda::starting_at(-3);
        agenda.schedule(-3, 7, 'a');
        assert_eq!(agenda.pop(), Some((-3, 'a')));
        agenda.schedule(-3, 0, 'b');
        assert_eq!(agenda.pop(), Some((-3, 'b')));
    }

    #[test]
    fn a_handle_never_names_the_next_tenant_of_its_slot() {
        let mut agenda = Agenda::new();
        let old = agenda.schedule(1, 0, 'a');
        agenda.pop();
        let new = agenda.schedule(1, 0, 'b');
        assert_eq!(old.slot, new.slot);
        assert_eq!(agenda.cancel(old), None);
        agenda.clear();
        let newest = agenda.schedule(1, 0, 'c');
        assert_eq!(agenda.cancel(new), None);
        assert!(agenda.is_pending(newest));
        assert_eq!(agenda.len(), 1);
    }

    #[test]
    fn clearing_keeps_capacity_and_starts_anew() {
        let mut agenda = Agenda::starting_at(9);
        for at in 0..100 {
            agenda.schedule(10 + at, 0, at);
        }
        agenda.pop();
        agenda.stop();
        let capacity = agenda.heap.capacity();
        agenda.clear();
        assert!(agenda.is_empty() && agenda.peek_time().is_none() && !agenda.take_stop());
        assert_eq!((agenda.now(), agenda.heap.capacity()), (9, capacity));
    }

    #[test]
    fn the_dead_never_outnumber_the_living_for_long_and_the_living_stay_in_order() {
        let mut agenda = Agenda::new();
        // 7919 is prime to 1000: every time once, in a scattered order.
        let scattered = |i: Tick| i * 7919 % 1000;
        let handles: Vec<_> = (0..1000).map(|i| agenda.schedule(scattered(i), 0, scattered(i))).collect();
        for handle in handles.iter().skip(300) {
            agenda.cancel(*handle);
            assert!(agenda.heap.len() <= COMPACT_FROM.max(2 * agenda.len()));
        }
        let mut living: Vec<Tick> = (0..300).map(scattered).collect();
        living.sort_unstable();
        for at in living {
            assert_eq!(agenda.pop(), Some((at, at)));
        }
        assert_eq!(agenda.pop(), None);
    }
}
