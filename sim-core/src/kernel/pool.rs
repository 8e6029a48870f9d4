//! Pools: things that are held for a while and given back, and the queue of those who wait for them.
//!
//! What a pool stands for (people, machines, a bay) and how long it is held is the model's business.
//!
//! # Who goes first
//!
//! A request names one or several pools with amounts, and is granted all of them at one instant or
//! none. All waiting requests stand in one queue, ranked by priority (a smaller number is more urgent),
//! then by the order in which they were made. Whenever something changes, the queue is walked once in
//! rank order, with what is free in each pool in hand:
//!
//! * a request that finds all it needs is granted;
//! * one that does not sets aside, in every pool it needs, as much of its amount as is there, and goes
//!   on waiting. It holds nothing: what is set aside is only closed to those behind it in this walk.
//!
//! So a request may overtake an earlier-ranked one in a pool they share only with what that one does
//! not need. Nothing that a waiting request could use goes to anyone ranked behind it: in each of its
//! pools the free amount can only grow towards what it needs (unless the capacity shrinks), so a large
//! request is not starved by small ones of its own priority or less urgent ones. More urgent requests
//! do go before it, without end if they keep coming. With a single pool this is plain first come first
//! served within a priority.
//!
//! # Pre-emption
//!
//! A pre-empting request that does not find what it needs may take it from holders of strictly less
//! urgent priority, if that serves it in full: from those that hold a pool still short, the least
//! urgent first, among equals the one granted last. It does not pre-empt past an earlier-ranked request
//! that is short of a pool both need. A pre-empted holder loses everything it holds, goes back to the
//! queue at its old rank, and is granted again later under the same ticket.

use std::cmp::Reverse;
use std::collections::VecDeque;

/// Names one pool of a [`Pools`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PoolId(u32);

/// Names a request from the moment it is made until it is released or withdrawn, through any number of
/// grants and pre-emptions. Afterwards it names nothing, for ever.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ticket {
    slot: u32,
    serial: u64,
}

/// What happened to a request. `tag` is what the request was made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change<T> {
    /// It holds all it asked for from now on.
    Granted {
        /// Which request.
        ticket: Ticket,
        /// Its tag.
        tag: T,
    },
    /// It holds nothing any more and waits at its old rank. The model takes the end of its work off the
    /// agenda and keeps what remains of it.
    Preempted {
        /// Which request.
        ticket: Ticket,
        /// Its tag.
        tag: T,
    },
}

/// What happens to holders when a capacity shrinks below what is in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shrink {
    /// They finish; the pool grants nothing until it is within its capacity again.
    Finish,
    /// As many as needed are pre-empted, the least urgent first, among equals the one granted last.
    Preempt,
}

/// Why something could not be done with pools. Nothing has changed then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PoolError {
    /// The pool belongs to no or another `Pools`.
    #[error("there is no pool {0}")]
    UnknownPool(u32),
    /// A request without needs.
    #[error("a request must ask for at least one pool")]
    NothingAsked,
    /// A need of nothing.
    #[error("the amount asked of pool {0} must be at least 1")]
    ZeroAmount(u32),
    /// One pool twice in a request.
    #[error("pool {0} is asked for twice in one request: add the amounts")]
    AskedTwice(u32),
    /// A release of what is not held: waiting, pre-empted, or long given back.
    #[error("the request holds nothing to release")]
    NotHeld,
    /// A withdrawal of what does not wait.
    #[error("the request does not wait, so it cannot be withdrawn")]
    NotWaiting,
}

#[derive(Debug, Clone, Default)]
struct Pool {
    capacity: i64,
    in_use: i64,
    /// Waiting requests that need this pool.
    waiting: u32,
    /// The walk that `spare` and `left` belong to.
    walk: u64,
    /// Free, less what earlier-ranked requests still want: negative when it does not reach them.
    spare: i64,
    /// Waiting requests that need this pool and were not yet reached.
    left: u32,
}

impl Pool {
    /// Whether a waiting request might find something here.
    #[inline]
    fn is_open(&self) -> bool {
        self.waiting > 0 && self.in_use < self.capacity
    }

    #[inline]
    fn offers(&self) -> bool {
        self.left > 0 && self.spare > 0
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Empty,
    Waiting,
    /// With the number of the grant, for the order of granting.
    Held(u64),
}

#[derive(Debug, Clone)]
struct Slot<T> {
    serial: u64,
    state: State,
    priority: i32,
    preempts: bool,
    tag: T,
    needs: Vec<(PoolId, u32)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Rank {
    priority: i32,
    serial: u64,
    slot: u32,
}

/// A holder in the order of being pre-empted: priority, number of the grant, slot.
type Victim = (Reverse<i32>, Reverse<u64>, u32);

/// Pools, their holders and the queue for them; `T` tags a request with what it is to the model. The
/// rules stand at the head of the [module](self).
///
/// What a call brings about is appended to the caller's buffer in the order it happened, so nothing is
/// allocated once warm.
///
/// ```
/// use sim_core::kernel::{Change, Pools};
/// let mut pools = Pools::new();
/// let drivers = pools.add(2);
/// let tractors = pools.add(1);
/// let mut changes = Vec::new();
///
/// let plough = pools.request("plough", 5, &[(drivers, 1), (tractors, 1)], &mut changes)?;
/// // Waits for the tractor, and sets a driver aside: the other one goes nowhere else.
/// let drill = pools.request("drill", 5, &[(drivers, 1), (tractors, 1)], &mut changes)?;
/// pools.request("fence", 5, &[(drivers, 1)], &mut changes)?;
/// assert_eq!(changes, [Change::Granted { ticket: plough, tag: "plough" }]);
///
/// changes.clear();
/// pools.release(plough, &mut changes)?;
/// assert_eq!(changes[0], Change::Granted { ticket: drill, tag: "drill" });
/// assert!(matches!(changes[1], Change::Granted { tag: "fence", .. }));
///
/// changes.clear();
/// let fire = pools.request_preempting("fire", 0, &[(tractors, 1)], &mut changes)?;
/// assert_eq!(changes[0], Change::Preempted { ticket: drill, tag: "drill" });
/// assert_eq!(changes[1], Change::Granted { ticket: fire, tag: "fire" });
/// # Ok::<(), sim_core::kernel::PoolError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Pools<T> {
    pools: Vec<Pool>,
    slots: Vec<Slot<T>>,
    empty: Vec<u32>,
    queue: VecDeque<Rank>,
    /// How many pools are open: where none is, no walk can grant anything without pre-emption.
    open: usize,
    /// Waiting requests that may pre-empt.
    preempting: usize,
    serial: u64,
    grants: u64,
    walks: u64,
    victims: Vec<Victim>,
    short: Vec<i64>,
}

impl<T> Default for Pools<T> {
    fn default() -> Self {
        Self {
            pools: Vec::new(),
            slots: Vec::new(),
            empty: Vec::new(),
            queue: VecDeque::new(),
            open: 0,
            preempting: 0,
            serial: 0,
            grants: 0,
            walks: 0,
            victims: Vec::new(),
            short: Vec::new(),
        }
    }
}

impl<T: Copy> Pools<T> {
    /// No pools yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A new pool of `capacity` pieces.
    pub fn add(&mut self, capacity: u32) -> PoolId {
        self.pools.push(Pool { capacity: i64::from(capacity), ..Pool::default() });
        PoolId((self.pools.len() - 1) as u32)
    }

    /// How many pieces `pool` has, held or not; `None` if there is no such pool.
    #[must_use]
    pub fn capacity(&self, pool: PoolId) -> Option<i64> {
        self.pools.get(pool.0 as usize).map(|pool| pool.capacity)
    }

    /// How many pieces of `pool` are held: more than its capacity after one that shrank and lets holders
    /// finish; `None` if there is no such pool.
    #[must_use]
    pub fn in_use(&self, pool: PoolId) -> Option<i64> {
        self.pools.get(pool.0 as usize).map(|pool| pool.in_use)
    }

    /// How many requests wait that need `pool`; `None` if there is no such pool.
    #[must_use]
    pub fn waiting(&self, pool: PoolId) -> Option<u32> {
        self.pools.get(pool.0 as usize).map(|pool| pool.waiting)
    }

    /// Whether the request holds what it asked for.
    #[must_use]
    pub fn is_held(&self, ticket: Ticket) -> bool {
        self.find(ticket).is_some_and(|slot| matches!(slot.state, State::Held(_)))
    }

    /// Whether the request waits, for the first time or pre-empted.
    #[must_use]
    pub fn is_waiting(&self, ticket: Ticket) -> bool {
        self.find(ticket).is_some_and(|slot| slot.state == State::Waiting)
    }

    /// Asks for `needs`, all at once, and waits where they are not to be had. A need of more than a
    /// pool's capacity waits until the capacity has grown.
    ///
    /// # Errors
    ///
    /// [`PoolError`] for an unknown pool, no needs, an amount of 0, or one pool twice.
    #[inline]
    pub fn request(
        &mut self,
        tag: T,
        priority: i32,
        needs: &[(PoolId, u32)],
        changes: &mut Vec<Change<T>>,
    ) -> Result<Ticket, PoolError> {
        self.enter(tag, priority, false, needs, changes)
    }

    /// Like [`request`](Self::request), but takes what is short from holders of less urgent priority.
    ///
    /// # Errors
    ///
    /// As for [`request`](Self::request).
    pub fn request_preempting(
        &mut self,
        tag: T,
        priority: i32,
        needs: &[(PoolId, u32)],
        changes: &mut Vec<Change<T>>,
    ) -> Result<Ticket, PoolError> {
        self.enter(tag, priority, true, needs, changes)
    }

    /// Gives back all that the request holds. The ticket is used up.
    ///
    /// # Errors
    ///
    /// [`PoolError::NotHeld`] where it holds nothing.
    #[inline]
    pub fn release(&mut self, ticket: Ticket, changes: &mut Vec<Change<T>>) -> Result<(), PoolError> {
        if !self.is_held(ticket) {
            return Err(PoolError::NotHeld);
        }
        self.give_back(ticket.slot);
        self.vacate(ticket.slot);
        self.settle(changes);
        Ok(())
    }

    /// Takes a waiting request out of the queue. The ticket is used up.
    ///
    /// # Errors
    ///
    /// [`PoolError::NotWaiting`] where it does not wait.
    pub fn withdraw(&mut self, ticket: Ticket, changes: &mut Vec<Change<T>>) -> Result<(), PoolError> {
        if !self.is_waiting(ticket) {
            return Err(PoolError::NotWaiting);
        }
        let rank = self.rank(ticket.slot);
        if let Ok(place) = self.queue.binary_search(&rank) {
            self.unqueue(place);
            self.adjust_each(ticket.slot, |pool, _| pool.waiting -= 1);
        }
        self.vacate(ticket.slot);
        self.settle(changes);
        Ok(())
    }

    /// Gives `pool` another capacity, from now on.
    ///
    /// # Errors
    ///
    /// [`PoolError::UnknownPool`].
    pub fn set_capacity(
        &mut self,
        pool: PoolId,
        capacity: u32,
        shrink: Shrink,
        changes: &mut Vec<Change<T>>,
    ) -> Result<(), PoolError> {
        if self.pools.len() <= pool.0 as usize {
            return Err(PoolError::UnknownPool(pool.0));
        }
        let state = &mut self.pools[pool.0 as usize];
        let was = state.is_open();
        state.capacity = i64::from(capacity);
        self.open = self.open + usize::from(state.is_open()) - usize::from(was);
        let mut over = state.in_use - state.capacity;
        if shrink == Shrink::Preempt && over > 0 {
            let mut victims = self.holders(None);
            victims.retain(|&(_, _, slot)| {
                let held = amount_of(&self.slots[slot as usize].needs, pool);
                let chosen = over > 0 && held > 0;
                if chosen {
                    over -= held;
                }
                chosen
            });
            self.preempt(victims, changes);
        }
        self.settle(changes);
        Ok(())
    }

    /// Forgets all requests, held and waiting; pools and their present capacities stay. Old tickets name
    /// nothing.
    pub fn clear(&mut self) {
        for pool in &mut self.pools {
            (pool.in_use, pool.waiting) = (0, 0);
        }
        self.queue.clear();
        (self.open, self.preempting) = (0, 0);
        self.empty.clear();
        for (place, slot) in self.slots.iter_mut().enumerate().rev() {
            slot.state = State::Empty;
            self.empty.push(place as u32);
        }
    }

    #[inline]
    fn find(&self, ticket: Ticket) -> Option<&Slot<T>> {
        self.slots.get(ticket.slot as usize).filter(|slot| slot.serial == ticket.serial)
    }

    fn check(&self, needs: &[(PoolId, u32)]) -> Result<(), PoolError> {
        if needs.is_empty() {
            return Err(PoolError::NothingAsked);
        }
        for (place, &(pool, amount)) in needs.iter().enumerate() {
            if self.pools.len() <= pool.0 as usize {
                return Err(PoolError::UnknownPool(pool.0));
            }
            if amount == 0 {
                return Err(PoolError::ZeroAmount(pool.0));
            }
            if needs[..place].iter().any(|&(earlier, _)| earlier == pool) {
                return Err(PoolError::AskedTwice(pool.0));
            }
        }
        Ok(())
    }

    #[inline]
    fn enter(
        &mut self,
        tag: T,
        priority: i32,
        preempts: bool,
        needs: &[(PoolId, u32)],
        changes: &mut Vec<Change<T>>,
    ) -> Result<Ticket, PoolError> {
        self.check(needs)?;
        let serial = self.serial;
        self.serial += 1;
        let slot = if let Some(place) = self.empty.pop() {
            let slot = &mut self.slots[place as usize];
            (slot.serial, slot.priority, slot.preempts, slot.tag) = (serial, priority, preempts, tag);
            slot.needs.clear();
            slot.needs.extend_from_slice(needs);
            place
        } else {
            let needs = needs.to_vec();
            self.slots.push(Slot { serial, state: State::Empty, priority, preempts, tag, needs });
            // Room for all of them to be empty at once, so that giving back never allocates.
            self.empty.reserve(self.slots.len());
            (self.slots.len() - 1) as u32
        };
        let uncontended = needs.iter().all(|&(pool, amount)| {
            let pool = &self.pools[pool.0 as usize];
            pool.waiting == 0 && pool.capacity - pool.in_use >= i64::from(amount)
        });
        if uncontended {
            self.grant(slot, 0, changes);
        } else {
            self.join_queue(slot);
            self.settle(changes);
        }
        Ok(Ticket { slot, serial })
    }

    #[inline]
    fn rank(&self, slot: u32) -> Rank {
        let Slot { priority, serial, .. } = self.slots[slot as usize];
        Rank { priority, serial, slot }
    }

    /// Changes every pool the request needs, by its amount, and keeps count of the open ones.
    #[inline]
    fn adjust_each(&mut self, slot: u32, change: impl Fn(&mut Pool, i64)) {
        for &(pool, amount) in &self.slots[slot as usize].needs {
            let pool = &mut self.pools[pool.0 as usize];
            let was = pool.is_open();
            change(pool, i64::from(amount));
            self.open = self.open + usize::from(pool.is_open()) - usize::from(was);
        }
    }

    /// Lets the request hold its needs. `left` is 1 if it waited until now: it is one fewer then.
    #[inline]
    fn grant(&mut self, slot: u32, left: u32, changes: &mut Vec<Change<T>>) {
        self.adjust_each(slot, |pool, amount| {
            pool.in_use += amount;
            pool.waiting -= left;
        });
        self.grants += 1;
        let granted = &mut self.slots[slot as usize];
        granted.state = State::Held(self.grants);
        changes.push(Change::Granted { ticket: Ticket { slot, serial: granted.serial }, tag: granted.tag });
    }

    #[inline]
    fn give_back(&mut self, slot: u32) {
        self.adjust_each(slot, |pool, amount| pool.in_use -= amount);
    }

    #[inline]
    fn vacate(&mut self, slot: u32) {
        self.slots[slot as usize].state = State::Empty;
        self.empty.push(slot);
    }

    #[inline]
    fn join_queue(&mut self, slot: u32) {
        let rank = self.rank(slot);
        if self.queue.back().is_none_or(|last| *last < rank) {
            self.queue.push_back(rank);
        } else {
            self.queue.insert(self.queue.partition_point(|other| *other < rank), rank);
        }
        self.adjust_each(slot, |pool, _| pool.waiting += 1);
        self.slots[slot as usize].state = State::Waiting;
        self.preempting += usize::from(self.slots[slot as usize].preempts);
    }

    /// Takes the request at `place` off the queue; that it no longer waits is for the caller to count.
    #[inline]
    fn unqueue(&mut self, place: usize) {
        let rank = if place == 0 { self.queue.pop_front() } else { self.queue.remove(place) };
        self.preempting -= usize::from(rank.is_some_and(|rank| self.slots[rank.slot as usize].preempts));
    }

    /// Grants all that can be granted now.
    #[inline]
    fn settle(&mut self, changes: &mut Vec<Change<T>>) {
        // Every pre-emption puts a more urgent request in the place of a less urgent one, so this ends.
        while (self.open > 0 || self.preempting > 0) && self.walk(changes) {}
    }

    /// One walk along the queue; whether it ended with a pre-emption and must be done again.
    fn walk(&mut self, changes: &mut Vec<Change<T>>) -> bool {
        self.walks += 1;
        let mut open = self.open;
        let mut place = 0;
        while place < self.queue.len() && (open > 0 || self.preempting > 0) {
            let slot = self.queue[place].slot;
            let needs = &self.slots[slot as usize].needs;
            let mut fits = true;
            for &(pool, amount) in needs {
                let pool = &mut self.pools[pool.0 as usize];
                if pool.walk != self.walks {
                    pool.walk = self.walks;
                    (pool.spare, pool.left) = (pool.capacity - pool.in_use, pool.waiting);
                }
                fits &= pool.spare >= i64::from(amount);
            }
            if !fits && self.slots[slot as usize].preempts && self.preempt_for(slot, changes) {
                return true;
            }
            for &(pool, amount) in &self.slots[slot as usize].needs {
                let pool = &mut self.pools[pool.0 as usize];
                let offered = pool.offers();
                pool.spare -= i64::from(amount);
                pool.left -= 1;
                open -= usize::from(offered && !pool.offers());
            }
            if fits {
                self.unqueue(place);
                self.grant(slot, 1, changes);
            } else {
                place += 1;
            }
        }
        false
    }

    /// The holders that are less urgent than `priority`, or all; the first to be pre-empted first.
    fn holders(&mut self, priority: Option<i32>) -> Vec<Victim> {
        let mut victims = std::mem::take(&mut self.victims);
        victims.clear();
        victims.extend(self.slots.iter().enumerate().filter_map(|(place, slot)| match slot.state {
            State::Held(grant) if priority.is_none_or(|priority| slot.priority > priority) => {
                Some((Reverse(slot.priority), Reverse(grant), place as u32))
            }
            _ => None,
        }));
        victims.sort_unstable();
        victims
    }

    /// Pre-empts what the request at `slot`, just reached by a walk, is short of; whether it could.
    fn preempt_for(&mut self, slot: u32, changes: &mut Vec<Change<T>>) -> bool {
        let asking = &self.slots[slot as usize];
        let spare = |pool: PoolId| self.pools[pool.0 as usize].spare;
        if asking.needs.iter().any(|&(pool, _)| spare(pool) < 0) {
            return false;
        }
        let mut short = std::mem::take(&mut self.short);
        short.clear();
        short.extend(asking.needs.iter().map(|&(pool, amount)| i64::from(amount) - spare(pool)));
        let mut victims = self.holders(Some(self.slots[slot as usize].priority));
        let needs = &self.slots[slot as usize].needs;
        victims.retain(|&(_, _, holder)| {
            let held = &self.slots[holder as usize].needs;
            let mut helps = false;
            for (&(pool, _), short) in needs.iter().zip(&short) {
                helps |= *short > 0 && amount_of(held, pool) > 0;
            }
            if helps {
                for (&(pool, _), short) in needs.iter().zip(&mut short) {
                    *short -= amount_of(held, pool);
                }
            }
            helps
        });
        let serves = short.iter().all(|&short| short <= 0);
        self.short = short;
        if serves {
            self.preempt(victims, changes);
        } else {
            self.victims = victims;
        }
        serves
    }

    fn preempt(&mut self, victims: Vec<Victim>, changes: &mut Vec<Change<T>>) {
        for &(_, _, slot) in &victims {
            self.give_back(slot);
            self.join_queue(slot);
            let Slot { serial, tag, .. } = self.slots[slot as usize];
            changes.push(Change::Preempted { ticket: Ticket { slot, serial }, tag });
        }
        self.victims = victims;
    }
}

fn amount_of(needs: &[(PoolId, u32)], pool: PoolId) -> i64 {
    needs.iter().find(|need| need.0 == pool).map_or(0, |need| i64::from(need.1))
}
