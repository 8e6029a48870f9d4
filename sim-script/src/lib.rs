//! The program `dryspell`: scripts, tables, report and command line around `sim-core`.

pub mod cli;
mod report;
pub mod script;
pub mod tables;
mod words;
