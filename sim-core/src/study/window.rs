//! The narrow gate between workers and the one who collects: what comes in any order goes out in order, no
//! worker runs further ahead than the window is wide, and buffers go round. What they hold is not known here.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// Chunks on their way from workers to the collector.
pub(super) struct Window<B> {
    state: Mutex<State<B>>,
    /// The window has moved on.
    room: Condvar,
    /// A chunk has come, or a worker has left.
    ready: Condvar,
}

struct State<B> {
    /// Chunk `c` waits in slot `c % slots.len()`.
    slots: Vec<Option<B>>,
    /// The chunk that goes out next.
    next: u64,
    spare: Vec<B>,
    workers: usize,
    closed: bool,
}

impl<B: Default> Window<B> {
    /// A window of `width` chunks for so many workers.
    pub(super) fn new(width: usize, workers: usize) -> Self {
        let state = State {
            slots: std::iter::repeat_with(|| None).take(width.max(1)).collect(),
            next: 0,
            spare: Vec::new(),
            workers,
            closed: false,
        };
        Self { state: Mutex::new(state), room: Condvar::new(), ready: Condvar::new() }
    }

    /// A buffer for a chunk, once the window has come so far; `None` if nobody collects any more.
    pub(super) fn buffer_for(&self, chunk: u64) -> Option<B> {
        let mut state = self.lock();
        while !state.closed && chunk >= state.next + state.slots.len() as u64 {
            state = self.room.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        if state.closed { None } else { Some(state.spare.pop().unwrap_or_default()) }
    }

    /// Hands a chunk in.
    pub(super) fn deliver(&self, chunk: u64, buffer: B) {
        let mut state = self.lock();
        let slot = (chunk % state.slots.len() as u64) as usize;
        state.slots[slot] = Some(buffer);
        self.ready.notify_all();
    }

    /// The next chunk in order; `None` once every worker has left and it has not come.
    pub(super) fn next(&self) -> Option<B> {
        let mut state = self.lock();
        loop {
            if state.closed {
                return None;
            }
            let slot = (state.next % state.slots.len() as u64) as usize;
            if let Some(buffer) = state.slots[slot].take() {
                state.next += 1;
                self.room.notify_all();
                return Some(buffer);
            }
            if state.workers == 0 {
                return None;
            }
            state = self.ready.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Gives a buffer back to be filled again.
    pub(super) fn give_back(&self, buffer: B) {
        self.lock().spare.push(buffer);
    }

    fn lock(&self) -> MutexGuard<'_, State<B>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn close(&self) {
        self.lock().closed = true;
        self.room.notify_all();
        self.ready.notify_all();
    }

    fn leave(&self) {
        self.lock().workers -= 1;
        self.ready.notify_all();
    }
}

/// A worker's presence: says when it leaves, and closes the window if it panics, so that nobody waits for it.
pub(super) struct AtWork<'w, B: Default>(pub(super) &'w Window<B>);

impl<B: Default> Drop for AtWork<'_, B> {
    fn drop(&mut self) {
        self.0.leave();
        if std::thread::panicking() {
            self.0.close();
        }
    }
}

/// The collector's presence: the window closes when it goes, so that no worker waits for room.
pub(super) struct Collecting<'w, B: Default>(pub(super) &'w Window<B>);

impl<B: Default> Drop for Collecting<'_, B> {
    fn drop(&mut self) {
        self.0.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicU64, Ordering};

    #[test]
    fn chunks_go_out_in_order_and_never_more_than_the_window_holds() {
        let (window, counter) = (Window::<Vec<u64>>::new(3, 4), AtomicU64::new(0));
        let held = AtomicU64::new(0);
        let mut seen = Vec::new();
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    let _at_work = AtWork(&window);
                    loop {
                        let chunk = counter.fetch_add(1, Ordering::Relaxed);
                        if chunk >= 500 {
                            break;
                        }
                        let Some(mut buffer) = window.buffer_for(chunk) else { break };
                        assert!(held.fetch_add(1, Ordering::SeqCst) < 4);
                        buffer.clear();
                        buffer.push(chunk);
                        window.deliver(chunk, buffer);
                    }
                });
            }
            let _collecting = Collecting(&window);
            while let Some(buffer) = window.next() {
                held.fetch_sub(1, Ordering::SeqCst);
                seen.extend_from_slice(&buffer);
                window.give_back(buffer);
            }
        });
        assert_eq!(seen, (0..500).collect::<Vec<_>>());
    }

    #[test]
    fn a_collector_that_goes_frees_the_workers() {
        let window = Window::<u64>::new(1, 1);
        std::thread::scope(|scope| {
            let worker = scope.spawn(|| {
                let _at_work = AtWork(&window);
                (0..)
                    .take_while(|chunk| window.buffer_for(*chunk).is_some())
                    .map(|chunk| window.deliver(chunk, chunk))
                    .count()
            });
            {
                let _collecting = Collecting(&window);
                assert_eq!(window.next(), Some(0));
            }
            assert!(worker.join().unwrap() <= 3);
        });
    }

    #[test]
    fn a_worker_that_panics_frees_the_collector() {
        let window = Window::<u64>::new(1, 2);
        std::thread::scope(|scope| {
            let worker = scope.spawn(|| {
                let _at_work = AtWork(&window);
                panic!("on purpose");
            });
            assert_eq!(window.next(), None);
            assert!(worker.join().is_err());
        });
    }
}
