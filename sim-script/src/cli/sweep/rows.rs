//! The rows of sweep.csv read again, by operation: a sweep that was stopped in between says the same as one that was not.

use crate::cli::Failure;
use crate::tables::{sweep_place, sweep_records};
use std::collections::BTreeMap;

/// What a step from the value before does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    Fewer,
    More,
    /// Not told apart from none.
    Open,
}

/// An operation at a value.
#[derive(Debug, Clone, Copy)]
pub(super) struct At {
    pub(super) p_late: f64,
    /// Half the width of its interval.
    pub(super) half: f64,
    /// The chance on the farm as it is, if it has the operation.
    pub(super) base: Option<f64>,
    /// Whether it is told apart from the farm as it is.
    pub(super) apart: bool,
    pub(super) step: Option<Step>,
}

/// An operation at every value at which it is done.
pub(super) struct Row {
    pub(super) name: String,
    pub(super) at: Vec<Option<At>>,
}

impl Row {
    fn chances(&self) -> impl Iterator<Item = f64> {
        self.at.iter().flatten().map(|at| at.p_late)
    }

    /// From the least to the greatest chance.
    pub(super) fn range(&self) -> f64 {
        let most = self.chances().fold(f64::NEG_INFINITY, f64::max);
        let least = self.chances().fold(f64::INFINITY, f64::min);
        (most - least).max(0.0)
    }

    pub(super) fn base(&self) -> Option<f64> {
        self.at.iter().flatten().find_map(|at| at.base)
    }
}

/// The operations, in the order in which they come, at every value.
pub(super) fn rows_of(done: &[Option<String>]) -> Result<Vec<Row>, Failure> {
    let mut rows: Vec<Row> = Vec::new();
    let mut index: BTreeMap<String, usize> = BTreeMap::new();
    let place = |name: &str| sweep_place(name).unwrap_or(usize::MAX);
    let [crop, operation] = ["crop", "operation"].map(place);
    let [p_late, record_low] = ["p_late", "p_late_record_low"].map(place);
    let [as_it_is, difference, step] = ["p_late_as_it_is", "p_late_difference", "p_late_step"].map(place);
    for (point, text) in done.iter().enumerate() {
        for record in sweep_records(text.as_deref().unwrap_or_default()) {
            let record = record.map_err(super::unreadable)?;
            let cell = |at: usize| record.get(at).unwrap_or_default();
            let number = |at: usize| cell(at).parse::<f64>().ok();
            let name = format!("{}, {}", cell(operation), cell(crop));
            let ends = |low: usize| Some((number(low)?, number(low + 1)?));
            // Mean and ends of the chance, then of the days.
            let told = |first: usize| {
                let sign = |at: usize| {
                    let (low, high) = ends(at + 1)?;
                    if high < 0.0 { Some(Step::Fewer) } else { (low > 0.0).then_some(Step::More) }
                };
                number(first).map(|_| sign(first).or_else(|| sign(first + 3)).unwrap_or(Step::Open))
            };
            let chance = number(p_late).unwrap_or_default();
            let (low, high) = ends(record_low).or_else(|| ends(p_late + 1)).unwrap_or_default();
            let at = At {
                p_late: chance,
                half: (high - low) / 2.0,
                base: number(as_it_is),
                apart: !matches!(told(difference), None | Some(Step::Open)),
                step: told(step),
            };
            let row = *index.entry(name.clone()).or_insert_with(|| {
                rows.push(Row { name, at: vec![None; done.len()] });
                rows.len() - 1
            });
            rows[row].at[point] = Some(at);
        }
    }
    Ok(rows)
}
