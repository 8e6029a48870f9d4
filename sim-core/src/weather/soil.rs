//! How wet the soil is, day by day from rain and reference evapotranspiration: the soil-water bucket of grassland
//! ([`deficits`]) and, beside it, the layer at the surface that the bucket does not see ([`Topsoil`]). Which deficit
//! a kind of work needs is not decided here, nor where rain and evapotranspiration come from.

use crate::weather::record::Quantity;

/// The deficit at which grass draws no more water, mm (Schulte et al. 2005).
const DRIEST_MM: f64 = 110.0;

/// How far apart the wettest and the driest state that are still possible may be for the state to count as known, mm:
/// the last digit of published deficits.
const KNOWN_WITHIN_MM: f64 = 0.1;

/// Days at the start of a run that are not to be used where the state on the first day is a guess.
///
/// A whole year, common practice, no source: on a 46-year record of Dublin no start at field capacity takes as long
/// to be forgotten, nor does a start of which nothing is known.
pub const RUN_IN_DAYS: usize = 365;

/// How fast a soil gets rid of water beyond field capacity.
///
/// The three classes and their figures: R. P. O. Schulte, J. Diamond, K. Finkele, N. M. Holden and A. J. Brereton
/// (2005), "Predicting the soil moisture conditions of Irish grasslands", Irish Journal of Agricultural and Food
/// Research 44 (title and place from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Drainage {
    /// Never wetter than field capacity at the close of a day; dries ever more slowly from there.
    Well,
    /// Up to 10 mm wetter, which leaves within a day.
    Moderate,
    /// Up to 10 mm wetter, of which 0.5 mm or less drains a day; dries at the full rate down to a deficit of 10 mm.
    Poor,
}

impl Drainage {
    /// All of them, the driest first.
    pub const ALL: [Self; 3] = [Self::Well, Self::Moderate, Self::Poor];

    /// Its name in tables and messages.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Well => "well",
            Self::Moderate => "moderate",
            Self::Poor => "poor",
        }
    }

    /// What a record calls its deficit.
    #[must_use]
    pub const fn deficit(self) -> Quantity {
        match self {
            Self::Well => Quantity::DeficitWell,
            Self::Moderate => Quantity::DeficitModerate,
            Self::Poor => Quantity::DeficitPoor,
        }
    }

    /// The deficit of the soil at its wettest, mm: 0 is field capacity, below it water stands in the soil.
    #[must_use]
    pub const fn wettest_mm(self) -> f64 {
        match self {
            Self::Well => 0.0,
            Self::Moderate | Self::Poor => -10.0,
        }
    }

    /// The deficit up to which grass draws at the full rate, mm.
    const fn full_rate_to_mm(self) -> f64 {
        match self {
            Self::Well | Self::Moderate => 0.0,
            Self::Poor => 10.0,
        }
    }

    /// What drains a day from the soil at its wettest, mm.
    const fn most_drained_mm(self) -> f64 {
        match self {
            Self::Well => 0.0,
            Self::Moderate => 10.0,
            Self::Poor => 0.5,
        }
    }

    /// The deficit at the close of a day, mm, from that of the day before, the day's rain and its reference
    /// evapotranspiration, mm.
    ///
    /// Drying and draining go by the deficit at the close of the day before. A wetter soil never becomes the drier
    /// one, which [`deficits`] rests on.
    #[must_use]
    pub fn step(self, before_mm: f64, rain_mm: f64, et_mm: f64) -> f64 {
        let full = self.full_rate_to_mm();
        let share = ((DRIEST_MM - before_mm) / (DRIEST_MM - full)).clamp(0.0, 1.0);
        let drained = if before_mm < 0.0 && self.wettest_mm() < 0.0 {
            self.most_drained_mm() * before_mm / self.wettest_mm()
        } else {
            0.0
        };
        (before_mm - rain_mm + share * et_mm + drained).max(self.wettest_mm())
    }
}

/// The soil moisture deficit at the close of each day, mm, from daily rain and reference evapotranspiration, mm, and
/// the deficit `start_mm` before the first day, which is taken to lie within what the soil can have.
///
/// `NAN` in either series, or as `start_mm`, says that the state is not known. From there two soils are followed, one
/// as wet and one as dry as a soil can be; the state is known again when they are within 0.1 mm of each other, as they
/// are once much rain or a winter has come, and is `NAN` until then. A short gap thus costs months in a dry summer:
/// bridge it before ([`Record::bridge`](crate::weather::Record::bridge)) where a guess at its days is good enough.
///
/// A `start_mm` that is a guess makes the first days guesses too: see [`run_in`].
///
/// # Panics
/// When the series are not of one length.
///
/// ```
/// use sim_core::weather::{Drainage, deficits};
/// let (rain, et) = ([0.0, 0.0, 60.0, 0.0], [4.0, 4.0, 1.0, 2.0]);
/// assert_eq!(deficits(&rain, &et, Drainage::Poor, 0.0), [4.0, 8.0, -10.0, -7.5]);
/// // Not known at first, known after a soaking.
/// let known = deficits(&[0.0, 160.0, 0.0], &[4.0, 1.0, 2.0], Drainage::Well, f64::NAN);
/// assert!(known[0].is_nan());
/// assert_eq!(known[1..], [0.0, 2.0]);
/// ```
#[must_use]
pub fn deficits(rain_mm: &[f64], et_mm: &[f64], drainage: Drainage, start_mm: f64) -> Vec<f64> {
    let bounds = (drainage.wettest_mm(), DRIEST_MM);
    follow(rain_mm, et_mm, start_mm, bounds, |before, rain, et| drainage.step(before, rain, et))
}

/// The series without its run-in: its first `days` values are `NAN`, not to be used. [`RUN_IN_DAYS`] is the usual
/// choice; 0 where the state at the start was measured.
#[must_use]
pub fn run_in(mut series: Vec<f64>, days: usize) -> Vec<f64> {
    let days = days.min(series.len());
    series[..days].fill(f64::NAN);
    series
}

/// The layer at the surface: a small store that rain fills first and that dries at the full reference rate, whatever
/// the deficit of the soil beneath.
///
/// What it is for: the bucket describes grass and takes a day's rain off a deficit of the whole root zone. After a dry
/// summer 10 mm leave that deficit large, and a rule on the deficit alone passes the day after the rain, while the
/// surface is still wet: so it does with nearly half of the dry days that follow 10 mm of rain in Dublin's August to
/// October. A kind of work that is stopped by a wet surface (tilling, drilling, driving on tilled ground) asks both.
///
/// Two numbers describe it. It is no model of a soil: water neither passes between it and the bucket nor drains from
/// it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Topsoil {
    /// How much water it gives off before it is dry, mm.
    pub holds_mm: f64,
    /// How much of it must be gone before the surface bears work, mm.
    pub fit_mm: f64,
}

impl Default for Topsoil {
    /// 10 mm: what leaves the top 10 to 15 cm of a loam at the full rate (readily evaporable water, 8 to 10 mm in FAO
    /// Irrigation and Drainage Paper 56, table 19; from memory). 3 mm, one or two dry days: common practice, no source.
    fn default() -> Self {
        Self { holds_mm: 10.0, fit_mm: 3.0 }
    }
}

impl Topsoil {
    /// How much is gone from the store at the close of a day, mm: 0 is full, [`Topsoil::holds_mm`] is dry.
    #[must_use]
    pub fn step(&self, before_mm: f64, rain_mm: f64, et_mm: f64) -> f64 {
        (before_mm - rain_mm + et_mm).min(self.holds_mm).max(0.0)
    }

    /// How much is gone at the close of each day, mm, from daily rain and reference evapotranspiration, mm, and what is
    /// gone before the first day. `NAN` is dealt with as in [`deficits`]; here a wet or a dry spell makes the state
    /// known again.
    ///
    /// # Panics
    /// When the series are not of one length.
    ///
    /// ```
    /// use sim_core::weather::Topsoil;
    /// let topsoil = Topsoil::default();
    /// let gone_mm = topsoil.dryness(&[0.0, 14.0, 0.0, 0.0], &[2.0, 1.0, 2.5, 2.0], f64::NAN);
    /// assert!(gone_mm[0].is_nan());
    /// assert_eq!(gone_mm[1..], [0.0, 2.5, 4.5]);
    /// assert!(!topsoil.is_fit(gone_mm[2]) && topsoil.is_fit(gone_mm[3]));
    /// ```
    #[must_use]
    pub fn dryness(&self, rain_mm: &[f64], et_mm: &[f64], start_mm: f64) -> Vec<f64> {
        follow(rain_mm, et_mm, start_mm, (0.0, self.holds_mm), |before, rain, et| self.step(before, rain, et))
    }

    /// Whether the surface bears work when so much is gone, mm; not when that is unknown.
    #[must_use]
    pub fn is_fit(&self, gone_mm: f64) -> bool {
        gone_mm >= self.fit_mm
    }
}

/// A state followed day by day between its wettest and its driest; `step` must keep the order of two states.
fn follow(
    rain_mm: &[f64],
    et_mm: &[f64],
    start_mm: f64,
    (wettest, driest): (f64, f64),
    step: impl Fn(f64, f64, f64) -> f64,
) -> Vec<f64> {
    assert_eq!(rain_mm.len(), et_mm.len(), "rain and evapotranspiration of the same days");
    let start = start_mm.clamp(wettest, driest);
    let (mut low, mut high) = if start.is_nan() { (wettest, driest) } else { (start, start) };
    let day = |(&rain, &et): (&f64, &f64)| {
        if rain.is_nan() || et.is_nan() {
            (low, high) = (wettest, driest);
        } else {
            (low, high) = (step(low, rain, et), step(high, rain, et));
        }
        if high - low <= KNOWN_WITHIN_MM { low.midpoint(high) } else { f64::NAN }
    };
    rain_mm.iter().zip(et_mm).map(day).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn drainages() -> impl Strategy<Value = Drainage> {
        prop::sample::select(Drainage::ALL.to_vec())
    }

    /// Rain and evapotranspiration of some days: half of them dry.
    fn days() -> impl Strategy<Value = Vec<(f64, f64)>> {
        prop::collection::vec((prop_oneof![Just(0.0), 0.0..60.0f64], -0.5..8.0f64), 1..200)
    }

    #[test]
    fn each_class_dries_and_drains_as_published() {
        // Half of the way to 110 mm: half of the rate, but 55 of 100 above the poor class's 10 mm.
        assert_eq!(Drainage::Well.step(55.0, 0.0, 4.0), 57.0);
        assert_eq!(Drainage::Poor.step(55.0, 0.0, 4.0), 57.2);
        assert_eq!(Drainage::Poor.step(10.0, 0.0, 4.0), 14.0);
        // At the wettest: all or half a millimetre drains, and drying is at the full rate.
        assert_eq!(Drainage::Moderate.step(-10.0, 0.0, 1.0), 1.0);
        assert_eq!(Drainage::Poor.step(-10.0, 0.0, 1.0), -8.5);
        assert_eq!(Drainage::Poor.step(-5.0, 0.0, 0.0), -4.75);
        assert_eq!(Drainage::ALL.map(|class| class.step(0.0, 500.0, 0.0)), [0.0, -10.0, -10.0]);
    }

    #[test]
    fn a_gap_leaves_the_state_unknown_until_it_no_longer_matters() {
        let (mut rain, et) = (vec![0.0; 6], vec![3.0; 6]);
        rain[1] = f64::NAN;
        rain[4] = 200.0;
        let found = deficits(&rain, &et, Drainage::Well, 0.0);
        assert_eq!(found[0], 3.0);
        assert!(found[1..4].iter().all(|deficit| deficit.is_nan()));
        assert_eq!(found[4..], [0.0, 3.0]);
    }

    #[test]
    fn a_run_in_is_taken_out_however_long() {
        let found = run_in(vec![1.0, 2.0, 3.0], 2);
        assert!(found[0].is_nan() && found[1].is_nan() && found[2] == 3.0);
        assert!(run_in(vec![1.0], RUN_IN_DAYS)[0].is_nan());
        assert_eq!(run_in(vec![1.0], 0), [1.0]);
    }

    proptest! {
        #[test]
        fn a_deficit_stays_within_what_the_soil_can_have(
            days in days(), drainage in drainages(), start in -50.0..200.0f64
        ) {
            let (rain, et): (Vec<_>, Vec<_>) = days.into_iter().unzip();
            for deficit in deficits(&rain, &et, drainage, start) {
                prop_assert!((drainage.wettest_mm()..=DRIEST_MM).contains(&deficit), "{}", deficit);
            }
            let topsoil = Topsoil::default();
            for gone in topsoil.dryness(&rain, &et, start) {
                prop_assert!((0.0..=topsoil.holds_mm).contains(&gone), "{}", gone);
            }
        }

        #[test]
        fn more_rain_never_makes_a_larger_deficit(
            days in days(), drainage in drainages(), start in -10.0..110.0f64, wet in 0usize..200, more in 0.0..50.0f64
        ) {
            let (rain, et): (Vec<_>, Vec<_>) = days.into_iter().unzip();
            let mut wetter = rain.clone();
            let wet = wet % rain.len();
            wetter[wet] += more;
            let topsoil = Topsoil::default();
            let pairs = [
                (deficits(&rain, &et, drainage, start), deficits(&wetter, &et, drainage, start)),
                (topsoil.dryness(&rain, &et, start), topsoil.dryness(&wetter, &et, start)),
            ];
            for (dry, wet) in pairs.iter().flat_map(|(dry, wet)| dry.iter().zip(wet)) {
                // Rounding alone may turn the order of two that have met.
                prop_assert!(*wet <= dry + 1e-9, "{} after more rain, {} without", wet, dry);
            }
        }

        #[test]
        fn what_becomes_known_is_what_it_was(
            days in days(), drainage in drainages(), start in 0.0..110.0f64
        ) {
            let (rain, et): (Vec<_>, Vec<_>) = days.into_iter().unzip();
            let truth = deficits(&rain, &et, drainage, start);
            for (known, truth) in deficits(&rain, &et, drainage, f64::NAN).iter().zip(&truth) {
                prop_assert!(known.is_nan() || (known - truth).abs() <= KNOWN_WITHIN_MM / 2.0 + 1e-9);
            }
        }
    }
}
