//! The discrete-event kernel: it knows nothing of farms, weather or dates, and is usable alone.
//!
//! A [`Model`] is handed events one after another by [`run()`], and puts what follows from them on an
//! [`Agenda`]. [`Pools`] hold what is given out and given back, a [`Level`] what is filled and emptied,
//! a [`WorkCalendar`] when work is possible; [`draw`] gives randomness by address, tallies and a
//! [`Trace`] tell what happened. The opening of the [crate] shows most of them at work.

pub mod agenda;
pub mod calendar;
pub mod draw;
pub mod level;
pub mod pool;
pub mod run;
pub mod tally;
pub mod trace;

pub use agenda::{Agenda, Handle, Tick};
pub use calendar::{CalendarError, WorkCalendar};
pub use level::{Level, LevelError, LevelTicket, Moved};
pub use pool::{Change, PoolError, PoolId, Pools, Shrink, Ticket};
pub use run::{Model, Stop, run};
pub use tally::{CountTally, TimeTally};
pub use trace::{Log, NoTrace, Trace};
