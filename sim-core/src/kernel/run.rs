//! The run loop: a model, its agenda, and when to stop.

use super::agenda::{Agenda, Tick};

/// What is simulated: a state machine that is handed one event after another.
///
/// ```
/// use sim_core::kernel::{Agenda, Model, Stop, Tick, run};
///
/// struct Ticker(u32);
/// impl Model for Ticker {
///     type Event = ();
///     type Error = std::convert::Infallible;
///     fn handle(&mut self, now: Tick, (): (), agenda: &mut Agenda<()>) -> Result<(), Self::Error> {
///         self.0 += 1;
///         agenda.schedule(now + 10, 0, ());
///         Ok(())
///     }
/// }
///
/// let (mut ticker, mut agenda) = (Ticker(0), Agenda::new());
/// agenda.schedule(0, 0, ());
/// assert_eq!(run(&mut ticker, &mut agenda, 35), Ok(Stop::Until));
/// assert_eq!((ticker.0, agenda.now()), (4, 35));
/// ```
pub trait Model {
    /// What can happen.
    type Event;
    /// Why a run can fail; `std::convert::Infallible` where it cannot.
    type Error;

    /// Lets `event` happen at `now`, the agenda's clock. What follows from it goes on the agenda.
    ///
    /// # Errors
    ///
    /// Whatever the model cannot go on from; the run ends with it.
    fn handle(
        &mut self,
        now: Tick,
        event: Self::Event,
        agenda: &mut Agenda<Self::Event>,
    ) -> Result<(), Self::Error>;
}

/// Why a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    /// Nothing was left to happen. The clock stands at the last event.
    Empty,
    /// All events up to and at the given time have happened; others remain. The clock stands at that
    /// time.
    Until,
    /// The model asked for it with [`Agenda::stop`]. The clock stands at the event that did.
    Asked,
}

/// Hands `model` the events of `agenda` in order, those at `until` included. The run can be taken up
/// again by calling it once more.
///
/// # Errors
///
/// The first error of the model; the agenda is left as it was then.
#[inline]
pub fn run<M: Model>(model: &mut M, agenda: &mut Agenda<M::Event>, until: Tick) -> Result<Stop, M::Error> {
    while let Some((now, event)) = agenda.pop_until(until) {
        model.handle(now, event, agenda)?;
        if agenda.take_stop() {
            return Ok(Stop::Asked);
        }
    }
    if agenda.is_empty() {
        return Ok(Stop::Empty);
    }
    agenda.advance(until);
    Ok(Stop::Until)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Notes each event; an event of 0 asks for a stop, a negative one is an error.
    #[derive(Default)]
    struct Notes(Vec<(Tick, i32)>);

    impl Model for Notes {
        type Event = i32;
        type Error = i32;
        fn handle(&mut self, now: Tick, event: i32, agenda: &mut Agenda<i32>) -> Result<(), i32> {
            self.0.push((now, event));
            match event {
                0 => agenda.stop(),
                1.. => {}
                _ => return Err(event),
            }
            Ok(())
        }
    }

    fn agenda(events: &[(Tick, i32)]) -> Agenda<i32> {
        let mut agenda = Agenda::new();
        for &(at, event) in events {
            agenda.schedule(at, 0, event);
        }
        agenda
    }

    #[test]
    fn a_run_ends_for_the_first_of_its_reasons_and_can_be_taken_up_again() {
        let (mut notes, mut agenda) = (Notes::default(), agenda(&[(1, 5), (2, 6), (2, 0), (2, 7), (9, -4)]));
        assert_eq!(run(&mut notes, &mut agenda, 1), Ok(Stop::Until));
        assert_eq!((agenda.now(), notes.0.len()), (1, 1));
        assert_eq!(run(&mut notes, &mut agenda, 2), Ok(Stop::Asked));
        assert_eq!((agenda.now(), notes.0.len()), (2, 3));
        assert_eq!(run(&mut notes, &mut agenda, 5), Ok(Stop::Until));
        assert_eq!((agenda.now(), notes.0.len()), (5, 4));
        assert_eq!(run(&mut notes, &mut agenda, 3), Ok(Stop::Until));
        assert_eq!(agenda.now(), 5, "the clock never goes back");
        assert_eq!(run(&mut notes, &mut agenda, 9), Err(-4));
        assert_eq!(run(&mut notes, &mut agenda, 20), Ok(Stop::Empty));
        assert_eq!(agenda.now(), 9);
    }
}
