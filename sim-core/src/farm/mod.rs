//! The farm: plain, validated data. Fields, crops with their operations, outfits, people.
//!
//! [`spec`] holds what a person says of a farm, by name; [`Farm::new`] checks it, resolves every name
//! to an index and lays out the [`Job`]s of the season with their links and work rates. No behaviour
//! lives here beyond that: no time passes and nothing is drawn.

mod beginning;
mod begun;
mod build;
mod check;
mod choices;
mod costs;
mod error;
mod jobs;
mod links;
mod model;
mod outfits;
pub mod ranges;
pub mod rate;
mod recorded;
mod ruled;
mod shared;
pub mod spec;

mod stages;
pub mod steps;
mod tables;
mod windows;

pub use begun::{Begun, BegunError, BegunErrorKind, BegunSpec, Done, DoneSpec, Known, Way};
pub use costs::Costs;
pub use error::{FarmError, FarmErrorKind};
pub use model::{
    Choice, ChoiceOf, Farm, Field, Job, JobWork, Link, Lot, MAX_MACHINES, MAX_PEOPLE, Machine, Missed,
    MovingStage, Outfit, Person, Row, Unit, Window, WorkClass,
};
pub use recorded::Fitted;
pub use ruled::ClassRule;
pub use shared::SharedWeather;
