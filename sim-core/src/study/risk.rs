//! Each row's risk: when it was done, how late, what it waited for, over all seasons. All of it is counts
//! and sums, so memory does not grow with the seasons.

use super::interval::{quantile_is_supported, quantile_of_counts, wilson};
use super::record::{self, Refitted, YearCount};
use crate::season::{Cause, DAY, Outcome, Plan, RowOutcome};

/// A quantile of a day, with what can keep it from being one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantile {
    /// This day of the season, 0 the first.
    Day(u32),
    /// Unfinished seasons weigh more: there is no such day.
    Never,
    /// So few seasons give no distribution-free 95 % interval for it.
    Unsupported,
}

/// A crop's operation over all seasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Risk {
    /// Index of the farm's row.
    pub row: usize,
    /// How many seasons.
    pub seasons: u64,
    /// The due day, where the window is given by dates and is the same every season.
    pub due: Option<u32>,
    /// Seasons in which not all was done by the end of the due day.
    pub late: u64,
    /// Seasons in which not all was done at all.
    pub unfinished: u64,
    /// Seasons in which all was done by the end of each day.
    done_by: Vec<u64>,
    /// Seasons by days late.
    days_late: Vec<u64>,
    days_late_sum: u64,
    area_late_ha_sum: f64,
    ha_days_late_sum: f64,
    waits_s: [i64; 7],
    /// By recorded year; none where days are drawn from a table.
    years: Vec<YearCount>,
    /// Of a table that was fitted to a record, once it was fitted again.
    refitted: Option<Refitted>,
}

impl Risk {
    /// The chance that not all is done by the end of the due day: `1 - p_done(due)` where there is one
    /// due day for all seasons; where windows move or follow other work, each season is judged by its own; 0 to 1.
    #[must_use]
    pub fn p_late(&self) -> f64 {
        1.0 - self.share(self.seasons - self.late)
    }

    /// The 95 % interval (Wilson) of the chance of being late.
    #[must_use]
    pub fn p_late_interval(&self) -> (f64, f64) {
        wilson(self.late, self.seasons)
    }

    /// The 95 % interval of the chance of being late for the sampling of recorded years: what so few years leave
    /// open, however many seasons they make. Of years that were worked as they were it comes from drawing them anew;
    /// of a table fitted to them from [`Study::refit`](super::Study::refit), the error of the simulation added.
    /// `None` where there is no record, or the table was not fitted again.
    #[must_use]
    pub fn p_late_record_interval(&self) -> Option<(f64, f64)> {
        let of_table = self.refitted.map(|of| record::with_variance(self.late, self.seasons, of.variance));
        of_table.or_else(|| record::interval(&self.years))
    }

    /// How many recorded years [`p_late_record_interval`](Self::p_late_record_interval) rests on; 0 where it is
    /// `None`.
    #[must_use]
    pub fn recorded_years(&self) -> usize {
        self.refitted.map_or_else(|| self.worked_years(), |of| of.years)
    }

    /// How many recorded years were worked as they were.
    fn worked_years(&self) -> usize {
        self.years.iter().filter(|year| year.seasons > 0).count()
    }

    /// Notes how far the chance of being late differs when the record's years are drawn anew.
    pub(super) fn set_refitted(&mut self, refitted: Refitted) {
        self.refitted = Some(refitted);
    }

    /// The chance that not all is done at all; 0 to 1.
    #[must_use]
    pub fn p_unfinished(&self) -> f64 {
        self.share(self.unfinished)
    }

    /// The chance that all is done by the end of a day of the season; 0 to 1.
    ///
    /// # Panics
    ///
    /// If the season has no such day.
    #[must_use]
    pub fn p_done(&self, day: usize) -> f64 {
        self.share(self.done_by[day])
    }

    /// How many days the season has.
    #[must_use]
    pub fn days(&self) -> usize {
        self.done_by.len()
    }

    /// The first day by which all is done in `percent` of 100 seasons; unfinished counts as later than
    /// every day.
    #[must_use]
    pub fn finish(&self, percent: u32) -> Quantile {
        if !quantile_is_supported(percent, self.independent_seasons()) {
            return Quantile::Unsupported;
        }
        let wanted = u128::from(self.seasons) * u128::from(percent);
        let day = self.done_by.partition_point(|done| u128::from(*done) * 100 < wanted);
        if day < self.done_by.len() { Quantile::Day(day as u32) } else { Quantile::Never }
    }

    /// Mean days late over all seasons, 0 where not late, counted to `latest` where never done.
    #[must_use]
    pub fn days_late_mean(&self) -> f64 {
        self.mean(self.days_late_sum as f64)
    }

    /// The days late that nine seasons in ten do not exceed; `None` where so few seasons give no
    /// distribution-free 95 % interval for it.
    #[must_use]
    pub fn days_late_p90(&self) -> Option<u32> {
        let supported = quantile_is_supported(90, self.independent_seasons());
        let days = supported.then(|| quantile_of_counts(&self.days_late, 90, self.seasons)).flatten();
        days.map(|days| days as u32)
    }

    /// Mean area not done by the end of the due day, in ha.
    #[must_use]
    pub fn area_late_ha_mean(&self) -> f64 {
        self.mean(self.area_late_ha_sum)
    }

    /// Mean of undone area over the time after the due day, in ha x days.
    #[must_use]
    pub fn ha_days_late_mean(&self) -> f64 {
        self.mean(self.ha_days_late_sum)
    }

    /// Mean hours of a season in which it waited for this cause.
    #[must_use]
    pub fn wait_hours_mean(&self, cause: Cause) -> f64 {
        self.mean(self.waits_s[cause as usize] as f64 / 3600.0)
    }

    /// This cause's share of all its waiting, closed hours included; 0 to 1, and 0 where it never waited.
    #[must_use]
    pub fn wait_share(&self, cause: Cause) -> f64 {
        let all: i64 = self.waits_s.iter().sum();
        if all == 0 { 0.0 } else { self.waits_s[cause as usize] as f64 / all as f64 }
    }

    /// How many seasons owe nothing to one another: a recorded year that is worked again says nothing new.
    fn independent_seasons(&self) -> u64 {
        if self.years.is_empty() { self.seasons } else { self.worked_years() as u64 }
    }

    fn share(&self, count: u64) -> f64 {
        self.mean(count as f64)
    }

    fn mean(&self, sum: f64) -> f64 {
        if self.seasons == 0 { 0.0 } else { sum / self.seasons as f64 }
    }
}

/// The risks of all rows as they are counted.
pub(super) struct Risks {
    rows: Vec<Risk>,
    /// Whether a row had something to do in some season.
    worked: Vec<bool>,
    seasons: u64,
}

impl Risks {
    pub(super) fn new(plan: &Plan, recorded_years: usize) -> Self {
        let days = plan.farm().span.days() as usize;
        let rows = &plan.farm().rows;
        let risk = |(row, of): (usize, &crate::farm::Row)| Risk {
            row,
            seasons: 0,
            due: of.dates.filter(|_| of.stage.is_none()).map(|(_, due, _)| due),
            late: 0,
            unfinished: 0,
            done_by: vec![0; days],
            days_late: vec![0; days + 1],
            days_late_sum: 0,
            area_late_ha_sum: 0.0,
            ha_days_late_sum: 0.0,
            waits_s: [0; 7],
            years: vec![YearCount::default(); recorded_years],
            refitted: None,
        };
        Self {
            rows: rows.iter().enumerate().map(risk).collect(),
            worked: rows.iter().map(|row| row.area_ha > 0.0).collect(),
            seasons: 0,
        }
    }

    /// Counts a season, which is the recorded year of this index if it is one.
    pub(super) fn add(&mut self, outcome: &Outcome, year: Option<usize>) {
        self.seasons += 1;
        for ((risk, worked), row) in self.rows.iter_mut().zip(&mut self.worked).zip(&outcome.rows) {
            *worked |= row.finish != Some(0);
            risk.add(row, year);
        }
    }

    /// The intervals so far of the chances of being late.
    pub(super) fn intervals(&self) -> impl Iterator<Item = (f64, f64)> {
        let worked = self.rows.iter().zip(&self.worked).filter(|(_, worked)| **worked);
        worked.map(|(risk, _)| wilson(risk.late, self.seasons))
    }

    pub(super) fn findings(self) -> Vec<Risk> {
        let worked = self.rows.into_iter().zip(self.worked).filter(|(_, worked)| *worked);
        worked.map(|(risk, _)| risk.total(self.seasons)).collect()
    }
}

impl Risk {
    fn add(&mut self, row: &RowOutcome, year: Option<usize>) {
        match row.finish {
            Some(finish) => {
                let day = (finish - 1).div_euclid(DAY).max(0) as usize;
                let last = self.done_by.len() - 1;
                self.done_by[day.min(last)] += 1;
            }
            None => self.unfinished += 1,
        }
        self.late += u64::from(row.late);
        if let Some(year) = year {
            self.years[year].seasons += 1;
            self.years[year].late += u64::from(row.late);
        }
        let most = self.days_late.len() - 1;
        self.days_late[(row.days_late as usize).min(most)] += 1;
        self.days_late_sum += u64::from(row.days_late);
        self.area_late_ha_sum += row.area_late_ha;
        self.ha_days_late_sum += row.ha_days_late;
        for (sum, wait) in self.waits_s.iter_mut().zip(&row.waits_s) {
            *sum += wait;
        }
    }

    /// From counts by day to counts up to each day.
    fn total(mut self, seasons: u64) -> Self {
        self.seasons = seasons;
        let mut sum = 0;
        for done in &mut self.done_by {
            sum += *done;
            *done = sum;
        }
        if let Some(due) = self.due {
            self.late = seasons - self.done_by[due as usize];
        }
        self
    }
}
