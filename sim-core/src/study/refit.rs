//! How much of a risk is the luck of the record's years: a table fitted to a record is fitted again to its years drawn
//! anew, and the farm worked under each.

use super::bulk::{Findings, Hooks, PolicyMaker, Study, Variant};
use super::record::{self, Refitted};
use crate::farm::Fitted;
use crate::kernel::draw::name_hash;
use crate::season::{Season, SeasonError};
use crate::weather::fit::FitError;
use crate::weather::{Chain, Sky, SpreadGrid, Weather, WeatherError};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc;

/// How often a table is fitted again, and how many seasons are worked with each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Refits {
    /// Fits.
    pub fits: u64,
    /// Seasons with each, at least 2.
    pub seasons: u64,
}

impl Default for Refits {
    /// 200 fits of 100 seasons: the record's standard deviation of a chance is then itself right to about a tenth. With
    /// 60 fits of 40 seasons intervals of 95 % held what they should in 7 of 8 cases.
    fn default() -> Self {
        Self { fits: 200, seasons: 100 }
    }
}

/// Why a table could not be fitted again, or a season of it not be worked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RefitError {
    /// The years drawn anew cannot be fitted.
    #[error("the record's years drawn anew cannot be fitted: {0}")]
    Fit(#[from] FitError),
    /// They describe no weather.
    #[error("the record's years drawn anew describe no weather: {0}")]
    Weather(#[from] WeatherError),
    /// The policy could not decide.
    #[error(transparent)]
    Season(#[from] SeasonError),
}

/// The late seasons of each of a farm's rows under one fit; nothing where the years drawn could not be fitted.
type Late = Option<Vec<u32>>;

impl Study {
    /// Fits the tables of all variants whose weather is fitted to a record again and again, each time to as many years
    /// drawn anew from it, works the farm with each, and notes in `found` how far the chances of being late differ
    /// between the fits: [`Risk::p_late_record_interval`](super::Risk::p_late_record_interval). The farm expects what
    /// its own table says, as a manager would who has only that record. The same for any number of threads; stopped
    /// early it notes nothing for the variant in hand and those after it.
    ///
    /// # Errors
    ///
    /// When a fit or a season fails: that of the first fit that did.
    ///
    /// # Panics
    ///
    /// When `found` is of other variants.
    pub fn refit<M: PolicyMaker>(
        &self,
        maker: &M,
        refits: Refits,
        found: &mut Findings,
        mut hooks: Hooks<'_>,
    ) -> Result<(), RefitError> {
        let mut grid = None;
        for (index, variant) in self.variants.iter().enumerate() {
            let Some(fitted) = variant.plan.farm().fitted.as_deref() else { continue };
            let grid = grid.get_or_insert_with(SpreadGrid::new);
            let late = self.work_refits(maker, (index, variant, fitted), refits, grid, &mut hooks)?;
            if hooks.stop.is_some_and(|stop| stop.load(Ordering::Relaxed)) {
                break;
            }
            let late: Vec<Vec<u32>> = late.into_iter().flatten().collect();
            if late.is_empty() {
                continue;
            }
            for risk in &mut found.variants[index].risks {
                let of_row: Vec<u32> = late.iter().map(|late| late[risk.row]).collect();
                let variance = record::variance(&of_row, refits.seasons);
                risk.set_refitted(Refitted { years: fitted.years(), variance });
            }
        }
        Ok(())
    }

    /// The late seasons of each row of a variant under each fit, those that were not worked before a stop left out.
    fn work_refits<M: PolicyMaker>(
        &self,
        maker: &M,
        (index, variant, fitted): (usize, &Variant, &Fitted),
        refits: Refits,
        grid: &SpreadGrid,
        hooks: &mut Hooks<'_>,
    ) -> Result<Vec<Late>, RefitError> {
        let mut slots: Vec<Option<Result<Late, RefitError>>> = (0..refits.fits).map(|_| None).collect();
        let counter = AtomicU64::new(0);
        let ended = AtomicBool::new(false);
        let stop = hooks.stop;
        let go_on =
            || !ended.load(Ordering::Relaxed) && !stop.is_some_and(|stop| stop.load(Ordering::Relaxed));
        std::thread::scope(|scope| {
            let (tell, told) = mpsc::channel();
            for _ in 0..self.threads.max(1) {
                let (tell, counter, go_on) = (tell.clone(), &counter, &go_on);
                scope.spawn(move || {
                    let mut season = Season::new(&variant.plan);
                    let mut policy = maker.make(index);
                    let mut sky = Sky::default();
                    while go_on() {
                        let number = counter.fetch_add(1, Ordering::Relaxed);
                        if number >= refits.fits {
                            break;
                        }
                        let at_work = (&mut season, &mut policy, &mut sky);
                        let late = self.work_refit(fitted, (number, refits.seasons), grid, at_work);
                        if tell.send((number, late)).is_err() {
                            break;
                        }
                    }
                });
            }
            drop(tell);
            for (done, (number, late)) in (1..).zip(told) {
                if late.is_err() {
                    ended.store(true, Ordering::Relaxed);
                }
                slots[number as usize] = Some(late);
                if let Some(progress) = &mut hooks.progress {
                    progress(done);
                }
            }
        });
        slots.into_iter().flatten().collect()
    }

    /// One fit, and its seasons. Their sky is no other's: neither that of the study's seasons nor of another fit's.
    fn work_refit<P: crate::season::Policy>(
        &self,
        fitted: &Fitted,
        (number, seasons): (u64, u64),
        grid: &SpreadGrid,
        (season, policy, sky): (&mut Season<'_>, &mut P, &mut Sky),
    ) -> Result<Late, RefitError> {
        let Some(spec) = fitted.again(number)? else { return Ok(None) };
        let weather = Weather::Drawn(Chain::on_grid(&spec, grid)?);
        let seed = self.seed ^ name_hash("seasons of a record drawn anew");
        let mut late = Vec::new();
        for at in number * seasons..(number + 1) * seasons {
            weather.draw(seed, at, sky);
            let outcome = season.work(at, sky, policy)?;
            late.resize(outcome.rows.len(), 0);
            for (late, row) in late.iter_mut().zip(&outcome.rows) {
                *late += u32::from(row.late);
            }
        }
        Ok(Some(late))
    }
}
