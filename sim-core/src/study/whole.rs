//! A farm as a whole: how many of a year's operations are late, how many hectare-days, what it costs; and how that
//! differs from the base under the same skies. Counts and sums, so that memory does not grow with the seasons.

use super::paired::PairedMean;
use super::ratio::PairedRatio;
use crate::farm::Farm;
use crate::season::Outcome;

/// A farm over all seasons; intervals are those of a mean (t). Recorded years that were worked as they were count once
/// each.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Whole {
    /// How many of its operations are late in a year.
    pub late_operations: PairedMean,
    /// Undone area over the time after the due day, of all operations, in ha x days.
    pub ha_days_late: PairedMean,
    /// What a year costs, in money; `None` where the farm says of nothing what it costs.
    pub cost: Option<PairedMean>,
}

/// A farm less the base, season by season: below 0 there is less of it than on the base.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WholeDifference {
    /// Late operations in a year.
    pub late_operations: PairedMean,
    /// Hectare-days late.
    pub ha_days_late: PairedMean,
    /// What a year costs, in money; `None` where neither farm says of anything what it costs.
    pub cost: Option<PairedMean>,
    /// By how many operations fewer are late, for what that costs more.
    pub fewer_late_for_cost: PairedRatio,
    /// The same of single operations, by the base's row: by how much rarer it is late.
    pub rows: Vec<(usize, PairedRatio)>,
}

/// What a season comes to: late operations, hectare-days late, cost.
fn seen(farm: &Farm, outcome: &Outcome) -> [f64; 3] {
    let late = outcome.rows.iter().filter(|row| row.late).count() as f64;
    let ha_days: f64 = outcome.rows.iter().map(|row| row.ha_days_late).sum();
    [late, ha_days, if farm.costs.given() { season_cost(farm, outcome) } else { 0.0 }]
}

/// What a season of a farm costs, in money.
///
/// # Panics
///
/// If the outcome is of another farm.
#[must_use]
pub fn season_cost(farm: &Farm, outcome: &Outcome) -> f64 {
    let half_months = outcome.use_s.len() / (farm.machines.len() + farm.people.len()).max(1);
    let used_s = outcome.use_s.chunks(half_months.max(1)).map(|half_months| half_months.iter().sum());
    farm.costs.season(used_s, &outcome.hired_ha)
}

/// Values of seasons on their way to means: one by one, or those of each recorded year together.
struct ByYear {
    width: usize,
    /// Of each recorded year the seasons, then the sums; empty where days are drawn.
    years: Vec<f64>,
}

impl ByYear {
    fn new(width: usize, recorded_years: usize) -> Self {
        Self { width, years: vec![0.0; recorded_years * (width + 1)] }
    }

    /// Keeps the values of a season for its year; false if it is of none, and to be taken at once.
    fn keeps(&mut self, values: &[f64], year: Option<usize>) -> bool {
        let Some(year) = year else { return false };
        let of = &mut self.years[year * (self.width + 1)..][..=self.width];
        of[0] += 1.0;
        of[1..].iter_mut().zip(values).for_each(|(sum, value)| *sum += value);
        true
    }

    /// The means of every year that was worked.
    fn means(&self) -> impl Iterator<Item = Vec<f64>> {
        let years = self.years.chunks(self.width + 1).filter(|year| year[0] > 0.0);
        years.map(|year| year[1..].iter().map(|sum| sum / year[0]).collect())
    }
}

/// A farm as it is counted.
pub(super) struct WholeTally {
    years: ByYear,
    means: [PairedMean; 3],
}

impl WholeTally {
    pub(super) fn new(recorded_years: usize) -> Self {
        Self { years: ByYear::new(3, recorded_years), means: Default::default() }
    }

    pub(super) fn add(&mut self, farm: &Farm, outcome: &Outcome, year: Option<usize>) {
        let values = seen(farm, outcome);
        if !self.years.keeps(&values, year) {
            self.take(&values);
        }
    }

    fn take(&mut self, values: &[f64]) {
        self.means.iter_mut().zip(values).for_each(|(mean, value)| mean.add(*value));
    }

    pub(super) fn findings(mut self, farm: &Farm) -> Whole {
        let means: Vec<_> = self.years.means().collect();
        means.iter().for_each(|values| self.take(values));
        let [late_operations, ha_days_late, cost] = self.means;
        Whole { late_operations, ha_days_late, cost: farm.costs.given().then_some(cost) }
    }
}

/// A farm against the base as it is counted.
pub(super) struct DifferenceTally {
    years: ByYear,
    /// Rows of the base and of the other farm.
    rows: Vec<(usize, usize)>,
    values: Vec<f64>,
    found: WholeDifference,
}

impl DifferenceTally {
    /// For these rows of both farms.
    pub(super) fn new(rows: Vec<(usize, usize)>, recorded_years: usize) -> Self {
        let found = WholeDifference {
            rows: rows.iter().map(|(base, _)| (*base, PairedRatio::default())).collect(),
            ..WholeDifference::default()
        };
        let width = 3 + rows.len();
        Self { years: ByYear::new(width, recorded_years), values: vec![0.0; width], rows, found }
    }

    pub(super) fn add(&mut self, [base, other]: [&Farm; 2], seasons: [&Outcome; 2], year: Option<usize>) {
        let [of_base, of_other] = [seen(base, seasons[0]), seen(other, seasons[1])];
        let mut values = std::mem::take(&mut self.values);
        for (value, (base, other)) in values.iter_mut().zip(of_base.iter().zip(of_other)) {
            *value = other - base;
        }
        for (value, (base, other)) in values[3..].iter_mut().zip(&self.rows) {
            let late = |row: &usize, season: &Outcome| f64::from(u8::from(season.rows[*row].late));
            *value = late(other, seasons[1]) - late(base, seasons[0]);
        }
        if !self.years.keeps(&values, year) {
            self.take(&values);
        }
        self.values = values;
    }

    fn take(&mut self, values: &[f64]) {
        let found = &mut self.found;
        let [late, ha_days, cost] = [values[0], values[1], values[2]];
        found.late_operations.add(late);
        found.ha_days_late.add(ha_days);
        found.cost.get_or_insert_default().add(cost);
        found.fewer_late_for_cost.add(-late, cost);
        found.rows.iter_mut().zip(&values[3..]).for_each(|((_, row), late)| row.add(-late, cost));
    }

    pub(super) fn findings(mut self, farms: [&Farm; 2]) -> WholeDifference {
        let means: Vec<_> = self.years.means().collect();
        means.iter().for_each(|values| self.take(values));
        let given = farms.iter().any(|farm| farm.costs.given());
        WholeDifference { cost: self.found.cost.filter(|_| given), ..self.found }
    }
}
