//! What a season comes to: for each row when it was done, how late, and what it waited for.

/// What keeps a job from being worked, in the order in which the first true one counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// Outside the working hours of its class and people.
    ClosedHours,
    /// The day does not suit it.
    Weather,
    /// Other work on the field must come first.
    Predecessor,
    /// Nobody who may drive is free and on duty.
    People,
    /// A machine is in use elsewhere.
    Machine,
    /// Filling, carting, emptying.
    Supply,
    /// It was held back.
    Policy,
}

impl Cause {
    /// All causes, in order.
    pub const ALL: [Self; 7] = [
        Self::ClosedHours,
        Self::Weather,
        Self::Predecessor,
        Self::People,
        Self::Machine,
        Self::Supply,
        Self::Policy,
    ];

    /// The word for it in tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::ClosedHours => "closed hours",
            Self::Weather => "weather",
            Self::Predecessor => "predecessor",
            Self::People => "people",
            Self::Machine => "machine",
            Self::Supply => "supply",
            Self::Policy => "policy",
        }
    }
}

/// A row's season.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RowOutcome {
    /// The instant at which all of its area was done (0 where there was none); `None` = never.
    pub finish: Option<i64>,
    /// Whether not all of its area was done by the end of the due day.
    pub late: bool,
    /// Days from the due day to the day it was done, or to `latest` if it never was; 0 if not late.
    pub days_late: u32,
    /// Area not done by the end of the due day, in ha.
    pub area_late_ha: f64,
    /// Area not done at `latest`, in ha.
    pub area_unfinished_ha: f64,
    /// Undone area over the time after the due day, up to `latest`, in ha x days.
    pub ha_days_late: f64,
    /// Days from this season's `from` to its `due` that suit it on all its soils, those before the season is taken up left out; `None` where its window follows other work.
    pub suitable_days: Option<u32>,
    /// Seconds inside its window when none of it was worked, by [`Cause`]; for supply, what filling and
    /// cartage took while it was worked.
    pub waits_s: [i64; 7],
    /// How often a maximum lag was missed.
    pub missed_lags: u32,
}

/// A season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outcome {
    /// The season's number.
    pub season: u64,
    /// For each row of the farm.
    pub rows: Vec<RowOutcome>,
    /// Seconds in use of each machine, then of each person, by half-month:
    /// `use_s[resource * half_months + half_month]`.
    pub use_s: Vec<i64>,
    /// Hectares worked by each of the farm's people who is a contractor, work done again counted again; 0 for the others.
    pub hired_ha: Vec<f64>,
}

/// A job's season, for accounts: `finish - ready = work + travel + waits` to the second.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JobAccount {
    /// When its window opened; `None` if it never did.
    pub ready: Option<i64>,
    /// When it was done or given up.
    pub finish: Option<i64>,
    /// Seconds of work.
    pub work_s: i64,
    /// Seconds on the road.
    pub travel_s: i64,
    /// Seconds of waiting, by [`Cause`].
    pub waits_s: [i64; 7],
    /// Whether all of its area was done.
    pub done: bool,
}
