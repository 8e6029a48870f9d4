//! Seasons in bulk, and exact laws to check them against.
//!
//! What lives here: running many seasons of one or several farms on the same skies, their risk with its
//! intervals, how they differ pair by pair, how many seasons make them sure enough, which of them is best, which of
//! many factors matter, which steps are worth trying, what a year costs, what their machines and people are used for, and
//! the laws of simple cases in closed form. What does not: scripts, files, printing.

mod bulk;
mod choose;
pub mod exact;
pub mod interval;
mod need;
mod paired;
mod pairs;
mod precision;
mod ratio;
mod record;
mod refit;
pub mod relief;
mod risk;
pub mod screen;
mod select;
mod usage;
mod whole;
mod window;

pub use bulk::{Findings, Hooks, PolicyMaker, Sink, Study, Variant, VariantFindings};
pub use choose::{BATCH, Chosen, DroppedFarm, Measure};
pub use paired::{PairedMean, PairedShare};
pub use pairs::{ComparedRow, Comparison};
pub use precision::{HalfWidth, Widest};
pub use ratio::PairedRatio;
pub use refit::{RefitError, Refits};
pub use risk::{Quantile, Risk};
pub use select::{Dropped, Selection, SelectionError, SelectionRule};
pub use usage::{Resource, ResourceKind, SKIES_FOR_HOURS, Usage};
pub use whole::{Whole, WholeDifference, season_cost};
