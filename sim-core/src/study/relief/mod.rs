//! What would lower the risk: which single steps are worth working for a farm, from what is late on it, and what each
//! brings.
//!
//! The steps themselves are in [`crate::farm::steps`]; they are worked as variants beside the farm as it is.

mod choose;
mod gain;

pub use choose::{ToTry, Untried, choose};
pub use gain::{Gain, RankBy};
