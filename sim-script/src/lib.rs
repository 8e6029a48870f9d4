//! The program `dryspell`: scripts, tables, report and command line around `sim-core`.

pub mod script;
