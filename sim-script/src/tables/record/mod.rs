//! Daily weather records from CSV, in whatever units, dates and dialect they were written.
//!
//! What lives here: units, mappings of columns to quantities, and the reader that gives a
//! [`Record`](sim_core::weather::Record) or one message that names row, column and fix. What does not: what a day means
//! for work.
//!
//! ```
//! use sim_script::tables::record::{Mapping, Reading, read_record};
//! let text = "day;rain;wind\n01.03.2020;0,5;10\n02.03.2020;NA;20\n";
//! let reading = Reading {
//!     mapping: Mapping::parse("date=day:DD.MM.YYYY, rain=rain:inch")?,
//!     missing: vec!["NA".into()],
//!     ..Reading::default()
//! };
//! let read = read_record("rain.csv", text.as_bytes(), &reading)?;
//! assert_eq!(read.record.of(sim_core::weather::Quantity::Rain).unwrap()[0], 12.7);
//! assert_eq!(read.gaps.len(), 1);
//! assert_eq!(read.unused, ["wind"]);
//! # Ok::<(), sim_script::tables::record::RecordReadError>(())
//! ```

mod dates;
mod dialect;
mod doubt;
mod error;
mod mapping;
mod mistake;
mod read;
#[cfg(test)]
mod tests;
mod units;

pub use dialect::Dialect;
pub use error::RecordReadError;
pub use mapping::Mapping;
pub use read::{ReadRecord, Reading, read_record};
