//! farm.csv: each farm as a whole, and against the first.

use super::column::FARM;
use super::folder::{OutError, OutFolder};
use super::write::table;
use crate::words::number;
use sim_core::study::{Findings, PairedMean, Variant};

/// Writes farm.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_farm(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &FARM, |csv| {
        for (index, (variant, of)) in variants.iter().zip(&found.variants).enumerate() {
            let against = found.comparisons.iter().find(|comparison| comparison.variant == index);
            let difference = against.map(|comparison| &comparison.whole);
            let mut cells = vec![variant.name.clone(), of.whole.late_operations.pairs().to_string()];
            for mean in [Some(of.whole.late_operations), Some(of.whole.ha_days_late), of.whole.cost] {
                cells.extend(mean_cells(mean.as_ref()));
            }
            for mean in [
                difference.map(|of| of.late_operations),
                difference.map(|of| of.ha_days_late),
                difference.and_then(|of| of.cost),
            ] {
                cells.extend(mean_cells(mean.as_ref()));
            }
            csv.write_record(cells)?;
        }
        Ok(())
    })
}

/// A mean and its interval; empty where there is none.
pub(super) fn mean_cells(mean: Option<&PairedMean>) -> [String; 3] {
    let Some(mean) = mean else { return Default::default() };
    ends_cells(mean.mean(), mean.interval())
}

/// A figure and its interval.
pub(super) fn ends_cells(value: f64, ends: Option<(f64, f64)>) -> [String; 3] {
    let (low, high) = ends.map_or_else(Default::default, |(low, high)| (number(low, 6), number(high, 6)));
    [number(value, 6), low, high]
}
