//! The program `dryspell`: scripts, tables, report and command line around `sim-core`.

pub mod cli;
pub mod guide;
mod report;
pub mod script;
pub mod tables;
mod words;
