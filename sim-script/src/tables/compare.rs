//! compare.csv: each variant against the base, operation by operation.

use super::column::COMPARE;
use super::folder::{OutError, OutFolder};
use super::write::{chance, table};
use crate::words::number;
use sim_core::study::{Comparison, Findings, PairedMean, PairedShare, Variant};

/// Writes compare.csv.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write_compare(out: &mut OutFolder, variants: &[Variant], found: &Findings) -> Result<(), OutError> {
    table(out, &COMPARE, |csv| {
        for of in &found.comparisons {
            let (base, variant) = (&variants[0], &variants[of.variant]);
            let farm = base.plan.farm();
            for row in &of.rows {
                let named = &farm.rows[row.base];
                let (late, pairs) = (&row.late, of.pairs.to_string());
                let (low, high) = late.interval();
                let mut cells = vec![
                    base.name.clone(),
                    variant.name.clone(),
                    farm.crops[named.crop].clone(),
                    named.operation.clone(),
                    pairs,
                    if of.years { "years".into() } else { "seasons".into() },
                    number(late.both, 4),
                    number(late.only_variant, 4),
                    number(late.only_base, 4),
                    number(late.neither, 4),
                    chance(late.of_base()),
                    chance(late.of_variant()),
                    chance(late.difference()),
                    chance(low),
                    chance(high),
                    pairs_more(of, late).map_or_else(String::new, |more| more.to_string()),
                ];
                for mean in [row.days_late, row.area_late_ha, row.ha_days_late] {
                    cells.extend(of_mean(&mean));
                }
                csv.write_record(cells)?;
            }
        }
        Ok(())
    })
}

/// How many more pairs would tell a difference of chances from none; 0 if these do.
pub(crate) fn pairs_more(of: &Comparison, late: &PairedShare) -> Option<u64> {
    Some((late.pairs_to_tell_apart()?.ceil() as u64).saturating_sub(of.pairs))
}

fn of_mean(mean: &PairedMean) -> [String; 4] {
    let (low, high) =
        mean.interval().map_or_else(Default::default, |(low, high)| (number(low, 4), number(high, 4)));
    let enough = mean.pairs_for_interval().map_or_else(String::new, |pairs| number(pairs, 0));
    [number(mean.mean(), 4), low, high, enough]
}
