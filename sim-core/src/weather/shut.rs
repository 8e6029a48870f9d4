//! Land that shuts for a part of the year, whatever the days are like: how likely it is to be shut on a day, and from when
//! it is in a season. Why and when land shuts is the matter of [`workability`](crate::weather::Shut).
//!
//! A season draws one uniform for each driver and stretch of days on which land can be shut, and the land is shut on the
//! days whose chance exceeds it: where the chances grow through an autumn it shuts once, and stays so to their end. Keys
//! of one driver share the uniform, so that what shuts the one shuts the other, or the other first. The uniform knows
//! nothing of the days: a year that shuts early is no wetter in September than another.

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::sky::{Sky, WORD_DAYS};
use crate::weather::spec::{DriverSpec, KeySpec};

/// How likely a day is to suit when its land is open, where it suits with chance `p` over all seasons and its land is shut
/// with chance `shut` (both 0 to 1). No land is shut more often than it does not suit.
///
/// ```
/// use sim_core::weather::open_chance;
/// assert!((open_chance(0.3, 0.4) - 0.5).abs() < 1e-12);
/// assert!(open_chance(0.3, 0.9) > 0.999 && open_chance(0.0, 1.0) == 0.0);
/// ```
#[must_use]
pub fn open_chance(p: f64, shut: f64) -> f64 {
    let open = 1.0 - within_unsuitable(p, shut);
    if open > 0.0 { (p / open).min(1.0) } else { 0.0 }
}

fn within_unsuitable(p: f64, shut: f64) -> f64 {
    shut.min(1.0 - p)
}

/// The chance of each day of a key to suit when its land is open.
pub(super) fn open_chances(key: &KeySpec) -> Vec<f64> {
    match &key.shut {
        Some(shut) => key.p.iter().zip(shut).map(|(p, shut)| open_chance(*p, *shut)).collect(),
        None => key.p.clone(),
    }
}

/// The keys whose land can shut.
#[derive(Debug, Clone)]
pub(super) struct ShutLand {
    stretches: Vec<Stretch>,
}

/// Days of a key within one stretch of days on which land of its driver can be shut.
#[derive(Debug, Clone)]
struct Stretch {
    key: usize,
    purpose: u64,
    /// Which of the driver's stretches it is, counted from 0.
    ordinal: u64,
    words: Vec<(usize, [f64; WORD_DAYS])>,
}

impl ShutLand {
    /// That of checked keys; nothing where no land shuts.
    pub(super) fn new(drivers: &[DriverSpec], keys: &[KeySpec], days: usize) -> Option<Self> {
        let mut stretches = Vec::new();
        for (index, driver) in drivers.iter().enumerate() {
            let purpose = name_hash(&driver.name) ^ name_hash("weather land shut");
            let of_driver = || keys.iter().enumerate().filter(|(_, key)| key.driver == index);
            let can_shut = |day: usize| {
                of_driver().any(|(_, key)| key.shut.as_ref().is_some_and(|shut| shut[day] > 0.0))
            };
            let (mut day, mut ordinal) = (0, 0);
            while let Some(from) = (day..days).find(|day| can_shut(*day)) {
                let to = (from..days).find(|day| !can_shut(*day)).unwrap_or(days);
                for (key, of) in of_driver() {
                    let Some(shut) = &of.shut else { continue };
                    let chance = |day: usize| {
                        if (from..to).contains(&day) { within_unsuitable(of.p[day], shut[day]) } else { 0.0 }
                    };
                    let word = |word: usize| (word, std::array::from_fn(|at| chance(word * WORD_DAYS + at)));
                    let words = (from / WORD_DAYS..=(to - 1) / WORD_DAYS).map(word).collect();
                    stretches.push(Stretch { key, purpose, ordinal, words });
                }
                day = to;
                ordinal += 1;
            }
        }
        (!stretches.is_empty()).then_some(Self { stretches })
    }

    /// Shuts the land of season `season` under `seed`.
    pub(super) fn close(&self, seed: u64, season: u64, sky: &mut Sky) {
        for stretch in &self.stretches {
            let drawn = Stream::new(seed, season, stretch.purpose).uniform(stretch.ordinal);
            for (word, chances) in &stretch.words {
                let mut shut = 0;
                for (at, chance) in chances.iter().enumerate() {
                    shut |= u64::from(drawn < *chance) << at;
                }
                let open = sky.word(stretch.key, *word) & !shut;
                sky.set_word(stretch.key, *word, open);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::chain::Chain;
    use crate::weather::spec::WeatherSpec;
    use proptest::prelude::*;

    const DAYS: usize = 200;

    /// Chances to be shut that grow from a first day on to `most` on day 149, and are 0 from day 150 on.
    fn growing(from: usize, most: f64) -> Vec<f64> {
        let share = |day: usize| (day + 1 - from) as f64 / (150 - from) as f64;
        (0..DAYS).map(|day| if (from..150).contains(&day) { most * share(day) } else { 0.0 }).collect()
    }

    fn chain(keys: Vec<KeySpec>) -> Chain {
        let drivers = vec![DriverSpec::alike("soil", 1.0, 0.5, 0.9, DAYS)];
        Chain::new(&WeatherSpec { span_days: DAYS, drivers, keys, recorded: None }).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]

        /// Shutting moves the suitable days, and leaves each day its chance: within 4.5 standard errors of 4 000 seasons.
        #[test]
        fn each_day_keeps_its_chance(p in 0.05..0.6, phi in 0.0..0.5, most in 0.05..1.0, from in 0usize..120) {
            let key = KeySpec { shut: Some(growing(from, most)), ..KeySpec::alike(0, p, phi, DAYS) };
            let chain = chain(vec![key]);
            let (mut sky, mut suited) = (Sky::default(), vec![0u32; DAYS]);
            for season in 0..4_000 {
                chain.draw(1, season, &mut sky);
                suited.iter_mut().enumerate().for_each(|(day, suited)| *suited += u32::from(sky.suitable(0, day)));
            }
            let bound = 4.5 * (p * (1.0 - p) / 4_000.0).sqrt() + 1e-3;
            for (day, suited) in suited.into_iter().enumerate() {
                let share = f64::from(suited) / 4_000.0;
                prop_assert!((share - p).abs() < bound, "day {}: {} of {}", day, share, p);
            }
        }

        /// Land that is shut stays so until the stretch ends; land that can shut earlier has no day more.
        #[test]
        fn land_shuts_once_and_the_likelier_land_first(from in 1usize..100, less in 0.1..0.5, season in 0u64..10_000) {
            let likely = |most: f64| {
                let shut = growing(from, most);
                // As suitable as it can be: every day on which the land is open.
                KeySpec { p: shut.iter().map(|shut| 1.0 - shut).collect(), shut: Some(shut), ..KeySpec::alike(0, 0.0, 0.0, DAYS) }
            };
            let mut sky = Sky::default();
            chain(vec![likely(0.9), likely(less)]).draw(3, season, &mut sky);
            for key in 0..2 {
                let shuts = (0..150).find(|day| !sky.suitable(key, *day)).unwrap_or(150);
                prop_assert!(shuts >= from && (shuts..150).all(|day| !sky.suitable(key, day)));
                prop_assert!((150..DAYS).all(|day| sky.suitable(key, day)));
            }
            prop_assert!((0..DAYS).all(|day| !sky.suitable(0, day) || sky.suitable(1, day)));
        }
    }

    #[test]
    fn two_winters_are_drawn_apart() {
        let mut shut = vec![0.5; 60];
        shut.extend([0.0; 60]);
        shut.extend([0.5; 80]);
        let p = shut.iter().map(|shut| 1.0 - shut).collect();
        let chain = chain(vec![KeySpec { p, shut: Some(shut), ..KeySpec::alike(0, 0.0, 0.0, DAYS) }]);
        let (mut sky, mut both) = (Sky::default(), [[0; 2]; 2]);
        for season in 0..4_000 {
            chain.draw(1, season, &mut sky);
            both[usize::from(sky.suitable(0, 10))][usize::from(sky.suitable(0, 150))] += 1;
        }
        // A quarter of 4 000 each, within 4 standard deviations.
        assert!(both.as_flattened().iter().all(|count| (890..1110).contains(count)), "{both:?}");
    }

    #[test]
    fn a_chance_out_of_range_is_named() {
        let key = KeySpec { shut: Some(vec![1.5; DAYS]), ..KeySpec::alike(0, 0.5, 0.0, DAYS) };
        let drivers = vec![DriverSpec::alike("soil", 1.0, 0.5, 0.9, DAYS)];
        let spec = WeatherSpec { span_days: DAYS, drivers, keys: vec![key], recorded: None };
        assert_eq!(
            Chain::new(&spec).unwrap_err().to_string(),
            "key 0: shut on day 0 is 1.5: permitted is 0 to 1"
        );
    }
}
