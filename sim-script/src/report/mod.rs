//! Pictures: what a person sees at a glance. Tables and terminal are not here.

mod strip;

pub(crate) use strip::{Strip, strip};
