//! The discrete-event kernel: it knows nothing of farms, weather or dates, and is usable alone.
//!
//! A [`Model`] is handed events one after another by [`run`], and puts what follows from them on an
//! [`Agenda`].

pub mod agenda;
pub mod calendar;
pub mod draw;
pub mod run;

pub use agenda::{Agenda, Handle, Tick};
pub use calendar::{CalendarError, WorkCalendar};
pub use run::{Model, Stop, run};
