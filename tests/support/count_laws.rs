//! Laws of the number of suitable days in a window: drawn from chains, or exact where days are independent. Where the
//! chances and laws of the days come from is not here.

use sim_core::weather::fit::Law;
use sim_core::weather::{Chain, DriverSpec, KeySpec, Sky, WeatherSpec};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Seasons drawn for each chance: its standard error is 0.016 at most, which adds less than 0.0002 to a Brier score and
/// takes less than 0.01 off a slope.
const SEASONS: u64 = 1_000;
const SEED: u64 = 20_260_301;

/// Days from a window's first that are looked at.
pub const LENGTHS: [usize; 3] = [20, 30, 60];
/// Days of the longest.
pub const LONGEST: usize = 60;

/// The place among the laws of the one without spread; it knows nothing of land that shuts either.
pub const PLAIN: usize = 2;

/// What the other years say of one key in a window of the year that they leave out.
#[derive(Clone)]
pub struct Outlook {
    /// The chances of the days.
    pub p: Vec<f64>,
    /// The chances that their land is shut, where it can shut.
    pub shut: Option<Vec<f64>>,
    /// The laws of the days: the driver's with the key's own spread, the driver's, and without spread.
    pub laws: [Vec<Law>; 3],
}

/// Chances of so many suitable days in each of the windows' lengths.
pub type CountLaws = [[f64; LONGEST + 1]; LENGTHS.len()];

/// Draws the windows of all years, for keys that share a driver's sky: `[year][key]`.
pub fn drawn(outlooks: &[Vec<&Outlook>], kind: usize) -> Vec<Vec<CountLaws>> {
    // One column of quantiles serves all years whose spread is within 0.005 of it.
    let rounded = |phi: f64| (phi * 100.0).round() / 100.0;
    let driver = |(year, keys): (usize, &Vec<&Outlook>)| {
        let laws = &keys[0].laws[kind];
        DriverSpec {
            name: format!("year {year}"),
            agreement: 0.0,
            rho: laws.iter().map(|law| law.rho).collect(),
            kappa: laws.iter().map(Law::kappa).collect(),
        }
    };
    let key = |driver, key: &Outlook| KeySpec {
        driver,
        p: key.p.clone(),
        phi: key.laws[kind].iter().map(|law| rounded(law.phi)).collect(),
        shut: key.shut.clone().filter(|_| kind != PLAIN),
        hours: None,
    };
    let of_year = |(year, keys): (usize, &Vec<&Outlook>)| {
        keys.iter().map(|outlook| key(year, outlook)).collect::<Vec<_>>()
    };
    let keys = outlooks.iter().enumerate().flat_map(of_year);
    let spec = WeatherSpec {
        span_days: LONGEST,
        drivers: outlooks.iter().enumerate().map(driver).collect(),
        keys: keys.collect(),
        recorded: None,
    };
    let chain = Chain::new(&spec).unwrap();
    let mut counts = vec![[[0_u32; LONGEST + 1]; LENGTHS.len()]; spec.keys.len()];
    let mut sky = Sky::default();
    for season in 0..SEASONS {
        chain.draw(SEED, season, &mut sky);
        for (key, counts) in counts.iter_mut().enumerate() {
            for (length, counts) in LENGTHS.iter().zip(counts) {
                counts[sky.count(key, 0, *length) as usize] += 1;
            }
        }
    }
    let share = |count: u32| f64::from(count) / SEASONS as f64;
    let laws: Vec<CountLaws> = counts.iter().map(|counts| counts.map(|counts| counts.map(share))).collect();
    laws.chunks(outlooks[0].len()).map(<[CountLaws]>::to_vec).collect()
}

/// The law of the number of suitable days when days are independent.
pub fn independent(p: &[f64]) -> CountLaws {
    let mut laws = [[0.0; LONGEST + 1]; LENGTHS.len()];
    let mut law = [0.0; LONGEST + 1];
    law[0] = 1.0;
    for (day, p) in p.iter().enumerate() {
        for count in (0..=day + 1).rev() {
            let before = if count > 0 { law[count - 1] } else { 0.0 };
            law[count] = law[count] * (1.0 - p) + before * p;
        }
        if let Some(length) = LENGTHS.iter().position(|length| *length == day + 1) {
            laws[length] = law;
        }
    }
    laws
}

/// The results of `of` for 0 to `count`, on all processors, in order.
pub fn in_parallel<T: Send>(count: usize, of: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= count {
                return done;
            }
            done.push((index, of(index)));
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut all: Vec<(usize, T)> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    });
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, value)| value).collect()
}

/// Of a law of counts.
pub fn variance_of_law(law: &[f64]) -> f64 {
    let moment =
        |of: &dyn Fn(f64) -> f64| law.iter().enumerate().map(|(count, p)| p * of(count as f64)).sum::<f64>();
    let mean = moment(&|count| count);
    moment(&|count| (count - mean).powi(2))
}
