//! A season's sky drawn from a table of suitable-day probabilities, with persistence and spread.
//!
//! # The chain
//!
//! Each driver (what makes days suitable: soil, air, wind) has two hidden series of uniforms, the day `w(d)` and
//! the spell `q(d)`. On the first day both are fresh. After it, `w` is kept from yesterday with probability
//! `rho(d)` and `q` with probability `kappa(d)`, else each is fresh. A key of the driver is suitable on day d when
//! `w(d) < P(d)`, where `P(d)` is the quantile at `q(d)` of the Beta distribution with the key's mean `p(d)` and
//! variance `phi(d) p(d) (1 - p(d))`; without spread (`phi` 0) `P(d) = p(d)`. So the chance of a suitable day is
//! `p(d)` exactly, whatever rho, phi and kappa are. The driver's keys have `w` and `q` in common: a good spell is one
//! for all of them, and how much better than usual it is for each is the key's own phi.
//!
//! # Nesting
//!
//! On a day on which two keys of one driver have the same phi, or the harder one's p is 0 or the easier one's 1, they
//! are nested: when it suits the harder key (the one of lower p) it suits the easier. Where their phi differ one is
//! ahead in good spells and the other in bad ones, so the harder can be suitable and the easier not, with the chance
//! `E max(P_harder - P_easier, 0)` over q. For four kinds of soil work in spring, p and phi (0.10 to 0.80) as fitted to
//! the Dublin Airport record 1980-2024, that is 0.003 on average over pairs and half-months from February to mid May and
//! 0.025 at most (p 0.39, phi 0.80 against p 0.60, phi 0.30). It is not forbidden: a harder key held at or below the
//! easier would lose just this chance from its mean, and would change when an easier key is added.
//!
//! # Agreement
//!
//! All draws are addressed by (seed, season, purpose, day). There is one shared pair of day draws, for w and for
//! q, and one pair of each driver's own; a draw's 64 bits give both the uniform that decides whether to keep (24
//! bits) and the fresh value (40 bits), so a chance is met to 1e-12 and a rho to 6e-8 (an agreement, of 16 bits,
//! to 1e-5). Every day a coin of the driver's own says, with probability
//! `agreement`, that it takes the shared pair this day, else its own. Agreement 1 is the shared sky: two drivers of
//! agreement 1 and equal rho and kappa have the same `w` and `q`. Agreement 0 is a sky apart. Since the coin
//! knows nothing of the draws that it chooses between, every driver taken alone has exactly the law of its own
//! chain at any agreement.

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::error::{WeatherError, within};
use crate::weather::part_days::PartDays;
use crate::weather::shut::{ShutLand, open_chances};
use crate::weather::sky::{Sky, WORD_DAYS};
use crate::weather::spec::{DriverSpec, KeySpec, WeatherSpec, check_series};
use crate::weather::spread::{BINS, Columns, NEVER, Place};
use std::sync::Arc;

/// Days drawn from a table: makes a [`Sky`] for any season.
///
/// ```
/// use sim_core::weather::{Chain, DriverSpec, KeySpec, Sky, WeatherSpec, kappa};
/// let days = 365;
/// let chain = Chain::new(&WeatherSpec {
///     span_days: days,
///     drivers: vec![DriverSpec::alike("soil", 1.0, 0.5, kappa(20.0).unwrap(), days)],
///     keys: vec![KeySpec::alike(0, 0.6, 0.1, days), KeySpec::alike(0, 0.3, 0.1, days)],
///     recorded: None,
/// })
/// .unwrap();
/// let mut sky = Sky::default();
/// chain.draw(42, 0, &mut sky);
/// // Nested, as their spread is the same: a day for the harder key is one for the easier.
/// assert!((0..days).all(|day| !sky.suitable(1, day) || sky.suitable(0, day)));
/// ```
#[derive(Debug, Clone)]
pub struct Chain {
    days: usize,
    keys: usize,
    drivers: Vec<Driver>,
    /// The columns of quantiles that the keys' places refer to.
    table: Arc<[f64]>,
    /// Land that shuts.
    shut: Option<ShutLand>,
    /// Hours of the keys that have part-suitable days.
    hours: Option<PartDays>,
}

/// Columns of quantiles on a grid of spreads, made once for many weathers that differ a little.
///
/// ```
/// use sim_core::weather::{Chain, DriverSpec, KeySpec, Sky, SpreadGrid, WeatherSpec};
/// let grid = SpreadGrid::new();
/// for phi in [0.1, 0.2] {
///     let drivers = vec![DriverSpec::alike("soil", 1.0, 0.5, 0.9, 365)];
///     let keys = vec![KeySpec::alike(0, 0.6, phi, 365)];
///     let spec = WeatherSpec { span_days: 365, drivers, keys, recorded: None };
///     let (mut exact, mut rounded) = (Sky::default(), Sky::default());
///     Chain::new(&spec).unwrap().draw(1, 0, &mut exact);
///     Chain::on_grid(&spec, &grid).unwrap().draw(1, 0, &mut rounded);
///     assert_eq!(exact, rounded);
/// }
/// ```
#[derive(Debug, Clone)]
pub struct SpreadGrid {
    columns: Columns,
    table: Arc<[f64]>,
}

impl SpreadGrid {
    /// Spreads of the grid are multiples of one over this.
    const PARTS: f64 = 50.0;

    /// Makes the columns of all levels of p with every second hundredth of spread: 12 MB and a fifth of a second.
    #[must_use]
    pub fn new() -> Self {
        let mut columns = Columns::new();
        for part in 0..Self::PARTS as u32 {
            columns.ask_all(f64::from(part) / Self::PARTS);
        }
        let table = columns.make().into();
        Self { columns, table }
    }

    /// The grid's spread that is nearest to `phi`.
    fn round(phi: f64) -> f64 {
        (phi * Self::PARTS).round().min(Self::PARTS - 1.0) / Self::PARTS
    }
}

impl Default for SpreadGrid {
    fn default() -> Self {
        Self::new()
    }
}

#[derive(Debug, Clone)]
struct Driver {
    agreement: f64,
    coin: u64,
    own: Purposes,
    days: Vec<DayLaw>,
    /// Whether one of its keys has spread.
    spreads: bool,
    keys: Vec<Key>,
}

/// The chain on one day.
#[derive(Debug, Clone, Copy)]
struct DayLaw {
    /// Chances to keep w and q, in units of the keeping bits.
    keep_w: u32,
    keep_q: u32,
}

#[derive(Debug, Clone)]
struct Key {
    index: usize,
    chances: Chances,
}

/// A key's chances by day: themselves where it has no spread on any day, else their places in the table. Both are
/// filled up to whole words of days with days that are never suitable.
#[derive(Debug, Clone)]
enum Chances {
    Plain(Vec<[f64; WORD_DAYS]>),
    Spread(Vec<Places>),
}

/// The [`Place`] of each day of a word.
#[derive(Debug, Clone)]
struct Places {
    at: [u32; WORD_DAYS],
    share: [f64; WORD_DAYS],
}

/// The purposes of a pair of day draws.
#[derive(Debug, Clone, Copy)]
struct Purposes {
    w: u64,
    q: u64,
}

/// The draws that drivers share.
const SHARED: Purposes = Purposes { w: name_hash("weather shared w"), q: name_hash("weather shared q") };

/// Bits of a draw that decide whether to keep; the rest are the fresh value.
const KEEP_BITS: u32 = 24;
const FRESH_BITS: u32 = 64 - KEEP_BITS;

/// Bits of a coin, and coins in a draw.
const COIN_BITS: u32 = 16;
const COINS: usize = 64 / COIN_BITS as usize;

/// One word of days of one driver: `w`, and the bin of `q`.
struct Hidden {
    w: [f64; WORD_DAYS],
    bin: [u32; WORD_DAYS],
}

impl Chain {
    /// Checks the numbers and makes the columns of quantiles: a tenth of a millisecond for each level of p that is
    /// needed, of 115, with each distinct phi.
    ///
    /// # Errors
    /// When a value is outside its range, a series has not one value a day, a key names no driver or two
    /// drivers have one name.
    pub fn new(spec: &WeatherSpec) -> Result<Self, WeatherError> {
        let drivers = checked(spec)?;
        let mut columns = Columns::new();
        for key in spec.keys.iter().filter(|key| spreads(&key.phi)) {
            open_chances(key).iter().zip(&key.phi).for_each(|(p, phi)| columns.ask(*p, *phi));
        }
        let table = columns.make().into();
        Self::assemble(spec, drivers, &columns, table, |phi| phi)
    }

    /// As [`new`](Self::new), with every spread rounded to the grid's: nothing has to be integrated.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn on_grid(spec: &WeatherSpec, grid: &SpreadGrid) -> Result<Self, WeatherError> {
        let drivers = checked(spec)?;
        Self::assemble(spec, drivers, &grid.columns, Arc::clone(&grid.table), SpreadGrid::round)
    }

    fn assemble(
        spec: &WeatherSpec,
        mut drivers: Vec<Driver>,
        columns: &Columns,
        table: Arc<[f64]>,
        round: impl Fn(f64) -> f64,
    ) -> Result<Self, WeatherError> {
        for (index, key) in spec.keys.iter().enumerate() {
            let driver = &mut drivers[key.driver];
            let phi: Vec<f64> = key.phi.iter().map(|phi| round(*phi)).collect();
            driver.spreads |= spreads(&phi);
            driver.keys.push(Key { index, chances: Chances::of(&open_chances(key), &phi, columns) });
        }
        let shut = ShutLand::new(&spec.drivers, &spec.keys, spec.span_days);
        let hours = PartDays::new(&spec.drivers, &spec.keys, spec.span_days, |_| true)?;
        Ok(Self { days: spec.span_days, keys: spec.keys.len(), drivers, table, shut, hours })
    }

    /// Number of days of a season.
    #[must_use]
    pub fn days(&self) -> usize {
        self.days
    }

    /// Number of keys.
    #[must_use]
    pub fn keys(&self) -> usize {
        self.keys
    }

    /// Draws season `season` under `seed` into `sky`, which takes this weather's keys and days. The sky
    /// depends on this weather, seed and season alone. Nothing is allocated when `sky` has held one like it.
    pub fn draw(&self, seed: u64, season: u64, sky: &mut Sky) {
        sky.reset(self.keys, self.days);
        let mut hidden = Hidden { w: [0.0; WORD_DAYS], bin: [0; WORD_DAYS] };
        for driver in &self.drivers {
            let mut walk = Walk::start(driver, seed, season);
            for (word, laws) in driver.days.chunks(WORD_DAYS).enumerate() {
                walk.fill(word * WORD_DAYS, laws, &mut hidden);
                for key in &driver.keys {
                    let bits = match &key.chances {
                        Chances::Plain(p) => plain_bits(&hidden.w, &p[word]),
                        Chances::Spread(places) => spread_bits(&self.table, &hidden, &places[word]),
                    };
                    sky.set_word(key.index, word, bits);
                }
            }
        }
        if let Some(shut) = &self.shut {
            shut.close(seed, season, sky);
        }
        if let Some(hours) = &self.hours {
            hours.draw(seed, season, sky);
        }
    }
}

/// A driver's hidden series as they run through a season.
struct Walk<'a> {
    driver: &'a Driver,
    coin: Stream,
    /// The day draws for w and for q: own, shared.
    draws_w: [Stream; 2],
    draws_q: [Stream; 2],
    w: f64,
    bin: u32,
}

impl<'a> Walk<'a> {
    fn start(driver: &'a Driver, seed: u64, season: u64) -> Self {
        let stream = |purpose| Stream::new(seed, season, purpose);
        Self {
            driver,
            coin: stream(driver.coin),
            draws_w: [stream(driver.own.w), stream(SHARED.w)],
            draws_q: [stream(driver.own.q), stream(SHARED.q)],
            w: 0.0,
            bin: 0,
        }
    }

    /// Runs through the days from `first` whose laws are `laws`, at most a word of them. Written without
    /// branches on the draws, which no processor could foresee.
    fn fill(&mut self, first: usize, laws: &[DayLaw], hidden: &mut Hidden) {
        const FRESH_MASK: u64 = (1 << FRESH_BITS) - 1;
        const FRESH_UNIT: f64 = 1.0 / (1u64 << FRESH_BITS) as f64;
        const BIN_SHIFT: u32 = FRESH_BITS - BINS.trailing_zeros();
        let mut whose = [0; WORD_DAYS];
        self.choose(first, &mut whose[..laws.len()]);
        for (offset, (law, whose)) in laws.iter().zip(&whose).enumerate() {
            let bits = self.draws_w[*whose].bits((first + offset) as u64);
            let fresh = (bits & FRESH_MASK) as f64 * FRESH_UNIT;
            self.w = if ((bits >> FRESH_BITS) as u32) < law.keep_w { self.w } else { fresh };
            hidden.w[offset] = self.w;
        }
        if !self.driver.spreads {
            return;
        }
        for (offset, (law, whose)) in laws.iter().zip(&whose).enumerate() {
            let bits = self.draws_q[*whose].bits((first + offset) as u64);
            let fresh = ((bits & FRESH_MASK) >> BIN_SHIFT) as u32;
            self.bin = if ((bits >> FRESH_BITS) as u32) < law.keep_q { self.bin } else { fresh };
            hidden.bin[offset] = self.bin;
        }
    }

    /// For each day from `first` whose draws it takes: 1 the shared, 0 the driver's own.
    fn choose(&self, first: usize, whose: &mut [usize]) {
        let agreement = self.driver.agreement;
        if agreement <= 0.0 || agreement >= 1.0 {
            whose.fill(usize::from(agreement >= 1.0));
            return;
        }
        // One draw has the coins of four days; a word's first day is a fourth one.
        let heads = (agreement * f64::from(1u32 << COIN_BITS)).round() as u64;
        for (four, whose) in whose.chunks_mut(COINS).enumerate() {
            let mut coins = self.coin.bits((first / COINS + four) as u64);
            for whose in whose {
                *whose = usize::from((coins & ((1 << COIN_BITS) - 1)) < heads);
                coins >>= COIN_BITS;
            }
        }
    }
}

/// One bit a day: `w < p`.
#[inline]
fn plain_bits(w: &[f64; WORD_DAYS], p: &[f64; WORD_DAYS]) -> u64 {
    let mut suits = [0; WORD_DAYS];
    for (suits, (w, p)) in suits.iter_mut().zip(w.iter().zip(p)) {
        *suits = u8::from(w < p);
    }
    pack(&suits)
}

/// One bit a day: `w < P`, with P from the day's place in the table.
#[inline]
fn spread_bits(table: &[f64], hidden: &Hidden, places: &Places) -> u64 {
    let mut suits = [0; WORD_DAYS];
    for (day, suits) in suits.iter_mut().enumerate() {
        let at = (places.at[day] + hidden.bin[day]) as usize;
        let (here, next) = (table[at], table[at + BINS]);
        *suits = u8::from(hidden.w[day] < here + places.share[day] * (next - here));
    }
    pack(&suits)
}

/// The 64 flags, each 0 or 1, as bits; the first is the lowest.
#[inline]
fn pack(flags: &[u8; WORD_DAYS]) -> u64 {
    let mut bits = 0;
    let (eights, _) = flags.as_chunks::<8>();
    for (at, eight) in eights.iter().enumerate() {
        // The product brings flag i to bit 56 + i; no two partial products meet.
        let byte = u64::from_le_bytes(*eight).wrapping_mul(0x0102_0408_1020_4080) >> 56;
        bits |= byte << (8 * at);
    }
    bits
}

/// Whether a key of these spreads by day has spread on any.
fn spreads(phi: &[f64]) -> bool {
    phi.iter().any(|phi| *phi > 0.0)
}

/// The drivers, still without keys, of a weather whose numbers are all in their ranges.
fn checked(spec: &WeatherSpec) -> Result<Vec<Driver>, WeatherError> {
    within(|| "span_days".into(), spec.span_days as f64, 1.0..=1e5, "1 to 100000")?;
    let mut drivers = Vec::with_capacity(spec.drivers.len());
    for (index, driver) in spec.drivers.iter().enumerate() {
        if spec.drivers[..index].iter().any(|other| other.name == driver.name) {
            return Err(WeatherError::DriverTwice { name: driver.name.clone() });
        }
        drivers.push(Driver::new(driver, spec.span_days)?);
    }
    for (index, key) in spec.keys.iter().enumerate() {
        let KeySpec { driver, p, phi, shut, .. } = key;
        if *driver >= drivers.len() {
            return Err(WeatherError::Driver { key: index, driver: *driver, drivers: drivers.len() });
        }
        check_series(|| format!("key {index}: p"), p, spec.span_days, 0.0..=1.0, "0 to 1")?;
        check_series(|| format!("key {index}: phi"), phi, spec.span_days, 0.0..=0.99, "0 to 0.99")?;
        if let Some(shut) = shut {
            check_series(|| format!("key {index}: shut"), shut, spec.span_days, 0.0..=1.0, "0 to 1")?;
        }
    }
    Ok(drivers)
}

impl Chances {
    fn of(p: &[f64], phi: &[f64], columns: &Columns) -> Self {
        if !spreads(phi) {
            let word = |days: &[f64]| {
                let mut word = [0.0; WORD_DAYS];
                word[..days.len()].copy_from_slice(days);
                word
            };
            return Self::Plain(p.chunks(WORD_DAYS).map(word).collect());
        }
        let word = |(p, phi): (&[f64], &[f64])| {
            let mut places = Places { at: [NEVER.at; WORD_DAYS], share: [NEVER.share; WORD_DAYS] };
            for (day, (p, phi)) in p.iter().zip(phi).enumerate() {
                Place { at: places.at[day], share: places.share[day] } = columns.place(*p, *phi);
            }
            places
        };
        Self::Spread(p.chunks(WORD_DAYS).zip(phi.chunks(WORD_DAYS)).map(word).collect())
    }
}

impl Driver {
    fn new(spec: &DriverSpec, days: usize) -> Result<Self, WeatherError> {
        let field = |what: &str| format!("driver `{}`: {what}", spec.name);
        within(|| field("agreement"), spec.agreement, 0.0..=1.0, "0 to 1")?;
        check_series(|| field("rho"), &spec.rho, days, 0.0..=1.0, "0 to 1")?;
        check_series(|| field("kappa"), &spec.kappa, days, 0.0..=1.0, "0 to 1")?;
        // Both are fresh on the first day. A chance of 1 is more than any keeping bits.
        let keep = |day: usize, chance: f64| {
            if day == 0 { 0 } else { (chance * f64::from(1u32 << KEEP_BITS)).round() as u32 }
        };
        let law =
            |day: usize| DayLaw { keep_w: keep(day, spec.rho[day]), keep_q: keep(day, spec.kappa[day]) };
        let purpose = |draw: &str| name_hash(&format!("weather driver {}: {draw}", spec.name));
        Ok(Self {
            agreement: spec.agreement,
            coin: purpose("coin"),
            own: Purposes { w: purpose("w"), q: purpose("q") },
            days: (0..days).map(law).collect(),
            spreads: false,
            keys: Vec::new(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const DAYS: usize = 150;

    fn one(agreement: f64, rho: f64, phi: f64, kappa: f64, p: &[f64]) -> WeatherSpec {
        WeatherSpec {
            span_days: DAYS,
            drivers: vec![DriverSpec::alike("soil", agreement, rho, kappa, DAYS)],
            keys: p.iter().map(|p| KeySpec::alike(0, *p, phi, DAYS)).collect(),
            recorded: None,
        }
    }

    fn drawn(spec: &WeatherSpec, seed: u64, season: u64) -> Sky {
        let mut sky = Sky::default();
        Chain::new(spec).unwrap().draw(seed, season, &mut sky);
        sky
    }

    #[test]
    fn weather_and_sky_cross_threads() {
        fn crosses<T: Send + Sync>() {}
        crosses::<Chain>();
        crosses::<Sky>();
    }

    proptest! {
        // Each case makes its own tables, which takes some milliseconds.
        #![proptest_config(ProptestConfig::with_cases(48))]

        /// On every day on which they have one spread, keys of one driver are suitable in the order of their chances,
        /// however chances and spreads vary by day; 0 is never and 1 is always, whatever the spread.
        #[test]
        fn keys_of_one_driver_and_one_spread_are_nested(
            easy in prop::collection::vec(prop_oneof![Just(0.0), Just(1.0), 0.0f64..=1.0], DAYS),
            share in prop::collection::vec(0.0f64..=1.0, DAYS),
            rho in 0.0f64..=1.0,
            phis in prop::collection::vec(prop_oneof![Just(0.0), 0.0f64..=0.99], 3),
            kappa in prop_oneof![Just(1.0), 0.0f64..=1.0],
            season in any::<u64>(),
        ) {
            let mut spec = one(1.0, rho, phis[0], kappa, &[0.0, 1.0]);
            let hard: Vec<f64> = easy.iter().zip(&share).map(|(p, share)| p * share).collect();
            // The harder key's own spread is the easier one's on the first half of the days.
            let own = |day: usize| if day < DAYS / 2 { phis[1] } else { phis[2] };
            spec.keys.push(KeySpec { driver: 0, p: easy, phi: vec![phis[1]; DAYS], shut: None, hours: None });
            spec.keys.push(KeySpec { driver: 0, p: hard, phi: (0..DAYS).map(own).collect(), shut: None, hours: None });
            let sky = drawn(&spec, 1, season);
            prop_assert_eq!((sky.count(0, 0, DAYS), sky.count(1, 0, DAYS)), (0, DAYS as u32));
            for day in 0..DAYS {
                let (p_easy, p_hard) = (spec.keys[2].p[day], spec.keys[3].p[day]);
                if own(day) == phis[1] || p_hard == 0.0 || p_easy == 1.0 {
                    prop_assert!(!sky.suitable(3, day) || sky.suitable(2, day), "day {day}");
                }
                prop_assert!(p_easy > 0.0 || !sky.suitable(2, day));
                prop_assert!(p_easy < 1.0 || sky.suitable(2, day));
            }
        }

        /// A key's own spread leaves the sky of the others as it is.
        #[test]
        fn one_keys_spread_is_its_own_business(
            phi in prop_oneof![Just(0.0), 0.0f64..=0.99], season in any::<u64>(),
        ) {
            let spec = one(1.0, 0.5, 0.2, 0.9, &[0.4, 0.6]);
            let mut other = spec.clone();
            other.keys[1].phi = vec![phi; DAYS];
            let (before, after) = (drawn(&spec, 1, season), drawn(&other, 1, season));
            prop_assert!((0..DAYS).all(|day| before.suitable(0, day) == after.suitable(0, day)));
        }

        /// Two drivers of agreement 1 and one law have one sky.
        #[test]
        fn full_agreement_is_one_sky(
            rho in 0.0f64..=1.0, phi in 0.0f64..=0.99, kappa in 0.0f64..=1.0, season in any::<u64>(),
        ) {
            let mut spec = one(1.0, rho, phi, kappa, &[0.4]);
            spec.drivers.push(DriverSpec { name: "wind".into(), ..spec.drivers[0].clone() });
            spec.keys.push(KeySpec::alike(1, 0.4, phi, DAYS));
            let sky = drawn(&spec, 1, season);
            prop_assert!((0..DAYS).all(|day| sky.suitable(0, day) == sky.suitable(1, day)));
        }

        /// A season is the same whatever the sky held before, and whatever other keys and drivers there are.
        #[test]
        fn other_keys_and_drivers_change_nothing(
            agreement in 0.0f64..=1.0, phi in 0.0f64..=0.9, p in 0.0f64..=1.0, season in any::<u64>(),
        ) {
            let alone = one(agreement, 0.5, phi, 0.9, &[p]);
            let mut more = alone.clone();
            more.drivers.insert(0, DriverSpec::alike("wind", 0.3, 0.2, 1.0, DAYS));
            more.keys = vec![
                KeySpec::alike(0, 0.7, 0.1, DAYS),
                KeySpec::alike(1, p, phi, DAYS),
                KeySpec::alike(1, 0.123, 0.6, DAYS),
            ];
            let (few, many) = (drawn(&alone, 5, season), drawn(&more, 5, season));
            prop_assert!((0..DAYS).all(|day| few.suitable(0, day) == many.suitable(1, day)));
            let mut used = many;
            Chain::new(&alone).unwrap().draw(5, season, &mut used);
            prop_assert_eq!(used, few);
        }
    }

    #[test]
    fn flags_pack_in_order() {
        let mut flags = [0; WORD_DAYS];
        for day in [0, 1, 7, 8, 20, 62, 63] {
            flags[day] = 1;
        }
        assert_eq!(pack(&flags), (1 << 63) | (1 << 62) | (1 << 20) | (1 << 8) | (1 << 7) | 0b11);
        assert_eq!(pack(&[1; WORD_DAYS]), u64::MAX);
    }

    #[test]
    fn persistence_of_one_keeps_the_first_day_and_kappa_of_one_the_first_spell() {
        for season in 0..50 {
            let sky = drawn(&one(1.0, 1.0, 0.3, 1.0, &[0.5]), 9, season);
            assert!([0, DAYS as u32].contains(&sky.count(0, 0, DAYS)));
        }
    }

    #[test]
    fn mistakes_name_field_value_and_range() {
        let good = one(1.0, 0.5, 0.1, 1.0, &[0.5]);
        let text = |change: &dyn Fn(&mut WeatherSpec)| {
            let mut spec = good.clone();
            change(&mut spec);
            Chain::new(&spec).unwrap_err().to_string()
        };
        assert_eq!(
            text(&|spec| spec.drivers[0].rho[3] = 1.2),
            "driver `soil`: rho on day 3 is 1.2: permitted is 0 to 1"
        );
        assert_eq!(
            text(&|spec| spec.keys[0].phi[0] = 1.0),
            "key 0: phi on day 0 is 1: permitted is 0 to 0.99"
        );
        assert_eq!(
            text(&|spec| spec.drivers[0].agreement = -0.1),
            "driver `soil`: agreement is -0.1: permitted is 0 to 1"
        );
        assert_eq!(
            text(&|spec| spec.keys[0].p[7] = f64::NAN),
            "key 0: p on day 7 is NaN: permitted is 0 to 1"
        );
        assert_eq!(
            text(&|spec| spec.keys[0].p.truncate(149)),
            "key 0: p has 149 values: permitted is one for each of the season's 150 days"
        );
        assert_eq!(text(&|spec| spec.keys[0].driver = 1), "key 0 names driver 1: permitted are 0 to 0");
        assert_eq!(
            text(&|spec| spec.drivers.push(spec.drivers[0].clone())),
            "driver `soil` is given twice: each driver has its own name"
        );
    }
}
