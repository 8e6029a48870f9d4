//! What can be wrong with a farm: one variant a mistake, each with what to do about it.

use super::spec::Origin;

/// A mistake in a farm: where it was written, the word to mark there, and what it is.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{kind}")]
pub struct FarmError {
    /// Where the part was written.
    pub origin: Origin,
    /// The word to mark: the offending name or value as written, or the part's own name.
    pub word: String,
    /// The mistake.
    #[source]
    pub kind: FarmErrorKind,
}

/// The mistakes.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FarmErrorKind {
    /// A number outside its range.
    #[error("{what} of {of} is {value}, but must be {range}")]
    OutOfRange {
        /// The quantity with its unit.
        what: &'static str,
        /// Whose.
        of: String,
        /// What was given.
        value: f64,
        /// The permitted range with its unit.
        range: &'static str,
    },
    /// A name that nothing has.
    #[error("there is no {kind} called \"{name}\"")]
    Unknown {
        /// What kind of thing was looked for.
        kind: &'static str,
        /// The name.
        name: String,
        /// A name like it.
        like: Option<String>,
        /// The names there are.
        known: Vec<String>,
    },
    /// Two parts with one name.
    #[error("there are two {kind}s called \"{name}\"")]
    Twice {
        /// What kind of thing.
        kind: &'static str,
        /// The name.
        name: String,
    },
    /// A list that must not be empty.
    #[error("{of} has no {what}")]
    Missing {
        /// What is missing.
        what: &'static str,
        /// Whose.
        of: String,
        /// How to mend it.
        fix: String,
    },
    /// A window that ends before it begins.
    #[error("the window of {operation} ends before it begins: {earlier} is before {later}")]
    WindowOrder {
        /// The operation and its crop.
        operation: String,
        /// The end that comes too early.
        earlier: String,
        /// The beginning that it is before.
        later: String,
    },
    /// A window that reaches beyond the season.
    #[error("the {which} of {operation}, {date}, is after the season's last day {last}")]
    BeyondSeason {
        /// from, due or latest.
        which: &'static str,
        /// The operation and its crop.
        operation: String,
        /// The date.
        date: String,
        /// The season's last day.
        last: String,
    },
    /// Operations that wait for one another.
    #[error("these operations wait for one another: {chain}")]
    Cycle {
        /// The operations, in a circle.
        chain: String,
    },
    /// No suitable days for a class on a soil.
    #[error("there are no suitable days for \"{class}\" on {soil} soil, which {operation} needs")]
    NoDays {
        /// The work class.
        class: String,
        /// The soil.
        soil: String,
        /// The operation and its crop.
        operation: String,
    },
    /// An outfit that has nothing to tell its work rate.
    #[error("{outfit} has no work rate for {operation}")]
    NoRate {
        /// The outfit.
        outfit: String,
        /// The operation and its crop.
        operation: String,
    },
    /// An outfit that nobody could man even if all were there.
    #[error("nobody can drive {outfit}: {why}")]
    NoDriver {
        /// The outfit.
        outfit: String,
        /// What is missing.
        why: String,
    },
    /// Too many of something.
    #[error("{count} {what} are more than the {most} that a farm can hold")]
    TooMany {
        /// What.
        what: &'static str,
        /// How many.
        count: usize,
        /// How many are allowed.
        most: usize,
    },
    /// Periods, hours or tables that the weather refuses.
    #[error("{of}: {why}")]
    Weather {
        /// Whose.
        of: String,
        /// Why, in the weather's words.
        why: String,
    },
    /// A record that cannot be the farm's weather.
    #[error("{why}")]
    Record {
        /// Why not.
        why: String,
        /// What to do.
        fix: &'static str,
    },
    /// Workable hours that differ more than hours of a day can.
    #[error("hours_sd of \"{of}\" is {sd_h}, too great for an hours_mean of {mean_h}")]
    HoursSpread {
        /// The work class.
        of: String,
        /// The mean, h.
        mean_h: f64,
        /// The standard deviation given, h.
        sd_h: f64,
        /// The greatest that there is, h.
        most_h: f64,
    },
    /// Two settings that exclude each other.
    #[error("{of}: {why}")]
    Conflict {
        /// Whose.
        of: String,
        /// Why.
        why: &'static str,
        /// How to mend it.
        fix: &'static str,
    },
}

impl FarmErrorKind {
    /// What to do about it, if there is something to say.
    #[must_use]
    pub fn fix(&self) -> Option<String> {
        match self {
            Self::OutOfRange { range, .. } => Some(format!("give a value that is {range}")),
            Self::Unknown { like: Some(like), .. } => Some(format!("did you mean \"{like}\"?")),
            Self::Unknown { known, kind, .. } if known.is_empty() => Some(format!("the farm has no {kind} yet")),
            Self::Unknown { known, .. } => Some(format!("there is: {}", known.join(", "))),
            Self::Twice { .. } => Some("give each its own name".into()),
            Self::Missing { fix, .. } => Some(fix.clone()),
            Self::WindowOrder { .. } => {
                Some("a window goes from `from` over `due` to `latest`, each no earlier than the one before".into())
            }
            Self::BeyondSeason { .. } => {
                Some("end the window within the season, or give the farm a later `last_day`".into())
            }
            Self::Cycle { .. } => Some("take one of them out of `after`".into()),
            Self::NoDays { class, soil, .. } => Some(format!(
                "add rows for class \"{class}\" and soil \"{soil}\" (or soil \"any\") to `suitable_days`, or a rule for \
                 them where the weather is a record"
            )),
            Self::NoRate { .. } => Some(
                "give one of its machines `width_m`, `speed_km_h` and `efficiency`, or `work_rate_ha_h`, or (to \
                 cart) `load_t` and `unload_min` with an operation that moves grain or straw"
                    .into(),
            ),
            Self::NoDriver { .. } => Some("add the machines to what a person `drives`".into()),
            // Rounded down, so that it can be written.
            Self::HoursSpread { most_h, .. } => Some(format!(
                "hours of a day lie between 0 and 24, so that these differ by at most {:.1} h: give a smaller `hours_sd`",
                (most_h * 10.0).floor() / 10.0
            )),
            Self::TooMany { .. } | Self::Weather { .. } => None,
            Self::Conflict { fix, .. } | Self::Record { fix, .. } => Some((*fix).into()),
        }
    }
}
