//! A season's sky drawn from a table of suitable-day probabilities, with persistence and spread.
//!
//! # The chain
//!
//! Each driver (what makes days suitable: soil, air, wind) has two hidden series of uniforms, the day `w(d)` and
//! the spell `q(d)`. On the first day both are fresh. After it, `w` is kept from yesterday with probability
//! `rho(d)` and `q` with probability `kappa(d)`, else each is fresh. A key of the driver is suitable on day d when
//! `w(d) < P(d)`, where `P(d)` is the quantile at `q(d)` of the Beta distribution with mean `p(d)` and variance
//! `phi(d) p(d) (1 - p(d))`; without spread (`phi` 0) `P(d) = p(d)`. So the chance of a suitable day is `p(d)`
//! exactly, whatever rho, phi and kappa are, and the keys of one driver are nested: on a day that suits the
//! harder key every easier key is suitable too.
//!
//! # Agreement
//!
//! All draws are addressed by (seed, season, purpose, day). There is one shared set of day draws (keep w, fresh w,
//! keep q, fresh q) and one of each driver's own. Every day a coin of the driver's own says, with probability
//! `agreement`, that it takes the shared set this day, else its own. Agreement 1 is the shared sky: two drivers of
//! agreement 1 and equal rho and kappa have the same `w` and `q`. Agreement 0 is a sky apart. Since the coin
//! knows nothing of the draws that it chooses between, every driver taken alone has exactly the law of its own
//! chain at any agreement.

use crate::kernel::draw::{Stream, name_hash};
use crate::weather::error::{WeatherError, within};
use crate::weather::sky::{Sky, WORD_DAYS};
use crate::weather::spread::{self, BINS, Place};

/// What makes days suitable for some work classes: its persistence and spread, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverSpec {
    /// Its name; its own draws are addressed by it.
    pub name: String,
    /// Chance that a day takes the shared draws, 0 (a sky apart) to 1 (the shared sky).
    pub agreement: f64,
    /// For each day the chance that it keeps yesterday's `w`, 0 to 1 (the first day's is not used).
    pub rho: Vec<f64>,
    /// For each day the spread: variance of the day's chance over `p (1 - p)`, 0 to 0.99.
    pub phi: Vec<f64>,
    /// For each day the chance that it keeps yesterday's `q`, 0 to 1; see [`kappa`]. 1: one `q` a season.
    pub kappa: Vec<f64>,
}

impl DriverSpec {
    /// A driver whose `days` days are all alike.
    #[must_use]
    pub fn alike(name: &str, agreement: f64, rho: f64, phi: f64, kappa: f64, days: usize) -> Self {
        let each = |value| vec![value; days];
        Self { name: name.to_owned(), agreement, rho: each(rho), phi: each(phi), kappa: each(kappa) }
    }
}

/// A key: a work class on a soil, whose name is the caller's business.
#[derive(Debug, Clone, PartialEq)]
pub struct KeySpec {
    /// Index of its driver.
    pub driver: usize,
    /// For each day the chance that it is suitable, 0 to 1; see [`daily_means`](crate::weather::daily_means).
    pub p: Vec<f64>,
}

/// The weather of a season as numbers by day.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherSpec {
    /// Number of days, at least 1.
    pub span_days: usize,
    /// The drivers.
    pub drivers: Vec<DriverSpec>,
    /// The keys.
    pub keys: Vec<KeySpec>,
}

/// The chance that a day keeps yesterday's spell when spells last `spread_days` days on average (at least 1):
/// `1 - 1 / spread_days`. Infinity is one spell a season.
///
/// # Errors
/// When `spread_days` is below 1.
pub fn kappa(spread_days: f64) -> Result<f64, WeatherError> {
    within(|| "spread_days".into(), spread_days, 1.0..=f64::INFINITY, "1 or more")?;
    Ok(1.0 - 1.0 / spread_days)
}

/// Weather drawn from a table: makes a [`Sky`] for any season.
///
/// ```
/// use sim_core::weather::{DriverSpec, KeySpec, Sky, Weather, WeatherSpec, kappa};
/// let days = 365;
/// let weather = Weather::new(&WeatherSpec {
///     span_days: days,
///     drivers: vec![DriverSpec::alike("soil", 1.0, 0.5, 0.1, kappa(20.0).unwrap(), days)],
///     keys: vec![KeySpec { driver: 0, p: vec![0.6; days] }, KeySpec { driver: 0, p: vec![0.3; days] }],
/// })
/// .unwrap();
/// let mut sky = Sky::default();
/// weather.draw(42, 0, &mut sky);
/// // Nested: a day for the harder key is one for the easier.
/// assert!((0..days).all(|day| !sky.suitable(1, day) || sky.suitable(0, day)));
/// ```
#[derive(Debug, Clone)]
pub struct Weather {
    days: usize,
    keys: usize,
    drivers: Vec<Driver>,
    /// The tables of [`spread`], one after the other.
    tables: Vec<f64>,
}

#[derive(Debug, Clone)]
struct Driver {
    agreement: f64,
    coin: u64,
    own: Purposes,
    days: Vec<DayLaw>,
    spreads: bool,
    keys: Vec<Key>,
}

/// The chain on one day.
#[derive(Debug, Clone, Copy)]
struct DayLaw {
    rho: f64,
    kappa: f64,
    /// Where the day's table starts, and how far its bins are apart.
    table: u32,
    row: u32,
}

#[derive(Debug, Clone)]
struct Key {
    index: usize,
    chances: Chances,
}

/// A key's chances by day: themselves where the driver has no spread, else their places in its tables.
#[derive(Debug, Clone)]
enum Chances {
    Plain(Vec<f64>),
    Spread { level: Vec<u32>, share: Vec<f64> },
}

/// The purposes of one set of day draws.
#[derive(Debug, Clone, Copy)]
struct Purposes {
    keep_w: u64,
    fresh_w: u64,
    keep_q: u64,
    fresh_q: u64,
}

impl Purposes {
    fn of(whose: &str) -> Self {
        let purpose = |draw: &str| name_hash(&format!("weather/{whose}/{draw}"));
        Self {
            keep_w: purpose("keep w"),
            fresh_w: purpose("fresh w"),
            keep_q: purpose("keep q"),
            fresh_q: purpose("fresh q"),
        }
    }

    fn streams(self, seed: u64, season: u64) -> Streams {
        let stream = |purpose| Stream::new(seed, season, purpose);
        Streams {
            keep_w: stream(self.keep_w),
            fresh_w: stream(self.fresh_w),
            keep_q: stream(self.keep_q),
            fresh_q: stream(self.fresh_q),
        }
    }
}

#[derive(Clone, Copy)]
struct Streams {
    keep_w: Stream,
    fresh_w: Stream,
    keep_q: Stream,
    fresh_q: Stream,
}

/// One word of days of one driver: `w`, and where the day's row starts in the tables.
struct Hidden {
    w: [f64; WORD_DAYS],
    row: [u32; WORD_DAYS],
}

impl Weather {
    /// Checks the numbers and makes the tables of quantiles, some milliseconds for each distinct phi.
    ///
    /// # Errors
    /// When a value is outside its range, a series has not one value a day, a key names no driver or two
    /// drivers have one name.
    pub fn new(spec: &WeatherSpec) -> Result<Self, WeatherError> {
        within(|| "span_days".into(), spec.span_days as f64, 1.0..=1e5, "1 to 100000")?;
        let levels = spread::levels();
        let mut tables = Tables { levels: &levels, values: Vec::new(), made: Vec::new() };
        let mut drivers = Vec::with_capacity(spec.drivers.len());
        for (index, driver) in spec.drivers.iter().enumerate() {
            if spec.drivers[..index].iter().any(|other| other.name == driver.name) {
                return Err(WeatherError::DriverTwice { name: driver.name.clone() });
            }
            drivers.push(Driver::new(driver, spec.span_days, &mut tables)?);
        }
        for (index, key) in spec.keys.iter().enumerate() {
            let count = drivers.len();
            let Some(driver) = drivers.get_mut(key.driver) else {
                return Err(WeatherError::Driver { key: index, driver: key.driver, drivers: count });
            };
            check_series(|| format!("key {index}: p"), &key.p, spec.span_days, 0.0..=1.0, "0 to 1")?;
            let chances = if driver.spreads {
                let places = || key.p.iter().map(|p| Place::of(*p, &levels));
                Chances::Spread {
                    level: places().map(|place| place.level).collect(),
                    share: places().map(|place| place.share).collect(),
                }
            } else {
                Chances::Plain(key.p.clone())
            };
            driver.keys.push(Key { index, chances });
        }
        Ok(Self { days: spec.span_days, keys: spec.keys.len(), drivers, tables: tables.values })
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
        let shared = Purposes::of_shared().streams(seed, season);
        let mut hidden = Hidden { w: [0.0; WORD_DAYS], row: [0; WORD_DAYS] };
        for driver in &self.drivers {
            let mut walk = Walk {
                driver,
                coin: Stream::new(seed, season, driver.coin),
                shared,
                own: driver.own.streams(seed, season),
                w: 0.0,
                bin: 0,
            };
            for (word, laws) in driver.days.chunks(WORD_DAYS).enumerate() {
                let first = word * WORD_DAYS;
                walk.fill(first, laws, &mut hidden);
                let days = first..first + laws.len();
                for key in &driver.keys {
                    let bits = match &key.chances {
                        Chances::Plain(p) => plain_bits(&hidden.w, &p[days.clone()]),
                        Chances::Spread { level, share } => {
                            spread_bits(&self.tables, &hidden, &level[days.clone()], &share[days.clone()])
                        }
                    };
                    sky.set_word(key.index, word, bits);
                }
            }
        }
    }
}

impl Purposes {
    /// The draws that drivers share.
    const fn of_shared() -> Self {
        Self {
            keep_w: name_hash("weather shared keep w"),
            fresh_w: name_hash("weather shared fresh w"),
            keep_q: name_hash("weather shared keep q"),
            fresh_q: name_hash("weather shared fresh q"),
        }
    }
}

/// A driver's hidden series as they run through a season.
struct Walk<'a> {
    driver: &'a Driver,
    coin: Stream,
    shared: Streams,
    own: Streams,
    w: f64,
    bin: u32,
}

impl Walk<'_> {
    /// Runs through the days from `first` whose laws are `laws`, at most a word of them.
    fn fill(&mut self, first: usize, laws: &[DayLaw], hidden: &mut Hidden) {
        let agreement = self.driver.agreement;
        for (offset, law) in laws.iter().enumerate() {
            let day = (first + offset) as u64;
            // A uniform is always below 1 and never below 0: the sure cases need no draw.
            let share = agreement >= 1.0 || (agreement > 0.0 && self.coin.uniform(day) < agreement);
            let draws = if share { &self.shared } else { &self.own };
            let keeps = |chance: f64, stream: Stream| {
                day > 0 && (chance >= 1.0 || (chance > 0.0 && stream.uniform(day) < chance))
            };
            if !keeps(law.rho, draws.keep_w) {
                self.w = draws.fresh_w.uniform(day);
            }
            if self.driver.spreads && !keeps(law.kappa, draws.keep_q) {
                self.bin = (draws.fresh_q.uniform(day) * BINS as f64) as u32;
            }
            hidden.w[offset] = self.w;
            hidden.row[offset] = law.table + law.row * self.bin;
        }
    }
}

/// One bit a day: `w < p`.
#[inline]
fn plain_bits(w: &[f64; WORD_DAYS], p: &[f64]) -> u64 {
    let mut bits = 0;
    for (day, (w, p)) in w.iter().zip(p).enumerate() {
        bits |= u64::from(w < p) << day;
    }
    bits
}

/// One bit a day: `w < P`, with P from the day's row of the tables.
#[inline]
fn spread_bits(tables: &[f64], hidden: &Hidden, level: &[u32], share: &[f64]) -> u64 {
    let mut bits = 0;
    let series = hidden.w.iter().zip(&hidden.row).zip(level).zip(share);
    for (day, (((w, row), level), share)) in series.enumerate() {
        let at = (row + level) as usize;
        let (here, next) = (tables[at], tables[at + 1]);
        bits |= u64::from(*w < here + share * (next - here)) << day;
    }
    bits
}

/// The tables made so far, one for each distinct phi.
struct Tables<'a> {
    levels: &'a [f64],
    values: Vec<f64>,
    /// phi, where its table starts, how far its rows are apart.
    made: Vec<(f64, u32, u32)>,
}

impl Tables<'_> {
    fn of(&mut self, phi: f64) -> (u32, u32) {
        if let Some((_, start, row)) = self.made.iter().find(|made| made.0 == phi) {
            return (*start, *row);
        }
        let start = self.values.len() as u32;
        let row = spread::push_table(phi, self.levels, &mut self.values) as u32;
        self.made.push((phi, start, row));
        (start, row)
    }
}

impl Driver {
    fn new(spec: &DriverSpec, days: usize, tables: &mut Tables<'_>) -> Result<Self, WeatherError> {
        let field = |what: &str| format!("driver `{}`: {what}", spec.name);
        within(|| field("agreement"), spec.agreement, 0.0..=1.0, "0 to 1")?;
        check_series(|| field("rho"), &spec.rho, days, 0.0..=1.0, "0 to 1")?;
        check_series(|| field("phi"), &spec.phi, days, 0.0..=0.99, "0 to 0.99")?;
        check_series(|| field("kappa"), &spec.kappa, days, 0.0..=1.0, "0 to 1")?;
        let spreads = spec.phi.iter().any(|phi| *phi > 0.0);
        let law = |day: usize| {
            let (table, row) = if spreads { tables.of(spec.phi[day]) } else { (0, 0) };
            DayLaw { rho: spec.rho[day], kappa: spec.kappa[day], table, row }
        };
        Ok(Self {
            agreement: spec.agreement,
            coin: name_hash(&format!("weather/{}/coin", spec.name)),
            own: Purposes::of(&spec.name),
            days: (0..days).map(law).collect(),
            spreads,
            keys: Vec::new(),
        })
    }
}

fn check_series(
    field: impl Fn() -> String,
    values: &[f64],
    days: usize,
    range: std::ops::RangeInclusive<f64>,
    permitted: &'static str,
) -> Result<(), WeatherError> {
    if values.len() != days {
        return Err(WeatherError::Length { field: field(), found: values.len(), expected: days });
    }
    for (day, value) in values.iter().enumerate() {
        within(|| format!("{} on day {day}", field()), *value, range.clone(), permitted)?;
    }
    Ok(())
}
