//! Farms against the first of them, row by row, as the seasons come: counts and sums, so that memory does not grow.

use super::paired::{PairedMean, PairedShare};
use super::whole::{DifferenceTally, WholeDifference};
use crate::farm::Farm;
use crate::season::{Outcome, RowOutcome};

/// A variant against another, the base, under the same skies.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Index of the base among the variants.
    pub base: usize,
    /// Index of the variant.
    pub variant: usize,
    /// How many pairs each figure rests on: the seasons, or the recorded years where years are worked as they were.
    pub pairs: u64,
    /// Whether the pairs are recorded years, each counted once however often it was worked.
    pub years: bool,
    /// The operations that both farms have, in the base's order.
    pub rows: Vec<ComparedRow>,
    /// Rows of the base that the variant has not.
    pub only_base: Vec<usize>,
    /// Rows of the variant that the base has not.
    pub only_variant: Vec<usize>,
    /// The farms as wholes.
    pub whole: WholeDifference,
}

/// An operation of a crop on two farms. Differences are the variant's less the base's: below 0 the variant is better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ComparedRow {
    /// Index of the base's row.
    pub base: usize,
    /// Index of the variant's row.
    pub variant: usize,
    /// In how many pairs each was late.
    pub late: PairedShare,
    /// Days late.
    pub days_late: PairedMean,
    /// Area not done by the end of the due day, in ha.
    pub area_late_ha: PairedMean,
    /// Undone area over the time after the due day, in ha x days.
    pub ha_days_late: PairedMean,
}

impl ComparedRow {
    /// Whether no season was seen in which the two differ.
    #[must_use]
    pub fn alike(&self) -> bool {
        let none = |mean: &PairedMean| mean.interval().map_or(mean.mean() == 0.0, |ends| ends == (0.0, 0.0));
        self.late.only_base == 0.0
            && self.late.only_variant == 0.0
            && [&self.days_late, &self.area_late_ha, &self.ha_days_late].into_iter().all(none)
    }
}

/// One row of a pair as it is counted.
struct Tally {
    base: usize,
    variant: usize,
    /// Whether either had something to do in some season.
    worked: bool,
    late: PairedShare,
    /// Days late, area late, ha-days late.
    means: [PairedMean; 3],
    /// The same of each recorded year, where there are any.
    years: Vec<Year>,
}

/// What the seasons of a recorded year come to: sums.
#[derive(Clone, Default)]
struct Year {
    late: PairedShare,
    sums: [f64; 3],
}

/// A variant against the base as it is counted.
pub(super) struct Pairs {
    base: usize,
    variant: usize,
    rows: Vec<Tally>,
    only_base: Vec<(usize, bool)>,
    only_variant: Vec<(usize, bool)>,
    whole: DifferenceTally,
    seasons: u64,
}

impl Pairs {
    /// A variant against a base, each with its index, of which so many recorded years are worked.
    pub(super) fn new(base: (usize, &Farm), variant: (usize, &Farm), recorded_years: usize) -> Self {
        let ((base_index, base), (index, variant)) = (base, variant);
        let named = |farm: &Farm, row: usize| {
            (farm.crops[farm.rows[row].crop].clone(), farm.rows[row].operation.clone())
        };
        // A farm has a row where it has work for it, be it work that only a fallback brings.
        let has = |farm: &Farm| -> Vec<usize> {
            (0..farm.rows.len()).filter(|row| farm.jobs.iter().any(|job| job.row == *row)).collect()
        };
        let (of_base, of_variant) = (has(base), has(variant));
        let partner = |name: (String, String), farm: &Farm, rows: &[usize]| {
            rows.iter().copied().find(|row| named(farm, *row) == name)
        };
        let mut rows: Vec<Tally> = Vec::new();
        let mut only_base = Vec::new();
        for row in &of_base {
            match partner(named(base, *row), variant, &of_variant) {
                Some(other) => rows.push(Tally {
                    base: *row,
                    variant: other,
                    worked: false,
                    late: PairedShare::default(),
                    means: [PairedMean::default(); 3],
                    years: vec![Year::default(); recorded_years],
                }),
                None => only_base.push((*row, false)),
            }
        }
        let only_variant =
            of_variant.iter().filter(|row| partner(named(variant, **row), base, &of_base).is_none());
        let only_variant = only_variant.map(|row| (*row, false)).collect();
        let of_both = rows.iter().map(|tally| (tally.base, tally.variant)).collect();
        let whole = DifferenceTally::new(of_both, recorded_years);
        Self { base: base_index, variant: index, rows, only_base, only_variant, whole, seasons: 0 }
    }

    /// Counts a season of both, which is the recorded year of this index if it is one.
    pub(super) fn add(&mut self, farms: [&Farm; 2], base: &Outcome, variant: &Outcome, year: Option<usize>) {
        self.seasons += 1;
        self.whole.add(farms, [base, variant], year);
        for tally in &mut self.rows {
            tally.add(&base.rows[tally.base], &variant.rows[tally.variant], year);
        }
        for (only, outcome) in [(&mut self.only_base, base), (&mut self.only_variant, variant)] {
            only.iter_mut().for_each(|(row, worked)| *worked |= outcome.rows[*row].finish != Some(0));
        }
    }

    /// The intervals so far of the differences in the chance of being late, recorded years left out.
    pub(super) fn intervals(&self) -> impl Iterator<Item = (f64, f64)> {
        self.rows.iter().filter(|tally| tally.worked).map(|tally| tally.late.interval())
    }

    pub(super) fn findings(self, farms: [&Farm; 2]) -> Comparison {
        let years = self.rows.iter().any(|tally| !tally.years.is_empty());
        let worked = |only: Vec<(usize, bool)>| {
            only.into_iter().filter(|(_, worked)| *worked).map(|(row, _)| row).collect()
        };
        let rows: Vec<ComparedRow> =
            self.rows.into_iter().filter(|tally| tally.worked).map(Tally::total).collect();
        Comparison {
            base: self.base,
            variant: self.variant,
            pairs: rows.first().map_or(self.seasons, |row| row.days_late.pairs()),
            years,
            rows,
            only_base: worked(self.only_base),
            only_variant: worked(self.only_variant),
            whole: self.whole.findings(farms),
        }
    }
}

impl Tally {
    fn add(&mut self, base: &RowOutcome, variant: &RowOutcome, year: Option<usize>) {
        self.worked |= base.finish != Some(0) || variant.finish != Some(0);
        let differences = [
            f64::from(variant.days_late) - f64::from(base.days_late),
            variant.area_late_ha - base.area_late_ha,
            variant.ha_days_late - base.ha_days_late,
        ];
        let late = match year {
            Some(year) => {
                let year = &mut self.years[year];
                year.sums.iter_mut().zip(differences).for_each(|(sum, difference)| *sum += difference);
                &mut year.late
            }
            None => {
                self.means.iter_mut().zip(differences).for_each(|(mean, difference)| mean.add(difference));
                &mut self.late
            }
        };
        let cell = match (variant.late, base.late) {
            (true, true) => &mut late.both,
            (true, false) => &mut late.only_variant,
            (false, true) => &mut late.only_base,
            (false, false) => &mut late.neither,
        };
        *cell += 1.0;
    }

    /// Each recorded year counts once.
    fn total(mut self) -> ComparedRow {
        for Year { late, sums } in &self.years {
            let seasons = late.pairs();
            if seasons == 0.0 {
                continue;
            }
            self.late.both += late.both / seasons;
            self.late.only_variant += late.only_variant / seasons;
            self.late.only_base += late.only_base / seasons;
            self.late.neither += late.neither / seasons;
            self.means.iter_mut().zip(sums).for_each(|(mean, sum)| mean.add(sum / seasons));
        }
        let [days_late, area_late_ha, ha_days_late] = self.means;
        ComparedRow {
            base: self.base,
            variant: self.variant,
            late: self.late,
            days_late,
            area_late_ha,
            ha_days_late,
        }
    }
}
