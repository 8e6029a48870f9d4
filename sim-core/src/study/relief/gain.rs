//! What a step brings, and by what steps are ranked.

use crate::study::pairs::Comparison;

/// By what steps are ranked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RankBy {
    /// How many of the farm's operations are late in a year.
    LateOperations,
    /// How often the operation of this row of the base is late.
    Row(usize),
}

/// What a step brings against the farm as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// How much less there is of the [`RankBy`] in a year: late operations, or a chance of being late.
    pub fall: f64,
    /// Its 95 % interval: paired t for late operations, that of [`PairedShare`](crate::study::PairedShare) for a chance.
    pub fall_interval: (f64, f64),
    /// How many hectare-days late fewer in a year, of all operations.
    pub ha_days_fall: f64,
    /// Its 95 % interval (paired t).
    pub ha_days_interval: (f64, f64),
    /// What it costs more a year, in money, with its 95 % interval (paired t); `None` where it is not known.
    pub cost: Option<(f64, (f64, f64))>,
    /// The fall for each unit of money, with its 95 % interval (Fieller); `None` where the cost is not known, or not
    /// told to be above 0.
    pub for_money: Option<(f64, (f64, f64))>,
}

impl Gain {
    /// What a comparison says; `priced` tells whether what the step costs is known. `None` where the step's farm has no
    /// such operation, or there are fewer than two pairs.
    #[must_use]
    pub fn of(comparison: &Comparison, measure: RankBy, priced: bool) -> Option<Self> {
        let whole = &comparison.whole;
        let less = |(low, high): (f64, f64)| (-high, -low);
        let (fall, fall_interval, ratio) = match measure {
            RankBy::LateOperations => {
                let late = &whole.late_operations;
                (-late.mean(), less(late.interval()?), &whole.fewer_late_for_cost)
            }
            RankBy::Row(row) => {
                let late = &comparison.rows.iter().find(|of| of.base == row)?.late;
                let (_, ratio) = whole.rows.iter().find(|(of, _)| *of == row)?;
                (-late.difference(), less(late.interval()), ratio)
            }
        };
        let cost = whole.cost.as_ref().filter(|_| priced);
        let cost = cost.and_then(|cost| Some((cost.mean(), cost.interval()?)));
        let dearer = cost.is_some_and(|(_, (low, _))| low > 0.0);
        Some(Self {
            fall,
            fall_interval,
            ha_days_fall: -whole.ha_days_late.mean(),
            ha_days_interval: less(whole.ha_days_late.interval()?),
            cost,
            for_money: if dearer { ratio.ratio().zip(ratio.interval()) } else { None },
        })
    }

    /// Whether it is told to bring something: 1; to do harm: -1; neither: 0.
    #[must_use]
    pub fn sign(&self) -> i8 {
        let (low, high) = self.fall_interval;
        i8::from(low > 0.0) - i8::from(high < 0.0)
    }
}
