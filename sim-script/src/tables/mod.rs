//! Tables out: CSV files and the descriptor that says what their columns mean. Tables in: daily [`record`]s, and weekly
//! statistics.
//!
//! What lives here: columns with their units and descriptions (once, for file and descriptor), the writers, the
//! folder in which files appear whole or not at all, and the reader of records. What does not: scripts, the terminal.
//!
//! In what is written, dates are ISO dates of the reference season, chances run from 0 to 1, intervals are 95 %.
//! Numbers have a point and no thousands. `never` stands for a date that does not come, an empty cell for what cannot
//! be said.

pub(crate) mod column;
mod compare;
mod days_package;
mod descriptor;
mod farm;
mod folder;
mod lookback;
pub mod record;
mod relief;
mod rows;
mod seasons;
mod sensitivity;
mod sweep;
mod trace;
pub(crate) mod weekly;
mod write;

pub(crate) use compare::pairs_more;
pub use compare::write_compare;
pub(crate) use days_package::{DaysOrigin, RuleEntry, days_package, table_text};
pub use descriptor::{Origin, Setting, Varied};
pub use farm::write_farm;
pub(crate) use folder::{DESCRIPTOR, hex, write_whole};
pub use folder::{OutError, OutFolder};
pub(crate) use lookback::{LookbackOrigin, write_lookback};
pub use relief::{Stepped, write_relief};
pub(crate) use rows::{cell_span, skip_to_row};
pub use seasons::SeasonsTable;
pub(crate) use sensitivity::{Row as SensitivityRow, write_sensitivity};
pub(crate) use sweep::{AtValue, place as sweep_place, records as sweep_records, write_sweep};
pub(crate) use trace::keep_trace;
pub use trace::{Told, TraceRow, write_trace};
pub use write::{write_finish, write_risk, write_use, write_waits};

/// Where there is no such date.
pub(crate) const NEVER: &str = "never";
