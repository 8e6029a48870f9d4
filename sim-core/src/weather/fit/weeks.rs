//! Persistence and spread from the number of suitable days a week.
//!
//! The deviations of weeks from their mean over the years have covariances at lags of 0, 1, 2, ... weeks; under the day
//! model these are sums over the pairs of days of two weeks, in units of `p (1 - p)`:
//! `M_l = sum over h = -6..6 of (7 - |h|) r_|7 l + h|`, with r_k the correlation of days at lag k and r_0 = 1. The law's
//! parameters are fitted to them by least squares, the number of pairs as weight.
//!
//! Seven days in one number say less than seven days. Whole numbers of one farm hold all three parameters, though not
//! well apart. The mean of many farms' reports holds less: what each farm has by itself, and with it the day-to-day
//! persistence, cancels in the mean; what is left is the spell that all have in common, `r_k = phi kappa^k` with r_0 =
//! phi. Then only the spread is fitted, and persistence has to come from elsewhere.

use super::least_squares::{Slopes, least_from};
use super::spells::{KEY_PHI_MAX, P_FITTED, Point, Pool, SPREAD_DAYS_MAX, bounds, cell, starts};
use super::{FitError, Law};
use crate::weather::bootstrap::interval;
use crate::weather::weekly::{WEEK_DAYS, Week, WeekOfYear};
use libm::{exp, log, pow, sqrt};

/// Covariances that are fitted: at lags of 0 to so many weeks less one.
pub const WEEK_LAGS: usize = 5;

/// Weeks of the year that fewer years report are left out.
pub const YEARS_ENOUGH: usize = 5;

/// What a week's number is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Counted {
    /// Days counted on one farm.
    OneFarm,
    /// The mean of many reports; the law takes this persistence, 0 to 1, which they do not tell.
    Mean {
        /// Chance that a day keeps yesterday's w.
        rho: f64,
    },
}

/// A law fitted to weeks, beside the covariances that it was fitted to, in units of `p (1 - p)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekFit {
    /// The law.
    pub law: Law,
    /// The record's covariance of weeks 0, 1, 2, ... apart; `NAN` where there are no such weeks.
    pub observed: [f64; WEEK_LAGS],
    /// The law's.
    pub modelled: [f64; WEEK_LAGS],
    /// Pairs of weeks.
    pub pairs: [f64; WEEK_LAGS],
    /// The 95 % interval of the record's correlation of successive weeks, from years drawn anew.
    pub successive: (f64, f64),
}

impl WeekFit {
    /// The record's correlation of weeks so many weeks apart, fewer than [`WEEK_LAGS`].
    ///
    /// # Panics
    /// When they are further apart.
    #[must_use]
    pub fn correlation(&self, weeks: usize) -> f64 {
        self.observed[weeks] / self.observed[0]
    }
}

/// Fits a law to weeks in order; `of_year` are the same weeks by week of the year.
///
/// # Errors
/// When too few weeks that follow one another have a mean of 0.7 to 6.3 days over five years or more.
///
/// ```
/// use jiff::civil::date;
/// use jiff::ToSpan as _;
/// use sim_core::weather::fit::{Counted, fit_weeks};
/// use sim_core::weather::weekly::{Week, weeks_of_year};
/// // Ten years, every month all good or all bad.
/// let good = |week: i64| ((week / 4) * (week / 4) + 3 * (week / 4)) % 7 < 3;
/// let weeks: Vec<Week> = (0..520)
///     .map(|week| Week {
///         ending: date(2001, 1, 7).saturating_add((week * 7).days()),
///         days: if good(week) { 6.0 } else { 1.0 },
///     })
///     .collect();
/// let fit = fit_weeks(&weeks, &weeks_of_year(&weeks), Counted::Mean { rho: 0.3 }).unwrap();
/// assert!(fit.correlation(1) > 0.5 && fit.law.phi > 0.3 && fit.law.rho == 0.3);
/// ```
pub fn fit_weeks(weeks: &[Week], of_year: &[WeekOfYear], counted: Counted) -> Result<WeekFit, FitError> {
    let seen = Seen::of(weeks, of_year);
    let lags = seen.pairs.iter().filter(|pairs| **pairs > 0.0).count();
    if lags < WEEK_LAGS {
        return Err(FitError::NothingVaries { lags, needed: WEEK_LAGS });
    }
    let (law, modelled) = match counted {
        Counted::OneFarm => seen.one_farm(),
        Counted::Mean { rho } => seen.mean(rho),
    };
    Ok(WeekFit { law, observed: seen.observed, modelled, pairs: seen.pairs, successive: seen.successive })
}

struct Seen {
    observed: [f64; WEEK_LAGS],
    pairs: [f64; WEEK_LAGS],
    root: [f64; WEEK_LAGS],
    successive: (f64, f64),
    pool: Pool,
}

impl Seen {
    fn of(weeks: &[Week], of_year: &[WeekOfYear]) -> Self {
        // Of each week that says something: its number since any Sunday, deviation and standard deviation of a day.
        let mut used: Vec<(i64, f64, f64)> = Vec::new();
        let mut years: Vec<i16> = Vec::new();
        let mut count = Pool::empty();
        for week in weeks {
            let (year, number) = week.of_year();
            let Some(of) = of_year.iter().find(|of| of.number == number) else { continue };
            let (of_years, p) = (of.years.len() as f64, of.mean() / WEEK_DAYS);
            if of.years.len() < YEARS_ENOUGH || !(P_FITTED.0..=P_FITTED.1).contains(&p) {
                continue;
            }
            count[cell(p)] += 1.0;
            let days = i64::from((week.ending - jiff::civil::date(1900, 1, 7)).get_days());
            // Deviations from the mean of the same years are too small by so much.
            let off = (week.days - of.mean()) * sqrt(of_years / (of_years - 1.0));
            years.push(year);
            used.push((days.div_euclid(7), off, sqrt(p * (1.0 - p))));
        }
        let (mut top, mut scale, mut pairs) = ([0.0; WEEK_LAGS], [0.0; WEEK_LAGS], [0.0; WEEK_LAGS]);
        // By year: products and scales at no lag and at one week.
        let mut by_year: Vec<(i16, [f64; 4])> = Vec::new();
        for (at, first) in used.iter().enumerate() {
            if by_year.last().is_none_or(|(year, _)| *year != years[at]) {
                by_year.push((years[at], [0.0; 4]));
            }
            for second in used[at..].iter().take_while(|second| second.0 - first.0 < WEEK_LAGS as i64) {
                let lag = (second.0 - first.0) as usize;
                top[lag] += first.1 * second.1;
                scale[lag] += first.2 * second.2;
                pairs[lag] += 1.0;
                if let Some((_, sums)) = by_year.last_mut().filter(|_| lag < 2) {
                    sums[2 * lag] += first.1 * second.1;
                    sums[2 * lag + 1] += first.2 * second.2;
                }
            }
        }
        let successive = interval(by_year.len(), |drawn| {
            let mut all = [0.0; 4];
            for year in drawn {
                all.iter_mut().zip(by_year[*year].1).for_each(|(all, sum)| *all += sum);
            }
            all[2] / all[3] / (all[0] / all[1])
        });
        let all: f64 = pairs.iter().sum();
        Self {
            successive: successive.unwrap_or((f64::NAN, f64::NAN)),
            observed: std::array::from_fn(|lag| top[lag] / scale[lag]),
            pairs,
            root: pairs.map(|pairs| sqrt(pairs / all)),
            pool: Pool::of(&count),
        }
    }

    /// All three parameters from days counted on one farm.
    fn one_farm(&self) -> (Law, [f64; WEEK_LAGS]) {
        let of = |x: &[f64; 3]| {
            let point = Point::of(x, &self.pool);
            by_week(|lag| if lag == 0 { (1.0, [0.0; 3]) } else { point.at(lag) })
        };
        let at = self.least(starts(), bounds(), of);
        let point = Point::of(&at, &self.pool);
        (point.law(), of(&at).map(|(value, _)| value))
    }

    /// The spread alone from the mean of many reports.
    fn mean(&self, rho: f64) -> (Law, [f64; WEEK_LAGS]) {
        let high = [KEY_PHI_MAX, log(SPREAD_DAYS_MAX)];
        let of = |x: &[f64; 2]| {
            let days = exp(x[1]);
            let kappa = 1.0 - 1.0 / days;
            by_week(|lag| {
                let k = lag as f64;
                // d kappa / d log(days) = 1 / days.
                let slope = if lag == 0 { 0.0 } else { x[0] * k * pow(kappa, k - 1.0) / days };
                (x[0] * pow(kappa, k), [pow(kappa, k), slope])
            })
        };
        let at = self.least([2.0, 6.0, 20.0].map(|days| [0.3, log(days)]).into_iter(), high, of);
        (Law { rho, phi: at[0], spread_days: exp(at[1]) }, of(&at).map(|(value, _)| value))
    }

    fn least<const N: usize>(
        &self,
        starts: impl Iterator<Item = [f64; N]>,
        high: [f64; N],
        of: impl Fn(&[f64; N]) -> [(f64, [f64; N]); WEEK_LAGS],
    ) -> [f64; N] {
        let best = least_from(starts, [0.0; N], high, |x, out: &mut Slopes<N>| {
            out.residuals.clear();
            out.slopes.clear();
            for (lag, (value, slopes)) in of(x).into_iter().enumerate() {
                out.residuals.push(self.root[lag] * (value - self.observed[lag]));
                out.slopes.push(slopes.map(|slope| self.root[lag] * slope));
            }
        });
        best.map_or([0.0; N], |best| best.at)
    }
}

/// Covariances of weeks from those of days, with slopes.
fn by_week<const N: usize>(of: impl Fn(usize) -> (f64, [f64; N])) -> [(f64, [f64; N]); WEEK_LAGS] {
    let week = WEEK_DAYS as i64;
    std::array::from_fn(|lag| {
        let (mut sum, mut slopes) = (0.0, [0.0; N]);
        for h in 1 - week..week {
            let weight = (week - h.abs()) as f64;
            let (value, slope) = of((week * lag as i64 + h).unsigned_abs() as usize);
            sum += weight * value;
            slopes.iter_mut().zip(slope).for_each(|(sum, slope)| *sum += weight * slope);
        }
        (sum, slopes)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::weekly::weeks_of_year;
    use crate::weather::{Chain, DriverSpec, KeySpec, Sky, WeatherSpec};
    use jiff::ToSpan as _;
    use jiff::civil::{ISOWeekDate, Weekday, date};

    const WEEKS: usize = 12;
    /// Years of a record that is long enough to hold a fit against the law it was drawn from.
    const YEARS: usize = 400;

    /// Weeks of autumn on one farm.
    fn drawn(law: Law) -> Vec<Week> {
        let days = 100 + WEEKS * 7;
        let spec = WeatherSpec {
            span_days: days,
            drivers: vec![DriverSpec::alike("soil", 1.0, law.rho, law.kappa(), days)],
            keys: vec![KeySpec::alike(0, 0.6, law.phi, days)],
            recorded: None,
        };
        let chain = Chain::new(&spec).unwrap();
        let (mut sky, mut weeks) = (Sky::default(), Vec::new());
        for year in 0..YEARS {
            chain.draw(5, year as u64, &mut sky);
            let autumn = ISOWeekDate::new(1700 + year as i16, 35, Weekday::Sunday).unwrap().date();
            weeks.extend((0..WEEKS).map(|week| Week {
                ending: autumn.saturating_add((7 * week as i64).days()),
                days: f64::from(sky.count(0, 100 + week * 7, 107 + week * 7)),
            }));
        }
        weeks
    }

    #[test]
    fn a_law_is_found_again_in_the_weeks_of_one_farm() {
        for law in [
            Law { rho: 0.4, phi: 0.3, spread_days: 14.0 },
            Law { rho: 0.2, phi: 0.4, spread_days: 6.0 },
            Law { rho: 0.5, phi: 0.1, spread_days: 30.0 },
        ] {
            let weeks = drawn(law);
            let fit = fit_weeks(&weeks, &weeks_of_year(&weeks), Counted::OneFarm).unwrap();
            // The parameters are not well apart; what they come to, the covariances of weeks, is.
            for lag in 0..WEEK_LAGS {
                let off = (fit.modelled[lag] - fit.observed[lag]).abs();
                assert!(off < 0.6, "{law:?} {fit:?}");
            }
            let pool = Pool::one(0.6);
            let share = law.rho / law.kappa();
            let point = Point::of(&[share, law.phi, log(law.spread_days)], &pool);
            let truth = by_week(|lag| if lag == 0 { (1.0, [0.0; 3]) } else { point.at(lag) });
            for lag in 0..WEEK_LAGS {
                assert!((fit.modelled[lag] - truth[lag].0).abs() < 1.5, "{law:?}: {lag} {fit:?} {truth:?}");
            }
        }
    }

    /// Weeks drawn from a common spell: chances by day, without any farm's own luck.
    #[test]
    fn the_spread_of_a_mean_is_found_again() {
        let (phi, days) = (0.25, 8.0);
        let draws = crate::kernel::draw::Stream::new(3, 0, 1);
        let mut quantiles = [0.0; crate::weather::spread::BINS];
        crate::weather::spread::quantile_means(0.7, phi, &mut quantiles);
        let (mut weeks, mut at, mut p) = (Vec::new(), 0, 0.7);
        let mut ending = date(1600, 1, 2);
        for _ in 0..52 * YEARS {
            let mut sum = 0.0;
            for _ in 0..7 {
                if draws.uniform(at) < 1.0 / days {
                    let bin = draws.uniform(at + 1) * quantiles.len() as f64;
                    p = quantiles[bin as usize];
                }
                at += 2;
                sum += p;
            }
            weeks.push(Week { ending, days: sum });
            ending = ending.saturating_add(7.days());
        }
        let fit = fit_weeks(&weeks, &weeks_of_year(&weeks), Counted::Mean { rho: 0.32 }).unwrap();
        assert!((fit.law.phi - phi).abs() < 0.03 && (fit.law.spread_days - days).abs() < 1.0, "{fit:?}");
        assert_eq!(fit.law.rho, 0.32);
    }

    #[test]
    fn few_weeks_say_so() {
        let weeks = [Week { ending: date(2024, 9, 15), days: 3.0 }];
        assert_eq!(
            fit_weeks(&weeks, &weeks_of_year(&weeks), Counted::OneFarm).unwrap_err(),
            FitError::NothingVaries { lags: 0, needed: WEEK_LAGS }
        );
    }
}
