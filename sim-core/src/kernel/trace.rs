//! Traces: what happened, event by event, for someone to read; nothing at all when nobody does.
//!
//! What a row says is the model's business.

use super::agenda::Tick;

/// Takes note of rows. A model is generic over its trace, so the choice is made when it is compiled:
/// with [`NoTrace`] neither row nor call is left.
///
/// ```
/// use sim_core::kernel::{Log, NoTrace, Trace};
/// fn work<T: Trace<String>>(trace: &mut T) {
///     trace.row(5, || format!("tank {} empty", 3));
/// }
/// let mut log = Log::default();
/// work(&mut log);
/// work(&mut NoTrace);
/// assert_eq!(log.rows, [(5, "tank 3 empty".to_owned())]);
/// ```
pub trait Trace<R> {
    /// Whether rows go anywhere, for a model that would do work beforehand to make them.
    const ENABLED: bool;

    /// Takes note of what `make` gives, at `now`. Where the trace is off, `make` is not called.
    fn row(&mut self, now: Tick, make: impl FnOnce() -> R);
}

/// The trace that is off.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct NoTrace;

impl<R> Trace<R> for NoTrace {
    const ENABLED: bool = false;

    #[inline]
    fn row(&mut self, _now: Tick, _make: impl FnOnce() -> R) {}
}

/// A trace that keeps its rows, in the order in which they came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Log<R> {
    /// The rows, each with its tick.
    pub rows: Vec<(Tick, R)>,
}

impl<R> Default for Log<R> {
    fn default() -> Self {
        Self { rows: Vec::new() }
    }
}

impl<R> Trace<R> for Log<R> {
    const ENABLED: bool = true;

    #[inline]
    fn row(&mut self, now: Tick, make: impl FnOnce() -> R) {
        self.rows.push((now, make()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trace_that_is_off_takes_no_room_and_makes_no_row() {
        assert_eq!(size_of::<NoTrace>(), 0);
        NoTrace.row(0, || -> () { panic!("a row was made") });
        const { assert!(!<NoTrace as Trace<()>>::ENABLED && <Log<()> as Trace<()>>::ENABLED) };
    }
}
