//! Fitting the day model to a record: from days judged suitable or not to chances, persistence and spread.
//!
//! What lives here: shares by period and the smooth chance that keeps them ([`Shares`]), the two fits of a part of
//! the year ([`fit_spells`] where spread comes in spells, of one key [`fit_spread`]; [`fit_years`] where it is one draw a
//! season), that of weekly numbers ([`fit_weeks`]), a whole record fitted ([`fit_record`]) and fitted again with its years
//! drawn anew ([`Refit`]), and what a fit is judged by: the variance of the number of suitable days, modelled
//! ([`count_variance`]) and in the record ([`Counts`]), and the number that so many years in ten do not exceed
//! ([`CountDistribution`]). What does not: judging days by workability rules, reading records, and drawing skies, which is
//! [`chain`](crate::weather::chain).

mod agreement;
mod count;
mod distribution;
mod drawn;
mod hours;
mod least_squares;
mod pairs;
mod record;
mod refit;
mod series;
mod shares;
mod spells;
mod weeks;
mod years;

pub use agreement::{Alike, Side, alike, fit_agreement};
pub use count::count_variance;
pub use distribution::CountDistribution;
pub use hours::HoursFit;
pub use record::{DriverFit, KeyFit, RecordFit, fit_record};
pub use refit::Refit;
pub use series::{Block, Counts, Occurrence, Series, TwoState};
pub use shares::{Shares, period_shares};
pub use spells::{LAGS, SpellFit, fit_spells, fit_spread};
pub use weeks::{Counted, WEEK_LAGS, WeekFit, YEARS_ENOUGH, fit_weeks};
pub use years::{YearFit, fit_years};

use crate::weather::calendar::MonthDay;
use crate::weather::error::WeatherError;

/// Persistence and spread, as [`chain`](crate::weather::chain) has them, of days that are alike in both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// Chance that a day keeps yesterday's `w`, 0 to 1.
    pub rho: f64,
    /// Variance of the day's chance over `p (1 - p)`, 0 to 0.99.
    pub phi: f64,
    /// Mean length of a spell in days, at least 1; infinity is one spell a season.
    pub spread_days: f64,
}

impl Law {
    /// Independent days.
    pub const INDEPENDENT: Self = Self::chain(0.0);

    /// Persistence alone: where `p` is constant the two-state chain of lag-1 correlation `rho` (0 to 1).
    #[must_use]
    pub const fn chain(rho: f64) -> Self {
        Self { rho, phi: 0.0, spread_days: f64::INFINITY }
    }

    /// Chance that a day keeps yesterday's `q`.
    #[must_use]
    pub fn kappa(&self) -> f64 {
        1.0 - 1.0 / self.spread_days
    }
}

/// Why a record cannot be fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError {
    /// A number or a table that describes no weather.
    #[error(transparent)]
    Weather(#[from] WeatherError),
    /// A period in which no day of the record has a verdict.
    #[error("no day from {from} to {to} has a verdict: the record must know at least one")]
    NoVerdicts {
        /// First day of the period.
        from: MonthDay,
        /// Last day of the period.
        to: MonthDay,
    },
    /// Days that are nearly always or nearly never suitable say nothing about persistence.
    #[error(
        "the part of the year has {lags} of the {needed} lags needed with two days whose chance is 0.1 to 0.9: join it \
         with a neighbour"
    )]
    NothingVaries {
        /// Lags at which there are such days.
        lags: usize,
        /// Lags that the fit needs.
        needed: usize,
    },
    /// A variance between years needs years.
    #[error("the part of the year is whole and known in {years} years: a variance needs at least 2")]
    TooFewYears {
        /// Whole years without unknown days, of the key that has fewest.
        years: usize,
    },
}
