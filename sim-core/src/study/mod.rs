//! Seasons in bulk, and exact laws to check them against.
//!
//! What lives here: running many seasons, their risk with its intervals, comparison on the same skies, and
//! the laws of simple cases in closed form. What does not: scripts, files, printing.

pub mod exact;
