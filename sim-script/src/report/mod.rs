//! Pictures: what a person sees at a glance. Tables and terminal are not here.

mod page;
mod strip;
mod week_strip;

pub(crate) use strip::{Strip, strip};
pub(crate) use week_strip::{WeekStrip, week_strip};
