//! Levels: what a tank or a hopper holds, and who waits to put in or take out.
//!
//! How fast something flows is the model's business: here an amount moves at one instant.

use std::collections::VecDeque;

/// Names a put or a take that waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LevelTicket(u64);

/// A put or a take that was carried out. `tag` is what it was asked with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved<T> {
    /// The amount is in.
    Put {
        /// Which put.
        ticket: LevelTicket,
        /// Its tag.
        tag: T,
    },
    /// The amount is out.
    Taken {
        /// Which take.
        ticket: LevelTicket,
        /// Its tag.
        tag: T,
    },
}

/// Why something could not be done with a level. Nothing has changed then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LevelError {
    /// An amount below 1 (below 0 for a level at the start).
    #[error("an amount of {0} cannot be moved: it must be at least 1")]
    NotPositive(i64),
    /// An amount that would never fit.
    #[error("an amount of {amount} is more than the capacity of {capacity}")]
    BeyondCapacity {
        /// What was asked.
        amount: i64,
        /// What the level holds when full.
        capacity: i64,
    },
    /// A withdrawal of what does not wait.
    #[error("it does not wait, so it cannot be withdrawn")]
    NotWaiting,
}

#[derive(Debug, Clone, Copy)]
struct Waiting<T> {
    serial: u64,
    amount: i64,
    tag: T,
}

/// One level: an amount between 0 and a capacity, in whatever unit the model counts.
///
/// Puts that do not fit wait, first come first served, and so do takes that find too little: a small one
/// never overtakes a large one of its kind. As long as something can move, the first waiting take is served
/// if the amount is there, and otherwise the first waiting put if there is room.
///
/// What a call brings about is appended to the caller's buffer in order; nothing is allocated once warm.
///
/// ```
/// use sim_core::kernel::{Level, Moved};
/// let mut tank = Level::new(1000, 400)?;
/// let mut moved = Vec::new();
/// tank.take("sprayer", 600, &mut moved)?;
/// assert!(moved.is_empty());
/// tank.put("bowser", 500, &mut moved)?;
/// assert!(matches!(moved[..], [Moved::Put { tag: "bowser", .. }, Moved::Taken { tag: "sprayer", .. }]));
/// assert_eq!(tank.amount(), 300);
/// # Ok::<(), sim_core::kernel::LevelError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Level<T> {
    amount: i64,
    capacity: i64,
    puts: VecDeque<Waiting<T>>,
    takes: VecDeque<Waiting<T>>,
    serial: u64,
}

impl<T: Copy> Level<T> {
    /// A level that holds `amount` and at most `capacity`.
    ///
    /// # Errors
    ///
    /// [`LevelError::NotPositive`] for a capacity below 1 or an amount below 0, and
    /// [`LevelError::BeyondCapacity`] for an amount above the capacity.
    pub fn new(capacity: i64, amount: i64) -> Result<Self, LevelError> {
        if capacity < 1 {
            return Err(LevelError::NotPositive(capacity));
        }
        let mut level = Self { amount, capacity, puts: VecDeque::new(), takes: VecDeque::new(), serial: 0 };
        level.reset(amount)?;
        Ok(level)
    }

    /// What is in.
    #[must_use]
    pub fn amount(&self) -> i64 {
        self.amount
    }

    /// What is in when full.
    #[must_use]
    pub fn capacity(&self) -> i64 {
        self.capacity
    }

    /// How many puts and takes wait.
    #[must_use]
    pub fn waiting(&self) -> (usize, usize) {
        (self.puts.len(), self.takes.len())
    }

    /// Puts `amount` in, now or once it fits and those before it are in.
    ///
    /// # Errors
    ///
    /// [`LevelError::NotPositive`] or [`LevelError::BeyondCapacity`].
    pub fn put(&mut self, tag: T, amount: i64, moved: &mut Vec<Moved<T>>) -> Result<LevelTicket, LevelError> {
        let waiting = self.enter(tag, amount)?;
        self.puts.push_back(waiting);
        self.settle(moved);
        Ok(LevelTicket(waiting.serial))
    }

    /// Takes `amount` out, now or once it is there and those before it have theirs.
    ///
    /// # Errors
    ///
    /// [`LevelError::NotPositive`] or [`LevelError::BeyondCapacity`].
    pub fn take(
        &mut self,
        tag: T,
        amount: i64,
        moved: &mut Vec<Moved<T>>,
    ) -> Result<LevelTicket, LevelError> {
        let waiting = self.enter(tag, amount)?;
        self.takes.push_back(waiting);
        self.settle(moved);
        Ok(LevelTicket(waiting.serial))
    }

    /// Takes a waiting put or take out of its queue, which may let those behind it through.
    ///
    /// # Errors
    ///
    /// [`LevelError::NotWaiting`].
    pub fn withdraw(&mut self, ticket: LevelTicket, moved: &mut Vec<Moved<T>>) -> Result<(), LevelError> {
        let found = [&mut self.puts, &mut self.takes].into_iter().any(|queue| {
            let place = queue.binary_search_by_key(&ticket.0, |waiting| waiting.serial);
            place.is_ok_and(|place| queue.remove(place).is_some())
        });
        if !found {
            return Err(LevelError::NotWaiting);
        }
        self.settle(moved);
        Ok(())
    }

    /// Forgets who waits and starts again with `amount`. Old tickets name nothing.
    ///
    /// # Errors
    ///
    /// [`LevelError::NotPositive`] for an amount below 0, [`LevelError::BeyondCapacity`] for one above the
    /// capacity.
    pub fn reset(&mut self, amount: i64) -> Result<(), LevelError> {
        if amount < 0 {
            return Err(LevelError::NotPositive(amount));
        }
        if amount > self.capacity {
            return Err(LevelError::BeyondCapacity { amount, capacity: self.capacity });
        }
        self.amount = amount;
        self.puts.clear();
        self.takes.clear();
        Ok(())
    }

    fn enter(&mut self, tag: T, amount: i64) -> Result<Waiting<T>, LevelError> {
        if amount < 1 {
            return Err(LevelError::NotPositive(amount));
        }
        if amount > self.capacity {
            return Err(LevelError::BeyondCapacity { amount, capacity: self.capacity });
        }
        let serial = self.serial;
        self.serial += 1;
        Ok(Waiting { serial, amount, tag })
    }

    fn settle(&mut self, moved: &mut Vec<Moved<T>>) {
        loop {
            if let Some(&Waiting { serial, amount, tag }) = self.takes.front()
                && amount <= self.amount
            {
                self.amount -= amount;
                self.takes.pop_front();
                moved.push(Moved::Taken { ticket: LevelTicket(serial), tag });
            } else if let Some(&Waiting { serial, amount, tag }) = self.puts.front()
                && amount <= self.capacity - self.amount
            {
                self.amount += amount;
                self.puts.pop_front();
                moved.push(Moved::Put { ticket: LevelTicket(serial), tag });
            } else {
                break;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_mistake_has_its_error_and_changes_nothing() {
        let beyond = LevelError::BeyondCapacity { amount: 11, capacity: 10 };
        assert_eq!(Level::<()>::new(0, 0).err(), Some(LevelError::NotPositive(0)));
        assert_eq!(Level::<()>::new(10, -1).err(), Some(LevelError::NotPositive(-1)));
        assert_eq!(Level::<()>::new(10, 11).err(), Some(beyond));
        let (mut level, mut moved) = (Level::new(10, 4).unwrap(), Vec::new());
        assert_eq!(level.put((), 0, &mut moved), Err(LevelError::NotPositive(0)));
        assert_eq!(level.take((), -2, &mut moved), Err(LevelError::NotPositive(-2)));
        assert_eq!(level.put((), 11, &mut moved), Err(beyond));
        assert_eq!(level.take((), 11, &mut moved), Err(beyond));
        assert_eq!(level.reset(11), Err(beyond));
        let done = level.take((), 1, &mut moved).unwrap();
        assert_eq!(level.withdraw(done, &mut moved), Err(LevelError::NotWaiting));
        assert_eq!((level.amount(), level.waiting(), moved.len()), (3, (0, 0), 1));
    }

    #[test]
    fn withdrawing_lets_those_behind_through() {
        let (mut level, mut moved) = (Level::new(10, 4).unwrap(), Vec::new());
        let large = level.take('a', 9, &mut moved).unwrap();
        let small = level.take('b', 2, &mut moved).unwrap();
        assert!(moved.is_empty(), "a small take does not overtake a large one");
        level.withdraw(large, &mut moved).unwrap();
        assert_eq!(moved, [Moved::Taken { ticket: small, tag: 'b' }]);
        assert_eq!(level.withdraw(large, &mut moved), Err(LevelError::NotWaiting));
    }
}
