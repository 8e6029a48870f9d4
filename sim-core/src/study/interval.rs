//! How sure a count of seasons makes one: the interval of a proportion, and whether so few seasons can say
//! anything of a quantile. What is counted is not known here.

/// The standard normal quantile of 0.975, for two-sided 95 % intervals.
pub(super) const Z_95: f64 = 1.959_963_984_540_054;

/// The 95 % interval of Wilson (1927) for a proportion of which `count` of `seasons` were seen; 0 to 1
/// where there were no seasons.
///
/// ```
/// use sim_core::study::interval::wilson;
/// let (low, high) = wilson(16, 20);
/// assert!((low - 0.584).abs() < 5e-4 && (high - 0.919).abs() < 5e-4);
/// ```
#[must_use]
pub fn wilson(count: u64, seasons: u64) -> (f64, f64) {
    if seasons == 0 {
        return (0.0, 1.0);
    }
    wilson_of_share(count as f64 / seasons as f64, seasons as f64)
}

/// Wilson's interval of a share `p` (0 to 1) that is as sure as one of `n` seasons, above 0 and not always whole.
#[must_use]
pub(super) fn wilson_of_share(p: f64, n: f64) -> (f64, f64) {
    let z2 = Z_95 * Z_95;
    let middle = p + z2 / (2.0 * n);
    let half = Z_95 * libm::sqrt((p * (1.0 - p) + z2 / (4.0 * n)) / n);
    let whole = 1.0 + z2 / n;
    // At the ends the bound is 0 or 1 exactly; rounding must not say otherwise.
    let low = if p <= 0.0 { 0.0 } else { ((middle - half) / whole).max(0.0) };
    let high = if p >= 1.0 { 1.0 } else { ((middle + half) / whole).min(1.0) };
    (low, high)
}

/// Whether `seasons` independent seasons give a distribution-free 95 % interval for the quantile at
/// `percent` of 100: the chance that it lies between the least and the greatest of them,
/// `1 - p^n - (1 - p)^n`, must reach 0.95.
///
/// ```
/// use sim_core::study::interval::quantile_is_supported;
/// assert!(!quantile_is_supported(90, 20));
/// assert!(quantile_is_supported(90, 29));
/// ```
#[must_use]
pub fn quantile_is_supported(percent: u32, seasons: u64) -> bool {
    let (p, n) = (f64::from(percent) / 100.0, seasons as f64);
    1.0 - libm::pow(p, n) - libm::pow(1.0 - p, n) >= 0.95
}

/// The first index at which the running sum of `counts` reaches `percent` of 100 of `seasons`; `None` if
/// it never does, since what is not in `counts` weighs more.
#[must_use]
pub(super) fn quantile_of_counts<C: Copy + Into<u128>>(
    counts: &[C],
    percent: u32,
    seasons: u64,
) -> Option<usize> {
    let wanted = u128::from(seasons) * u128::from(percent);
    let mut sum = 0u128;
    counts.iter().position(|count| {
        sum += (*count).into();
        sum * 100 >= wanted
    })
}

/// The least of the sorted values that `percent` of 100 of them do not exceed; `None` where there are none.
#[must_use]
pub(super) fn quantile_of_sorted<T: Copy>(sorted: &[T], percent: usize) -> Option<T> {
    let at = (sorted.len() * percent).div_ceil(100).max(1) - 1;
    sorted.get(at).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// 16 of 20: 0.584 to 0.919 (check value from outside; Newcombe 1998 gives the formula).
    #[test]
    fn wilson_of_16_of_20() {
        let (low, high) = wilson(16, 20);
        assert_eq!((format!("{low:.3}"), format!("{high:.3}")), ("0.584".into(), "0.919".into()));
    }

    #[test]
    fn wilson_ends_are_exact() {
        assert_eq!(wilson(0, 50).0, 0.0);
        assert_eq!(wilson(50, 50).1, 1.0);
        assert_eq!(wilson(0, 0), (0.0, 1.0));
    }

    /// The fewest seasons for each quantile: the first n with 1 - p^n - (1 - p)^n >= 0.95, by hand.
    #[test]
    fn a_quantile_needs_its_seasons() {
        for (percent, fewest) in [(10, 29), (20, 14), (50, 6), (80, 14), (90, 29)] {
            assert!(!quantile_is_supported(percent, fewest - 1), "{percent} from {}", fewest - 1);
            assert!(quantile_is_supported(percent, fewest), "{percent} from {fewest}");
        }
        assert!(!quantile_is_supported(90, 20));
        assert!(!quantile_is_supported(50, 0));
    }

    proptest! {
        /// The interval holds the proportion, lies in 0 to 1, and mirrors: low(k) = 1 - high(n - k).
        #[test]
        fn wilson_holds_its_proportion_and_mirrors(n in 1u64..5000, share in 0.0..=1.0f64) {
            let k = (share * n as f64) as u64;
            let (low, high) = wilson(k, n);
            let p = k as f64 / n as f64;
            prop_assert!(0.0 <= low && low <= p && p <= high && high <= 1.0);
            let (low_of_rest, _) = wilson(n - k, n);
            prop_assert!((high - (1.0 - low_of_rest)).abs() < 1e-12);
        }

        /// Counted or sorted, a quantile is the same value.
        #[test]
        fn quantiles_of_counts_and_of_sorted_values_agree(
            mut values in prop::collection::vec(0usize..30, 1..200),
            percent in 1usize..=99,
        ) {
            values.sort_unstable();
            let mut counts = vec![0u64; 30];
            for value in &values {
                counts[*value] += 1;
            }
            let by_count = quantile_of_counts(&counts, percent as u32, values.len() as u64);
            prop_assert_eq!(by_count, quantile_of_sorted(&values, percent));
        }
    }
}
