//! Where a season's sky comes from: drawn from a table, or a recorded year.

use crate::weather::chain::Chain;
use crate::weather::error::WeatherError;
use crate::weather::recorded::{Order, Recorded};
use crate::weather::sky::{Sky, SkySource};
use crate::weather::spec::WeatherSpec;

/// The weather of seasons: gives each its [`Sky`].
#[derive(Debug, Clone)]
pub enum Weather {
    /// Drawn day by day from a table.
    Drawn(Chain),
    /// Recorded years, as they were.
    Recorded(Recorded),
}

impl Weather {
    /// The weather of a specification: its recorded years if it has any, else days drawn from its tables.
    ///
    /// # Errors
    /// When a value is outside its range, a series has not one value a day, a key names no driver, two drivers have
    /// one name, or a record holds no whole season.
    pub fn new(spec: &WeatherSpec) -> Result<Self, WeatherError> {
        match &spec.recorded {
            Some(recorded) if recorded.years().is_empty() => Err(WeatherError::NoYears),
            Some(recorded) => Ok(Self::Recorded(recorded.with_drawn_hours(spec)?)),
            None => Ok(Self::Drawn(Chain::new(spec)?)),
        }
    }

    /// Puts the sky of season `season` under `seed` into `sky`. It depends on this weather, seed and season alone.
    /// Nothing is allocated when `sky` has held one like it.
    pub fn draw(&self, seed: u64, season: u64, sky: &mut Sky) {
        match self {
            Self::Drawn(chain) => {
                chain.draw(seed, season, sky);
                sky.set_source(SkySource::Drawn { seed, season });
            }
            Self::Recorded(recorded) => recorded.draw(seed, season, sky),
        }
    }

    /// The recorded years; nothing where days are drawn.
    #[must_use]
    pub fn recorded(&self) -> Option<&Recorded> {
        match self {
            Self::Drawn(_) => None,
            Self::Recorded(recorded) => Some(recorded),
        }
    }

    /// The recorded year that a season is; nothing where days are drawn.
    #[must_use]
    pub fn year_of(&self, seed: u64, season: u64) -> Option<i16> {
        self.recorded().map(|recorded| recorded.year_of(seed, season))
    }

    /// How many seasons tell all that there is: one for each year where recorded years are replayed; nothing where
    /// there is no end of them.
    #[must_use]
    pub fn all_seasons(&self) -> Option<u64> {
        match self {
            Self::Recorded(recorded) if recorded.order() == Order::Replay => {
                Some(recorded.years().len() as u64)
            }
            _ => None,
        }
    }
}
