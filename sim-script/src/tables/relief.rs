//! relief.csv: what each step brings against the farm as it is.

use super::column::RELIEF;
use super::farm::ends_cells;
use super::folder::{OutError, OutFolder};
use super::write::table;
use crate::words::{number, operation};
use sim_core::farm::steps::Step;
use sim_core::study::relief::{Gain, RankBy};
use sim_core::study::{Findings, Study};

/// Steps that were worked.
#[derive(Debug, Clone, Copy)]
pub struct Stepped<'a> {
    /// The farms, that as it is first.
    pub study: &'a Study,
    /// What was found of them.
    pub found: &'a Findings,
    /// The steps, in the order of their variants.
    pub steps: &'a [Step],
    /// The variant with machines and people without end.
    pub bound: usize,
    /// The first step's variant.
    pub first: usize,
    /// By what they are ranked.
    pub measure: RankBy,
}

/// Writes relief.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_relief(out: &mut OutFolder, of: &Stepped<'_>) -> Result<(), OutError> {
    let comparison =
        |variant: usize| of.found.comparisons.iter().find(|comparison| comparison.variant == variant);
    let gain = |variant: usize, priced| {
        comparison(variant).and_then(|found| Some((found, Gain::of(found, of.measure, priced)?)))
    };
    let mut rows: Vec<_> = of
        .steps
        .iter()
        .zip(of.first..)
        .filter_map(|(step, variant)| {
            let (found, gain) = gain(variant, step.priced)?;
            Some((step.name.as_str(), step.kind.name(), step.assumes.as_str(), found, gain))
        })
        .collect();
    rows.sort_by(|one, other| other.4.fall.total_cmp(&one.4.fall).then(one.0.cmp(other.0)));
    let bound = gain(of.bound, false).map(|(found, gain)| {
        let assumes = "As many of every machine and person as could be wished for, standing by at every field; one outfit works in \
                       a field at a time, at its own rate and in its people's hours.";
        (of.study.variants[of.bound].name.as_str(), "bound", assumes, found, gain)
    });
    table(out, &RELIEF, |csv| {
        for (step, kind, assumes, found, gain) in bound.into_iter().chain(rows) {
            let farm = of.study.variants[0].plan.farm();
            let (ranked_by, late_base) = match of.measure {
                RankBy::LateOperations => {
                    ("late operations".to_string(), of.found.variants[0].whole.late_operations.mean())
                }
                RankBy::Row(row) => {
                    let late =
                        found.rows.iter().find(|of| of.base == row).map_or(0.0, |of| of.late.of_base());
                    (operation(farm, row), late)
                }
            };
            let mut cells = vec![
                step.to_string(),
                kind.to_string(),
                assumes.to_string(),
                found.pairs.to_string(),
                if found.years { "years".into() } else { "seasons".into() },
                ranked_by,
                number(late_base, 6),
            ];
            cells.extend(ends_cells(gain.fall, Some(gain.fall_interval)));
            cells.extend(ends_cells(gain.ha_days_fall, Some(gain.ha_days_interval)));
            cells
                .extend(gain.cost.map_or_else(Default::default, |(cost, ends)| ends_cells(cost, Some(ends))));
            let thousand = |(low, high): (f64, f64)| Some((low * 1000.0, high * 1000.0));
            let for_money = gain.for_money.map(|(ratio, ends)| ends_cells(ratio * 1000.0, thousand(ends)));
            cells.extend(for_money.unwrap_or_default());
            csv.write_record(cells)?;
        }
        Ok(())
    })
}
