//! How often the program's 95 % intervals hold what they should: exactly where all outcomes can be enumerated, else in
//! studies drawn anew, at last through whole studies of a farm whose risk has an exact law.
//!
//! In a cell that counts there are at least 100 seasons, and 20 late and 20 not late seasons are to be expected. There
//! 93 to 97 % of the intervals must hold the truth. All other cells are printed too, marked `few`.
//!
//! Of a difference of pairs the chance p is that of differing: pairs in which both farms are late, or neither, add nothing
//! to it. Where one farm is never the later, the difference is just the share of pairs that differ. So 20 of these are to
//! be expected, besides 20 of each farm's late and not late seasons. Where fewer differ, a cell may hold more than it
//! should, not less: two farms that never differ in a few years have an interval that holds whatever is likely. With 2 to
//! be expected and no true difference, one that left out none at the third pair that goes the same way would do so wrongly
//! one time in four.
//!
//! A mean of days has no chance p, and no interval holds for every law (Bahadur and Savage 1956): how far Student's is off
//! follows from the skewness of the differences. A cell counts from as many pairs on as the program asks for
//! ([`PairedMean::pairs_for_interval`], after Cochran, and Sugden and others 2000). Of the rest, the expansion below must
//! tell by how much they are off.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use sim_core::farm::Farm;
use sim_core::kernel::draw::Stream;
use sim_core::season::{Manager, Outcome};
use sim_core::study::exact::AlikeDays;
use sim_core::study::interval::wilson;
use sim_core::study::{HalfWidth, Hooks, PairedMean, PairedShare, Sink, Study, Variant};
use sim_script::script::Script;
use statrs::distribution::{Binomial, Discrete as _};
use statrs::function::factorial::ln_factorial;

/// Studies drawn for a cell.
const STUDIES: u64 = 4_000;
const LEAST: f64 = 0.93;
const MOST: f64 = 0.97;
/// Late, not late, or differing seasons that make a cell count.
const ENOUGH: f64 = 20.0;
/// With fewer pairs than this to be expected to differ all outcomes are counted, of more pairs than 100 too.
const FEW_TO_COUNT: f64 = 60.0;
/// Standard errors that a drawn share may be off the exact one; some 60 are compared: one in 60 000 by chance each.
const OFF: f64 = 4.2;

fn holds((low, high): (f64, f64), truth: f64) -> bool {
    low <= truth && truth <= high
}

/// What a test finds: prints each cell, keeps those that are outside.
#[derive(Default)]
struct Cells {
    outside: Vec<String>,
    /// Shares of the cells that count, and of the others.
    counted: Vec<f64>,
    few: Vec<f64>,
}

impl Cells {
    /// A cell: its name, what must be at least `ENOUGH`, the share of intervals that held.
    fn add(&mut self, name: &str, least: f64, share: f64) {
        self.add_if(name, least >= ENOUGH - 1e-9, share);
    }

    /// A cell of pairs, which must not hold too little even where few are to be expected to differ.
    fn add_pairs(&mut self, name: &str, (fewest, differ): (f64, f64), share: f64) {
        self.add(name, fewest.min(differ), share);
        if fewest >= ENOUGH - 1e-9 && differ < ENOUGH && share < LEAST {
            self.outside.push(format!("{name}: {:.2} %", share * 100.0));
        }
    }

    /// A cell that counts or not.
    fn add_if(&mut self, name: &str, counts: bool, share: f64) {
        println!("{} {name}: {:.2} %", if counts { "    " } else { "few " }, share * 100.0);
        let shares = if counts { &mut self.counted } else { &mut self.few };
        shares.push(share);
        if counts && !(LEAST..=MOST).contains(&share) {
            self.outside.push(format!("{name}: {:.2} %", share * 100.0));
        }
    }

    fn all_inside(&self, at_least: usize) {
        let kinds = [("cells count", &self.counted), ("others", &self.few)];
        for (what, shares) in kinds.into_iter().filter(|(_, shares)| !shares.is_empty()) {
            let ends = shares.iter().fold((1.0f64, 0.0f64), |(low, high), of| (low.min(*of), high.max(*of)));
            println!("{} {what}: {:.2} to {:.2} %", shares.len(), ends.0 * 100.0, ends.1 * 100.0);
        }
        assert!(self.counted.len() >= at_least, "{} cells", self.counted.len());
        assert!(self.outside.is_empty(), "outside:\n{}", self.outside.join("\n"));
    }
}

fn near(name: &str, drawn: f64, exact: f64) {
    let error = (exact * (1.0 - exact) / STUDIES as f64).sqrt().max(1e-9);
    assert!((drawn - exact).abs() <= OFF * error, "{name}: drawn {drawn}, exact {exact}");
}

#[test]
fn wilsons_interval_of_a_share() {
    let mut cells = Cells::default();
    for n in [100u64, 200, 500, 1_000, 10_000] {
        for p in [0.002, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.387, 0.5, 0.7, 0.8, 0.9, 0.98] {
            let law = Binomial::new(p, n).unwrap();
            let exact: f64 =
                (0..=n).filter(|late| holds(wilson(*late, n), p)).map(|late| law.pmf(late)).sum();
            let name = format!("{n} seasons, p {p}");
            cells.add(&name, n as f64 * p.min(1.0 - p), exact);
            if n <= 1_000 {
                let drawn = (0..STUDIES).filter(|study| {
                    let draws = Stream::new(n, *study, (p * 1000.0) as u64);
                    holds(wilson((0..n).filter(|season| draws.uniform(*season) < p).count() as u64, n), p)
                });
                near(&name, drawn.count() as f64 / STUDIES as f64, exact);
            }
        }
    }
    cells.all_inside(40);
}

/// Chances of a pair: both late, only the variant, only the base, neither.
type Pair = [f64; 4];

/// The base's chance, the variant's less that, and half of what differs without changing either.
fn pair(base: f64, difference: f64, either: f64) -> Option<Pair> {
    let (only_variant, only_base) = (difference.max(0.0) + either, (-difference).max(0.0) + either);
    let both = base - only_base;
    let neither = 1.0 - both - only_variant - only_base;
    (both >= 0.0 && neither >= 0.0).then_some([both, only_variant, only_base, neither])
}

fn share(counts: [u64; 4]) -> PairedShare {
    let [both, only_variant, only_base, neither] = counts.map(|count| count as f64);
    PairedShare { both, only_variant, only_base, neither }
}

/// The share of intervals that hold, over all tables of `n` pairs.
fn exact_of_pairs(n: u64, pair: Pair, difference: f64) -> f64 {
    let logs = pair.map(|chance| chance.max(1e-300).ln());
    let ln: Vec<f64> = (0..=n).map(ln_factorial).collect();
    let mut held = 0.0;
    for variant in 0..=n {
        for base in 0..=n - variant {
            let apart = variant as f64 * logs[1] + base as f64 * logs[2] + ln[n as usize]
                - ln[variant as usize]
                - ln[base as usize];
            let rest = n - variant - base;
            // No way to fill the rest makes more of it than this.
            if apart - ln[rest as usize] + rest as f64 * (pair[0] + pair[3]).ln() < -30.0 {
                continue;
            }
            for both in 0..=rest {
                let neither = rest - both;
                let log = apart + both as f64 * logs[0] + neither as f64 * logs[3]
                    - ln[both as usize]
                    - ln[neither as usize];
                if log > -30.0 && holds(share([both, variant, base, neither]).interval(), difference) {
                    held += log.exp();
                }
            }
        }
    }
    held
}

fn drawn_pairs(n: u64, pair: Pair, draws: Stream) -> PairedShare {
    let mut counts = [0; 4];
    for season in 0..n {
        let mut u = draws.uniform(season);
        let cell = (0..3).find(|cell| {
            u -= pair[*cell];
            u < 0.0
        });
        counts[cell.unwrap_or(3)] += 1;
    }
    share(counts)
}

#[test]
fn the_interval_of_a_paired_difference() {
    let mut cells = Cells::default();
    for n in [100u64, 200, 500, 1_000] {
        for base in [0.2, 0.387, 0.5, 0.8] {
            for difference in [0.0, -0.01, -0.02, -0.056, -0.1, -0.15, 0.15] {
                for either in [0.0, 0.0025, 0.01, 0.05, 0.15] {
                    let Some(pair) = pair(base, difference, either) else { continue };
                    let variant = base + difference;
                    let fewest = [base, variant, 1.0 - base, 1.0 - variant].into_iter().fold(1.0, f64::min);
                    let differ = (difference.abs() + 2.0 * either) * n as f64;
                    if differ == 0.0 {
                        continue;
                    }
                    let name = format!(
                        "{n} pairs, {base} and {variant:.3}, {differ:.1} differ ({:.1} {:.1})",
                        pair[1] * n as f64,
                        pair[2] * n as f64
                    );
                    let held = if n == 100 || differ < FEW_TO_COUNT {
                        exact_of_pairs(n, pair, difference)
                    } else {
                        let number = (base * 1000.0) as u64 * 1_000_000
                            + ((difference + 1.0) * 1000.0) as u64 * 1000
                            + (either * 10_000.0) as u64;
                        let held = (0..STUDIES).filter(|study| {
                            holds(drawn_pairs(n, pair, Stream::new(n, *study, number)).interval(), difference)
                        });
                        held.count() as f64 / STUDIES as f64
                    };
                    cells.add_pairs(&name, (n as f64 * fewest, differ), held);
                }
            }
        }
    }
    cells.all_inside(100);
}

/// Differences of days: 0 in most seasons; else a day or more, fewer the longer, of one sign or of both.
#[derive(Clone, Copy)]
struct Days {
    /// The chance that the farms differ.
    differ: f64,
    /// The chance that of those that differ the variant is later.
    later: f64,
    /// The mean of the days.
    days: f64,
}

impl Days {
    fn draw(self, draws: Stream, season: u64) -> f64 {
        if draws.uniform(season * 4) >= self.differ {
            return 0.0;
        }
        // Geometric from 1.
        let days = if self.days > 1.0 {
            let longer = (1.0 - 1.0 / self.days).ln();
            1.0 + ((1.0 - draws.uniform(season * 4 + 1)).ln() / longer).floor()
        } else {
            1.0
        };
        if draws.uniform(season * 4 + 2) < self.later { days } else { -days }
    }
}

/// Mean, variance, skewness and kurtosis above the normal's.
#[derive(Clone, Copy)]
struct Moments {
    mean: f64,
    skewness: f64,
    kurtosis: f64,
}

impl Moments {
    /// From the means of the first four powers.
    fn of([one, two, three, four]: [f64; 4]) -> Self {
        let variance = two - one * one;
        let third = three - 3.0 * one * two + 2.0 * one.powi(3);
        let fourth = four - 4.0 * one * three + 6.0 * one * one * two - 3.0 * one.powi(4);
        Self { mean: one, skewness: third / variance.powf(1.5), kurtosis: fourth / variance.powi(2) - 3.0 }
    }

    /// By how much the t interval of `n` values holds too much (below 0 too little): the term in 1 / n of the Edgeworth
    /// expansion of Student's t, less that of normal values, for which t is exact (Hall P 1992, The Bootstrap and
    /// Edgeworth Expansion, section 2.6; formula from memory, which the cells below bear out).
    fn off(self, n: u64) -> f64 {
        let z: f64 = 1.959_964;
        let density = (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let terms = self.kurtosis * (z * z - 3.0) / 12.0
            - self.skewness.powi(2) * (z.powi(4) + 2.0 * z * z - 3.0) / 18.0;
        2.0 * z * density * terms / n as f64
    }

    /// Adds a cell of so many pairs, of which some are to be expected to differ. It counts where these are enough, and
    /// the pairs as many as the program's rule asks for. Where enough differ but the rule is not met, the expansion must
    /// be right to within two points, unless all differences are of one day.
    fn add(self, cells: &mut Cells, name: &str, (n, differ): (u64, f64), many_days: bool, share: f64) {
        let (said, enough) = (0.95 + self.off(n), 28.0 + 25.0 * self.skewness.powi(2));
        let name = format!(
            "{name}, {differ:.0} differ, skewness {:.1}: {enough:.0} pairs (expansion {:.1} %)",
            self.skewness,
            said * 100.0
        );
        let enough_differ = differ >= ENOUGH - 1e-9;
        let counts = n >= 100 && n as f64 >= enough && enough_differ;
        cells.add_if(&name, counts, share);
        if !counts && enough_differ && many_days && (share - said).abs() > 0.02 {
            cells.outside.push(format!("{name}: {:.2} %, which is not explained", share * 100.0));
        }
    }
}

impl Days {
    fn moments(self) -> Moments {
        let p = 1.0 / self.days;
        let powers = [
            1.0 / p,
            (2.0 - p) / p.powi(2),
            (p * p - 6.0 * p + 6.0) / p.powi(3),
            (2.0 - p) * (p * p - 12.0 * p + 12.0) / p.powi(4),
        ];
        let sign = 2.0 * self.later - 1.0;
        let mean =
            |power: usize| self.differ * powers[power] * if power.is_multiple_of(2) { sign } else { 1.0 };
        Moments::of([0, 1, 2, 3].map(mean))
    }
}

#[test]
fn the_paired_t_interval_of_a_mean_difference() {
    let mut cells = Cells::default();
    for n in [100u64, 200, 500, 1_000] {
        for differ in [0.02, 0.05, 0.1, 0.2, 0.5, 1.0] {
            for later in [0.0, 0.2, 0.5] {
                for days in [1.0, 4.0] {
                    let law = Days { differ, later, days };
                    // All alike: there is nothing to be unsure of.
                    if differ == 1.0 && days == 1.0 && later == 0.0 {
                        continue;
                    }
                    let number =
                        (differ * 100.0) as u64 * 10_000 + (later * 100.0) as u64 * 100 + days as u64;
                    let moments = law.moments();
                    let held = (0..STUDIES).filter(|study| {
                        let (draws, mut mean) = (Stream::new(n, *study, number), PairedMean::default());
                        (0..n).for_each(|season| mean.add(law.draw(draws, season)));
                        holds(mean.interval().unwrap(), moments.mean)
                    });
                    let name = format!("{n} pairs, {later} later, {days} days");
                    moments.add(
                        &mut cells,
                        &name,
                        (n, n as f64 * differ),
                        days > 1.0,
                        held.count() as f64 / STUDIES as f64,
                    );
                }
            }
        }
    }
    cells.all_inside(50);
}

/// Intervals of studies that end where the interval is narrow enough.
#[test]
fn intervals_of_studies_that_end_when_they_know_enough() {
    let mut cells = Cells::default();
    for (p, at_most) in [(0.387, 0.02), (0.1, 0.01), (0.5, 0.025)] {
        let until = HalfWidth::new(at_most).unwrap();
        let (mut held, mut seasons) = (0, 0);
        for study in 0..STUDIES {
            let draws = Stream::new(77, study, (p * 1000.0) as u64);
            let (mut late, mut done) = (0, 0);
            for look in HalfWidth::looks() {
                late += (done..look).filter(|season| draws.uniform(*season) < p).count() as u64;
                done = look;
                if until.reached(wilson(late, done)) {
                    break;
                }
            }
            held += u64::from(holds(wilson(late, done), p));
            seasons += done;
        }
        let name = format!("p {p} to {at_most}, {} seasons", seasons / STUDIES);
        cells.add(&name, 1_024.0 * p, held as f64 / STUDIES as f64);
    }
    for (base, difference, either, at_most) in [(0.387, -0.056, 0.005, 0.008), (0.3, 0.0, 0.05, 0.012)] {
        let (until, pair) = (HalfWidth::new(at_most).unwrap(), pair(base, difference, either).unwrap());
        let (mut held, mut seasons) = (0, 0);
        for study in 0..STUDIES {
            let draws = Stream::new(78, study, (base * 1000.0) as u64);
            let (mut counts, mut done) = ([0; 4], 0);
            for look in HalfWidth::looks() {
                for season in done..look {
                    let u = draws.uniform(season);
                    let ends = [pair[0], pair[0] + pair[1], pair[0] + pair[1] + pair[2]];
                    counts[ends.iter().filter(|end| u >= **end).count()] += 1;
                }
                done = look;
                if until.reached(share(counts).interval()) {
                    break;
                }
            }
            held += u64::from(holds(share(counts).interval(), difference));
            seasons += done;
        }
        let name = format!("{base} and {:.3} to {at_most}, {} pairs", base + difference, seasons / STUDIES);
        cells.add(&name, 1_024.0 * (difference.abs() + 2.0 * either), held as f64 / STUDIES as f64);
    }
    cells.all_inside(5);
}

fn one_operation(area_ha: f64, p: f64, persistence: f64, allowed: usize) -> Farm {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/one-operation.rhai");
    let settings = [
        ("area_ha", area_ha.to_string()),
        ("p_suitable", p.to_string()),
        ("persistence", persistence.to_string()),
        ("year_spread", "0".into()),
        ("allowed_days", allowed.to_string()),
    ];
    let settings = settings.map(|(name, value)| (name.to_owned(), value));
    Script::from_file(&path).unwrap().farm(&settings).unwrap().0
}

/// Seasons for the skewness of a difference of days late.
const POOLED: u64 = 100_000;

/// Sums of the first four powers of the differences in days late from the first farm.
#[derive(Default)]
struct Pooled {
    base: f64,
    sums: [[f64; 4]; 2],
}

impl Pooled {
    fn means(&self) -> [[f64; 4]; 2] {
        self.sums.map(|sums| sums.map(|sum| sum / POOLED as f64))
    }
}

impl Sink for Pooled {
    fn season(&mut self, variant: usize, outcome: &Outcome) {
        let days = f64::from(outcome.rows[0].days_late);
        if variant == 0 {
            self.base = days;
            return;
        }
        for (power, sum) in (1..).zip(&mut self.sums[variant - 1]) {
            *sum += (days - self.base).powi(power);
        }
    }
}

/// The whole way from a script to an interval, thousands of times: farms that need so many days of 20 ha, each with its
/// exact law. The first is late one year in four or more, the second needs a day more, the third is late six years in ten
/// or more; each is the smallest that is.
fn whole_studies(law: AlikeDays, allowed: usize) {
    let mut cells = Cells::default();
    let p_late = |days: usize| law.p_late(days, allowed);
    let fewest = |chance: f64| (1..allowed).find(|days| p_late(*days) >= chance).unwrap();
    let days = [fewest(0.25), fewest(0.25) + 1, fewest(0.6)];
    let days_late = |days: usize| {
        let finish = law.finish(days, 365);
        let late = |(day, chance): (usize, &f64)| chance * (day + 1).saturating_sub(allowed) as f64;
        finish.on_day.iter().enumerate().map(late).sum::<f64>() + finish.not_done * (365 - allowed) as f64
    };
    let variant = |days: usize| {
        Variant::new(&days.to_string(), one_operation(20.0 * days as f64, law.p, law.rho, allowed)).unwrap()
    };
    let (p_late, days_late) = (days.map(p_late), days.map(days_late));
    let mut study = Study { variants: days.map(variant).into(), seasons: POOLED, seed: STUDIES, threads: 1 };
    let mut pooled = Pooled::default();
    study.run(&Manager, Hooks { sink: Some(&mut pooled), ..Hooks::default() }).unwrap();
    let moments = pooled
        .means()
        .map(|powers| (Moments::of(powers), ((powers[1] - powers[0].powi(2)) / POOLED as f64).sqrt()));
    for ((moments, error), days) in moments.iter().zip(&days_late[1..]) {
        let want = days - days_late[0];
        assert!((moments.mean - want).abs() < 4.0 * error, "{} and {want}", moments.mean);
    }
    for seasons in [100, 200] {
        study.seasons = seasons;
        let (mut risk, mut differences, mut means) = ([0; 3], [0; 2], [0; 2]);
        for seed in 1..=STUDIES {
            study.seed = seed;
            let found = study.run(&Manager, Hooks::default()).unwrap();
            for ((held, of), p_late) in risk.iter_mut().zip(&found.variants).zip(p_late) {
                *held += u64::from(holds(of.risks[0].p_late_interval(), p_late));
            }
            for (other, comparison) in found.comparisons.iter().enumerate() {
                let row = &comparison.rows[0];
                let (of, base) = (other + 1, 0);
                differences[other] += u64::from(holds(row.late.interval(), p_late[of] - p_late[base]));
                let days = row.days_late.interval().unwrap();
                means[other] += u64::from(holds(days, days_late[of] - days_late[base]));
            }
        }
        let n = seasons as f64;
        let fewest = |p: f64| n * p.min(1.0 - p);
        let of = |held: u64| held as f64 / STUDIES as f64;
        for (held, p_late) in risk.into_iter().zip(p_late) {
            cells.add(&format!("study of {seasons}, late {p_late:.3}"), fewest(p_late), of(held));
        }
        for (other, (moments, _)) in moments.iter().enumerate() {
            let [base, variant] = [p_late[0], p_late[other + 1]];
            let name = format!("study of {seasons}, late {base:.3} and {variant:.3}");
            // The farm that needs more days is never the earlier.
            let differ = n * (variant - base);
            let both = fewest(base).min(fewest(variant));
            cells.add_pairs(&format!("{name}, difference"), (both, differ), of(differences[other]));
            moments.add(&mut cells, &format!("{name}, days late"), (seasons, differ), true, of(means[other]));
        }
    }
    cells.all_inside(8);
}

#[test]
fn intervals_of_whole_studies() {
    whole_studies(AlikeDays { p: 0.4, rho: 0.0, phi: 0.0 }, 20);
}

#[test]
fn intervals_of_whole_studies_of_persistent_days() {
    whole_studies(AlikeDays { p: 0.5, rho: 0.4, phi: 0.0 }, 16);
}
