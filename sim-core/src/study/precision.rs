//! Working until a chance is known well enough: when a study looks at what it has, and how wide its intervals are then.

use super::bulk::{CHUNK, Findings};

/// Half of the width of an interval, at most which is wanted.
///
/// A study looks after 1024 seasons, and again each time that they have grown by a quarter: how many are worked depends
/// on what they tell alone, neither on threads nor on time. Since it looks where the interval is narrow, and not where
/// the chance is high or low, its intervals hold what they should nearly as often as those of a number of seasons fixed
/// before (tests/coverage.rs measures it).
///
/// ```
/// use sim_core::study::HalfWidth;
/// assert_eq!(HalfWidth::new(0.01).map(HalfWidth::at_most), Some(0.01));
/// assert_eq!(HalfWidth::new(0.5), None);
/// assert_eq!(HalfWidth::looks().take(4).collect::<Vec<_>>(), [1024, 1280, 1600, 2016]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfWidth(f64);

impl HalfWidth {
    /// A half-width above 0 and below 0.5; nothing of others.
    #[must_use]
    pub fn new(at_most: f64) -> Option<Self> {
        (at_most > 0.0 && at_most < 0.5).then_some(Self(at_most))
    }

    /// The half-width that is wanted at most.
    #[must_use]
    pub fn at_most(self) -> f64 {
        self.0
    }

    /// Whether an interval is narrow enough.
    #[must_use]
    pub fn reached(self, interval: (f64, f64)) -> bool {
        half_width(interval) <= self.0
    }

    /// After how many seasons a study looks.
    pub fn looks() -> impl Iterator<Item = u64> {
        std::iter::successors(Some(1024u64), |look| {
            Some(look.saturating_add(look / 4).checked_next_multiple_of(CHUNK).unwrap_or(u64::MAX))
        })
    }
}

/// The widest interval of a study.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Widest {
    /// Index of the variant: that of the risk, or that of the comparison.
    pub variant: usize,
    /// Index of its row: of a comparison the base's.
    pub row: usize,
    /// Half of its width.
    pub half_width: f64,
}

impl Findings {
    /// The widest 95 % interval of all compared differences in the chance of being late; of all those chances where no
    /// farm is compared; nothing where there is none. Of what a record's few years leave open it knows nothing.
    #[must_use]
    pub fn widest(&self) -> Option<Widest> {
        let compared = self.comparisons.iter().flat_map(|of| {
            of.rows.iter().map(|row| Widest {
                variant: of.variant,
                row: row.base,
                half_width: half_width(row.late.interval()),
            })
        });
        let alone = self.variants.iter().enumerate().flat_map(|(variant, of)| {
            of.risks.iter().map(move |risk| Widest {
                variant,
                row: risk.row,
                half_width: half_width(risk.p_late_interval()),
            })
        });
        let wider = |one: Widest, other: Widest| if other.half_width > one.half_width { other } else { one };
        if self.comparisons.is_empty() { alone.reduce(wider) } else { compared.reduce(wider) }
    }
}

fn half_width((low, high): (f64, f64)) -> f64 {
    (high - low) / 2.0
}
